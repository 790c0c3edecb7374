package web

import (
	"math"
	"sort"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// timeline is what the scrubber needs: for every second, where on the line, what is asked, what
// was done, what was said. Lists of numbers run in parallel to keep it small. Times are on the
// clock of the plan unless the name begins with ride; knots join the two clocks.
type timeline struct {
	Total float64        `json:"total"` // s, plan
	Plan  planTrace      `json:"plan"`
	Paces []paceSpan     `json:"paces"`
	Moves []moveSpan     `json:"moves"`
	Asked []askedAt      `json:"asked"`
	Ride  *rideTrace     `json:"ride"`
	Said  []saidAt       `json:"said"`
	Done  []measuredAt   `json:"done"`
	Knots clockKnots     `json:"knots"`
	Marks map[int]string `json:"marks"`
}

type planTrace struct {
	T []float64 `json:"t"`
	X []float64 `json:"x"`
	Y []float64 `json:"y"`
	M []float64 `json:"m"`
}

type rideTrace struct {
	T []float64 `json:"t"`
	X []float64 `json:"x"`
	Y []float64 `json:"y"`
	D []float64 `json:"d"` // doubt of the place, m
	V []float64 `json:"v"`
	M []float64 `json:"m"`
	G []int     `json:"g"` // 1 where nothing was recorded
	// BT and B are the tempo where it was counted: seconds and strides a minute.
	BT []float64 `json:"bt"`
	B  []float64 `json:"b"`
}

type paceSpan struct {
	Start float64 `json:"start"`
	Name  string  `json:"name"`
}

type moveSpan struct {
	Number  int     `json:"n"`
	Letters string  `json:"letters"`
	Text    string  `json:"text"`
	Reading string  `json:"reading"`
	Start   float64 `json:"start"`
	End     float64 `json:"end"`
	// From and To are its span on the ride's clock, both 0 where it was not found.
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

type askedAt struct {
	From  float64 `json:"from"` // preparing begins
	At    float64 `json:"at"`
	Words string  `json:"words"`
}

type saidAt struct {
	At       float64 `json:"at"` // ride clock
	End      float64 `json:"end"`
	Text     string  `json:"text"`
	Movement int     `json:"n"`
}

// clockKnots pairs seconds of the ride with seconds of the plan, both strictly rising.
type clockKnots struct {
	Ride []float64 `json:"ride"`
	Plan []float64 `json:"plan"`
}

// planEvery is the spacing of the shown plan in seconds.
const planEvery = 0.25

func hundredths(v float64) float64 { return math.Round(v*100) / 100 }

// timelineOf puts a plan and, when there is one, its ride on one timeline.
func timelineOf(p *logbook.Plan, rev *logbook.Review) timeline {
	t := timeline{Total: hundredths(float64(p.Total)), Paces: []paceSpan{}, Moves: []moveSpan{}, Asked: []askedAt{},
		Said: []saidAt{}, Done: []measuredAt{}, Marks: map[int]string{}, Knots: clockKnots{Ride: []float64{}, Plan: []float64{}}}
	t.plan(p)
	if rev == nil || rev.Doc == nil {
		return t
	}
	t.ride(p, rev)
	line := instants(rev)
	for _, m := range rev.Doc.Movements {
		t.movement(m, p, line)
	}
	sort.SliceStable(t.Said, func(i, j int) bool { return t.Said[i].At < t.Said[j].At })
	return t
}

func (t *timeline) plan(p *logbook.Plan) {
	next := math.Inf(-1)
	last := ""
	for i, s := range p.Samples {
		if v := string(s.Variety); v != last {
			t.Paces = append(t.Paces, paceSpan{hundredths(float64(s.T)), v})
			last = v
		}
		if float64(s.T) < next && i < len(p.Samples)-1 {
			continue
		}
		next = float64(s.T) + planEvery - 1e-6
		t.Plan.T = append(t.Plan.T, hundredths(float64(s.T)))
		t.Plan.X = append(t.Plan.X, hundredths(s.X))
		t.Plan.Y = append(t.Plan.Y, hundredths(s.Y))
		t.Plan.M = append(t.Plan.M, hundredths(float64(s.M)))
	}
	for _, m := range p.Movements {
		t.Moves = append(t.Moves, moveSpan{m.Number, m.Letters, m.Text, m.Reading, hundredths(float64(m.StartS)), hundredths(float64(m.EndS)), 0, 0})
		for _, d := range m.Demands {
			words := d.What + ": needs " + seconds1(d.Needs) + ", has " + seconds1(d.Has)
			t.Asked = append(t.Asked, askedAt{hundredths(float64(d.At - d.Needs)), hundredths(float64(d.At)), words})
		}
	}
}

// ride adds the ridden line and the knots of its clock. A knot is set wherever the ride came
// further along the plan than ever before; between knots, through halts too, time runs evenly.
func (t *timeline) ride(p *logbook.Plan, rev *logbook.Review) {
	if len(rev.Line) == 0 {
		t.spans(rev.Doc)
		return
	}
	r := &rideTrace{}
	for _, q := range rev.Line {
		r.T, r.X, r.Y, r.D = append(r.T, q.T), append(r.X, q.X), append(r.Y, q.Y), append(r.D, q.Doubt)
		gap := 0
		if q.Gap {
			gap = 1
		}
		r.V, r.M, r.G = append(r.V, q.Speed), append(r.M, q.PlanM), append(r.G, gap)
		if q.PlanM >= 0 {
			t.knot(q.T, planSecond(p, q.PlanM))
		}
	}
	r.BT, r.B = []float64{}, []float64{}
	for _, p := range rev.Tempo.Points {
		r.BT, r.B = append(r.BT, p.T), append(r.B, p.PerMinute)
	}
	t.Ride = r
}

// minKnot is the least step between knots in seconds; smaller ones are jitter.
const minKnot = 0.4

func (t *timeline) knot(ride, plan float64) {
	k := &t.Knots
	if n := len(k.Ride); n > 0 && (ride-k.Ride[n-1] < minKnot || plan-k.Plan[n-1] < 0.05) {
		return
	}
	k.Ride, k.Plan = append(k.Ride, hundredths(ride)), append(k.Plan, hundredths(plan))
}

// spans sets knots from tapped or nominal starts of movements where there is no recording.
func (t *timeline) spans(d *logbook.ReviewDoc) {
	for _, m := range d.Movements {
		if m.StartS == nil {
			continue
		}
		for _, s := range t.Moves {
			if s.Number == m.Number {
				t.knot(*m.StartS, s.Start)
			}
		}
	}
}

func (t *timeline) movement(m report.ReviewMovement, p *logbook.Plan, line []report.Instant) {
	for i := range t.Moves {
		if t.Moves[i].Number == m.Number && m.StartS != nil && m.EndS != nil {
			t.Moves[i].From, t.Moves[i].To = hundredths(*m.StartS), hundredths(*m.EndS)
		}
	}
	for _, x := range m.Remarks {
		t.Said = append(t.Said, saidAt{hundredths(x.AtS), hundredths(x.EndS), x.Text, m.Number})
	}
	for _, x := range m.Measures {
		if x.Value != nil {
			t.Done = append(t.Done, measuredOf(x, &m, p, line))
		}
	}
	if words := markWords(m.Marks); words != "" {
		t.Marks[m.Number] = words
	}
}

// markWords lists the marks of a movement by judge.
func markWords(marks []report.ReviewMark) string {
	var out []string
	for _, k := range marks {
		words := report.MarkWords(k.Mark)
		if len(marks) > 1 && k.Judge != "" {
			words = k.Judge + " " + words
		}
		if k.Remark != "" {
			words += " (" + k.Remark + ")"
		}
		out = append(out, words)
	}
	return strings.Join(out, ", ")
}

// strips are the pressure strip in two widths: for a desk and for a phone.
func wideStrip(p *logbook.Plan) *draw.Scene {
	return draw.Strip(p, draw.StripOptions{Width: 240, Height: 36})
}

func narrowStrip(p *logbook.Plan) *draw.Scene {
	return draw.Strip(p, draw.StripOptions{Width: 96, Height: 30})
}
