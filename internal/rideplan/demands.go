package rideplan

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"sort"

	"ringcraft/internal/gait"
	"ringcraft/internal/terms"
)

//go:embed demands.json
var demandsJSON []byte

//go:embed accuracy.json
var accuracyJSON []byte

// need is what a kind of figure needs to be prepared.
type need struct {
	Kinds       []terms.Kind
	Of          string // transitions: up, down, longer, shorter, from halt
	What        string
	Strides     float64
	BendStrides float64 `json:"bend_strides"` // more, when the bend changes
	Seconds     gait.Seconds
	Source      string
}

// visible is what a judge can see of a kind of figure.
type visible struct {
	Kinds     []terms.Kind
	What      string
	Value     string // asked, zero, seconds, count, angle, one, half
	Unit      string
	Tolerance float64
	Share     float64 // of the asked size, added to the tolerance
	Source    string
}

var (
	needs    = mustRead[need](demandsJSON, "demands.json")
	visibles = mustRead[visible](accuracyJSON, "accuracy.json")
)

func mustRead[T any](data []byte, name string) []T {
	var out []T
	if err := json.Unmarshal(data, &out); err != nil {
		panic(fmt.Sprintf("rideplan: embedded %s: %v", name, err)) // impossible state: checked by test
	}
	return out
}

const (
	leastHas    = 0.2  // seconds; less is no time at all
	maxPressure = 25.0 // where there is no time
)

// busy is a stretch of the ride that leaves no time to prepare something else.
type busy struct {
	from, to gait.Seconds
	bend     Hand
}

// demands lists what must be prepared, with the time it needs and has: from the end of what
// was asked before, or from the begin of a figure that it falls into.
func (c *compiler) demands(tl *timeline) {
	type item struct {
		mov int
		f   Figure
	}
	var items []item
	for i, m := range c.plan.Movements {
		for _, f := range m.Figures {
			if _, ok := needOf(f); ok {
				items = append(items, item{i, f})
			}
		}
	}
	sort.SliceStable(items, func(i, j int) bool { return items[i].f.StartS < items[j].f.StartS })
	free, bend := gait.Seconds(0), NoHand
	var running []busy
	for i := 0; i < len(items); {
		j := i
		for j < len(items) && items[j].f.StartS < items[i].f.StartS+0.05 {
			j++
		}
		now := items[i].f.StartS
		free, bend = lastBusy(running, now)
		for _, it := range items[i:j] {
			d := c.demand(it.f, free, bend)
			m := &c.plan.Movements[it.mov]
			m.Demands = append(m.Demands, d)
			running = append(running, busy{it.f.StartS, freeAgain(it.f), it.f.Bend})
		}
		i = j
	}
}

// freeAgain is when the rider can turn to the next thing: at once in a halt, soon after a
// steady figure or line is begun, at the end of lateral work, changes and turns on the spot.
func freeAgain(f Figure) gait.Seconds {
	length := f.EndS - f.StartS
	switch f.Kind {
	case terms.Halt:
		return f.StartS
	case terms.ReinBack:
		return f.EndS - gait.Seconds(value("rein_back_pause_s"))
	case terms.Transition:
		return f.StartS + gait.Seconds(value("settle_s"))
	case terms.Circle, terms.Volte, terms.HalfCircle, terms.Stretch, terms.TurnAcross, terms.CentreLine, terms.Track, terms.Diagonal, terms.Straight:
		return f.StartS + min(length, gait.Seconds(value("settle_figure_s")))
	case terms.Serpentine: // the last change of bend is over the centre line
		return f.EndS - length/gait.Seconds(2*max(f.Count, 1))
	case terms.Loop, terms.ChangeInCircle, terms.FigureEight:
		return f.EndS - length/4
	}
	if f.Angle > 0 && length > 3 { // lateral work: straightened over the last second
		return f.EndS - gait.Seconds(value("settle_s"))
	}
	return f.EndS
}

// lastBusy is when the rider was last asked something before now, and the bend then. Only
// the last few stretches can matter.
func lastBusy(running []busy, now gait.Seconds) (gait.Seconds, Hand) {
	free, bend := gait.Seconds(0), NoHand
	for _, b := range running[max(0, len(running)-12):] {
		end := b.to
		if end > now+0.05 { // still going on: it began the last change
			end = b.from
		}
		if end >= free {
			free = end
			if b.bend != NoHand {
				bend = b.bend
			}
		}
	}
	return free, bend
}

func (c *compiler) demand(f Figure, free gait.Seconds, bend Hand) Demand {
	n, _ := needOf(f)
	from := f.Variety
	if f.Kind == terms.Transition || f.Kind == terms.Halt {
		from = f.From
	}
	tempo := c.tempo(elem{variety: from})
	strides := n.Strides
	if n.BendStrides > 0 && f.Bend != NoHand && bend != NoHand && f.Bend != bend {
		strides += n.BendStrides
	}
	secs := n.Seconds
	if strides > 0 && tempo > 0 {
		secs = gait.Seconds(strides / tempo)
	}
	has := gait.Seconds(math.Max(leastHas, float64(f.StartS-free)))
	d := Demand{What: demandWords(n, f), At: f.StartS, AtM: f.StartM, Letter: f.At, Needs: secs, Has: has,
		NeedsStrides: float64(secs) * tempo, HasStrides: float64(has) * tempo, Source: n.Source}
	if d.Letter == "" {
		d.Letter, _ = c.board.NearestLetter(f.Place)
	}
	d.Pressure = math.Min(maxPressure, float64(secs/has))
	d.PrepareM = c.plan.SampleAt(gait.Seconds(math.Max(0, float64(f.StartS-secs)))).M
	d.PrepareLetter, _ = c.board.NearestLetter(c.plan.SampleAtM(d.PrepareM).Point)
	return d
}

func demandWords(n need, f Figure) string {
	switch f.Kind {
	case terms.Transition:
		return fmt.Sprintf("%s: %s to %s", n.What, f.From, f.Variety)
	case terms.Circle, terms.Volte, terms.HalfCircle:
		return fmt.Sprintf("%s %s %g m", f.Kind, f.Hand, float64(f.Nominal))
	}
	if f.Hand != NoHand {
		return fmt.Sprintf("%s %s", f.Kind, f.Hand)
	}
	return string(f.Kind)
}

// needOf finds the entry for a figure.
func needOf(f Figure) (need, bool) {
	of := ""
	if f.Kind == terms.Transition {
		of = transitionOf(f.From, f.Variety)
	}
	for _, n := range needs {
		if n.Of != of {
			continue
		}
		for _, k := range n.Kinds {
			if k == f.Kind {
				return n, true
			}
		}
	}
	return need{}, false
}

// transitionOf says which kind of transition leads from a to b.
func transitionOf(a, b gait.Variety) string {
	fa, _ := gait.Lookup(a)
	fb, _ := gait.Lookup(b)
	rank := map[gait.Pace]int{gait.Halt: 0, gait.ReinBack: 0, gait.Walk: 1, gait.Trot: 2, gait.Canter: 3}
	switch {
	case fa.Pace == gait.Halt:
		return "from halt"
	case fa.Pace != fb.Pace && rank[fb.Pace] > rank[fa.Pace]:
		return "up"
	case fa.Pace != fb.Pace:
		return "down"
	case fb.Speed > fa.Speed:
		return "longer"
	}
	return "shorter"
}

// Pressed is a demand with the movement it belongs to.
type Pressed struct {
	Movement int
	Demand
}

// PressurePoints ranks all demands, the tightest first; equal ones in riding order.
func (p *Plan) PressurePoints() []Pressed {
	var out []Pressed
	for _, m := range p.Movements {
		for _, d := range m.Demands {
			out = append(out, Pressed{m.Number, d})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Pressure > out[j].Pressure })
	return out
}

// PressureAt is the strip over the ride: at time t the pressure of the demand being prepared,
// 0 where nothing is.
func (p *Plan) PressureAt(t gait.Seconds) float64 {
	best := 0.0
	for _, m := range p.Movements {
		for _, d := range m.Demands {
			if start := d.At - d.Needs; t >= start && t <= d.At && d.Pressure > best {
				best = d.Pressure
			}
		}
	}
	return best
}

// accuracy lists what a judge can measure in each movement.
func (c *compiler) accuracy() {
	for i := range c.plan.Movements {
		m := &c.plan.Movements[i]
		for _, f := range m.Figures {
			for _, v := range visibles {
				if a, ok := v.of(f); ok {
					m.Accuracy = append(m.Accuracy, a)
				}
			}
		}
	}
}

func (v visible) of(f Figure) (Accuracy, bool) {
	for _, k := range v.Kinds {
		if k != f.Kind {
			continue
		}
		a := Accuracy{What: v.What, At: f.At, Tolerance: v.Tolerance, Unit: v.Unit, Source: v.Source}
		switch v.Value {
		case "asked":
			a.Asked = float64(f.Asked)
		case "seconds":
			a.Asked = math.Max(float64(f.Seconds), 3)
		case "count":
			a.Asked = float64(f.Count)
		case "angle":
			a.Asked = f.Angle.Deg()
		case "one":
			a.Asked = 1
		case "half":
			a.Asked = 0.5
		}
		a.Tolerance += v.Share * a.Asked
		return a, true
	}
	return Accuracy{}, false
}
