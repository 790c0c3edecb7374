package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// rideView is one ride: what was asked, done and said, where the marks went and why.
type rideView struct {
	page
	Review  *logbook.Review
	Summary report.Summary
	Drawing *draw.Scene
	Speed   *draw.Scene // nil without a recording
	Tempo   *draw.Scene // nil where no tempo was counted; NoTempo then says why
	NoTempo string
	Others  []logbook.Ride
	Lessons []logbook.Lesson
	Jobs    []logbook.Job
	Sound   bool
	Ask     consentAsk         // about a recording that may still be given
	Parts   []logbook.RidePart // said of its recording, the last one counts; none without a recording
	Two     *twoRides          // where the recording holds two
}

func (s *server) ride(w http.ResponseWriter, r *http.Request) error {
	rev, err := s.book.ReviewOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v := rideView{page: s.newPage(r, "yard", rev.Title()), Review: rev, Summary: summaryOf(rev.Doc)}
	v.Invented, v.Simulated = rev.Pair.Invented(), rev.Ride.Simulated
	v.Back, v.Scripts = &link{"/combinations/" + rev.Pair.ID, rev.Pair.Title()}, []string{"scrub.js"}
	v.Drawing = draw.Plan(rev.Plan, draw.Options{Width: widthOf(rev.Plan), Ridden: riddenLine(rev.Line), Marks: report.PlaceMarks(rev.Doc, rev.Plan)})
	v.Speed, v.Tempo, v.NoTempo = speedStrip(rev), tempoStrip(rev), tempoWords(rev)
	if v.Ask, err = s.askOf(r, rev.Pair.Rider); err != nil {
		return err
	}
	_, v.Sound = rev.Ride.File(logbook.RoleAudio)
	if _, ok := rev.Ride.File(logbook.RoleTrack); ok {
		if v.Parts, err = s.book.PartsOf(r.Context(), rev.Ride.ID); err != nil {
			return err
		}
		v.Two = twoRidesOf(rev.Doc)
	}
	rides, err := s.book.Rides(r.Context(), logbook.RideFilter{CombinationID: rev.Pair.ID, SheetID: rev.Sheet.ID, Limit: 12})
	if err != nil {
		return err
	}
	for _, o := range rides {
		if o.ID != rev.Ride.ID {
			v.Others = append(v.Others, o)
		}
	}
	if v.Lessons, err = s.book.Lessons(r.Context(), logbook.LessonFilter{RideID: rev.Ride.ID, Limit: 6}); err != nil {
		return err
	}
	if v.Jobs, err = s.book.JobsOf(r.Context(), rev.Ride.ID); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, ridePage(v))
}

// summaryOf is the report's summary without what nobody saw or measured: that is no thing to
// change.
func summaryOf(d *logbook.ReviewDoc) report.Summary {
	s := report.Summarise(d)
	var change []report.Change
	for _, c := range s.Change {
		if !strings.HasPrefix(c.What, "unexplained") {
			change = append(change, c)
		}
	}
	s.Change = change
	return s
}

// rideReport sends the rider's two pages.
func (s *server) rideReport(w http.ResponseWriter, r *http.Request) error {
	rev, err := s.book.ReviewOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	paper := report.Paper{Doc: rev.Doc, Plan: rev.Plan, Rider: rev.Pair.Rider.Name, Horse: rev.Pair.Horse.Name, Day: rev.Ride.Date.Words()}
	whole, err := s.book.WholeReview(r.Context(), rev.Ride.ID)
	if err != nil {
		return err
	}
	paper.Ridden = whole.Ridden
	if paper.Words, err = s.wordsForRider(r, rev); err != nil {
		return err
	}
	lessons, err := s.book.Lessons(r.Context(), logbook.LessonFilter{RideID: rev.Ride.ID, Limit: 1})
	if err != nil {
		return err
	}
	if len(lessons) > 0 {
		paper.Homework = s.homeworkPaper(rev, lessons[0])
	}
	var b bytes.Buffer
	if err := report.ReviewPDF(&b, paper); err != nil {
		return err
	}
	return sendFile(w, r, "application/pdf", rev.Title()+".pdf", b.Bytes())
}

// homeworkPaper takes the homework of a lesson to paper.
func (s *server) homeworkPaper(rev *logbook.Review, l logbook.Lesson) []report.Homework {
	var out []report.Homework
	for _, h := range logbook.HomeworkOf(l) {
		out = append(out, report.Homework{Title: h.Title, Purpose: h.Why, Look: strings.Join(h.Right, " "), Fault: strings.Join(h.Watch, "; "),
			Times: h.HowOften, Plan: s.book.PlanOf(h.Title, h.Sheet, rev.Pair.Horse.Profile)})
	}
	return out
}

// lostAny reports whether there is a share to show: without marks there is none.
func lostAny(where []report.Share) bool {
	for _, w := range where {
		if w.Marks > 0 {
			return true
		}
	}
	return false
}

// measureView is one measure as its card shows it: words, and a bar with the doubt as a band.
type measureView struct {
	logbook.Measure
	Class string // verdict as a style
	Words string
	Asked string
	Bar   *draw.Scene // nil where there is nothing to draw
	// Jump is the second of the clock (ride or plan) at which the line shows where the number comes
	// from, "" where it has no place.
	Jump, Clock string
	Where       string // when and where it comes from, in words
}

func measureViews(ms []logbook.Measure, mv *report.ReviewMovement, rev *logbook.Review) []measureView {
	out := make([]measureView, len(ms))
	line := instants(rev)
	for i, m := range ms {
		v := measureView{Measure: m, Class: verdictClass(m.Verdict), Words: "cannot tell"}
		if m.Value != nil {
			v.Words = report.SpokenOf(m)
		}
		if m.Asked != nil && *m.Asked != 0 {
			v.Asked = report.Spoken(*m.Asked, m.Unit, nil)
		}
		v.Bar = doubtBar(m)
		v.Jump, v.Clock = placeOfMeasure(m, rev.Plan)
		v.Where = report.OriginOf(m, mv, rev.Plan, line).Words
		out[i] = v
	}
	return out
}

// placeOfMeasure is the second a number comes from: on the ride's clock, or, for what was put
// together from several places, on the plan's.
func placeOfMeasure(m logbook.Measure, p *logbook.Plan) (second, clock string) {
	switch {
	case m.AtS != nil:
		return fmt.Sprintf("%.1f", *m.AtS), "ride"
	case m.AtM != nil && p != nil && len(p.Samples) > 0:
		return fmt.Sprintf("%.1f", planSecond(p, *m.AtM)), "plan"
	}
	return "", ""
}

// verdictWords is the verdict with the reason where it cannot be told.
func verdictWords(m logbook.Measure) string {
	if m.Verdict == "cannot tell" {
		if m.LimitedBy != "" {
			return "cannot tell: " + m.LimitedBy
		}
		return "cannot tell"
	}
	return m.Verdict
}

func verdictClass(verdict string) string {
	switch verdict {
	case "ok":
		return "v-ok"
	case "cannot tell", "":
		return "v-unknown"
	case "better":
		return "v-better"
	case "worse":
		return "v-worse"
	case "no more than noise":
		return "v-noise"
	}
	return "v-fault"
}

// doubtBar draws a measure against what was asked: the white field is what a judge lets pass,
// the band is where the truth lies two times in three, the whisker nineteen times in twenty.
func doubtBar(m logbook.Measure) *draw.Scene {
	if m.Value == nil || m.Asked == nil || m.Tolerance == nil || m.Sigma == nil || !(*m.Tolerance > 0) {
		return nil
	}
	const w, h, y = 60.0, 9.0, 4.5
	off, tol, sd := *m.Value-*m.Asked, *m.Tolerance, *m.Sigma
	reach := max(2*tol, 1.15*(abs(off)+min(sd, 3*tol)))
	bound := func(v float64) float64 { return m.Within(*m.Asked+v) - *m.Asked }
	x := func(v float64) float64 { return w/2 + (w/2-2)*min(max(v/reach, -1), 1) }
	lo, hi := x(-tol), x(tol)
	less, more := m.Passes()
	if less {
		lo = 2
	}
	if more {
		hi = w - 2
	}
	s := &draw.Scene{W: w, H: h, Title: report.MeasureWords(m)}
	box := func(a, b, top, bottom float64) [][]draw.Pt {
		return [][]draw.Pt{{{X: a, Y: top}, {X: b, Y: top}, {X: b, Y: bottom}, {X: a, Y: bottom}}}
	}
	s.Add(draw.Path{Style: draw.Style{Class: "shade", Fill: draw.InkShade}, Lines: box(2, w-2, 1, h-1), Closed: true},
		draw.Path{Style: draw.Style{Class: "paper field", Fill: draw.Paper, Stroke: draw.InkFaint, Width: 0.25}, Lines: box(lo, hi, 1, h-1), Closed: true},
		draw.Path{Style: draw.Style{Class: "doubt", Fill: draw.InkDoubt}, Lines: box(x(bound(off-sd)), x(bound(off+sd)), 2.2, h-2.2), Closed: true},
		draw.Path{Style: draw.Style{Class: "ridden", Stroke: draw.InkRidden, Width: 0.5}, Lines: [][]draw.Pt{{{X: x(bound(off - 2*sd)), Y: y}, {X: x(bound(off + 2*sd)), Y: y}}}},
		draw.Path{Style: draw.Style{Class: "edge", Stroke: draw.InkMain, Width: 0.5}, Lines: [][]draw.Pt{{{X: w / 2, Y: 0.4}, {X: w / 2, Y: h - 0.4}}}},
		draw.Path{Style: draw.Style{Class: "ridden", Stroke: draw.InkRidden, Width: 1.6}, Lines: [][]draw.Pt{{{X: x(off), Y: 2}, {X: x(off), Y: h - 2}}}})
	return s
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}

// reachWords says what a reach means.
func reachWords(reach string) string {
	switch reach {
	case "now":
		return "within reach now"
	case "schooling":
		return "needs schooling"
	case "ceiling":
		return "not charged"
	}
	return reach
}

// lossWords says one loss.
func lossWords(l logbook.Loss) string {
	out := fmt.Sprintf("%s: %s of a mark", l.Reason, report.MarkWords(l.Worth()))
	switch {
	case l.Marks == 0 && l.Estimate == 0:
		out = l.Reason + ": there, but it cost nothing here"
	case l.Marks == 0:
		out = fmt.Sprintf("%s: usually costs %s of a mark (no mark was given)", l.Reason, report.MarkWords(l.Estimate))
	}
	if l.BeganIn != 0 {
		out += fmt.Sprintf(", began in movement %d", l.BeganIn)
	}
	return out
}

// movementSpan says when a movement was ridden and how that is known.
func movementSpan(m report.ReviewMovement) string {
	if m.StartS == nil || m.EndS == nil {
		return "not found in the ride"
	}
	out := fmt.Sprintf("%s to %s", clockOf(*m.StartS), clockOf(*m.EndS))
	switch m.SpanSource {
	case "nominal":
		return out + ", as planned"
	case "taps":
		return out + ", as tapped"
	}
	return out
}

// totalWords says how each judge marked.
func totalWords(t *report.ReviewTotal) string {
	var out []string
	for _, j := range t.Judges {
		name := j.Judge
		if j.Place != "" && j.Place != j.Judge {
			name += " at " + j.Place
		}
		_, places, _ := strings.Cut(t.PercentWords(), ".")
		out = append(out, fmt.Sprintf("%s %.*f %%", name, len(places), j.Percent))
	}
	return strings.Join(out, ", ")
}

// recordingWords says how far a recording can be trusted.
func recordingWords(d *report.ReviewRecording) string {
	return fmt.Sprintf("Recorder %s at %.0f Hz, placed by %s. A place is known to about %.1f m (jitter %.2f, slow wander %.2f, placing %.2f).",
		d.Class, d.RateHz, d.Placement, hypot(d.WhiteSDM, d.SharedSDM), d.WhiteSDM, d.WanderSDM, hypot(d.ShiftSDM, d.CorrelatedSDM))
}
