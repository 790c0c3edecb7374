package measure

import (
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
)

// PaceRidden is one variety of a pace as it went over the whole test: its steady stretches taken
// together, on lines no tighter than a 15 m circle. A trainer who compares it with another variety of
// the pace sees whether the strides grew longer or only quicker.
type PaceRidden struct {
	Variety string      `json:"variety"`
	Seconds float64     `json:"seconds"`   // measured
	Speed   PaceFigure  `json:"speed_mps"` // m/s
	Strides int         `json:"strides"`   // counted, 0 without motion data
	Tempo   *PaceFigure `json:"tempo"`     // strides a minute; null where none were counted
	Regular *PaceFigure `json:"tempo_regularity_pct"`
	Length  *PaceFigure `json:"stride_length_m"`
	// Against compares a bigger pace with the usual one of this ride; null where there is none.
	Against *PaceChange `json:"against"`
	Why     string      `json:"why,omitempty"` // why no strides were counted

	over []when
}

// PaceFigure is a number with one standard deviation, and what is usual for the horse (its own file,
// else the table of paces); Usual is null where nothing is known.
type PaceFigure struct {
	Value float64  `json:"value"`
	Sigma float64  `json:"sigma"`
	Usual *float64 `json:"usual,omitempty"`
}

// PaceChange is how a bigger pace differs from the one that it grows out of.
type PaceChange struct {
	Variety string     `json:"variety"`
	Longer  PaceFigure `json:"longer_m"`   // metres a stride
	Quicker PaceFigure `json:"faster_pct"` // tempo, %
	Verdict string     `json:"verdict"`    // LongerStrides, Quickened, NoLonger or CannotTell
}

// What became of the strides in a bigger pace.
const (
	LongerStrides = "longer strides"
	Quickened     = "hurried"
	NoLonger      = "strides hardly longer"
)

// hardlyLonger is the share of the usual difference in length below which strides hardly grew.
const hardlyLonger = 0.25

// Paces measures each variety of walk, trot and canter of the plan over all its steady stretches, in
// the order of the plan. A ride without positions has none.
func Paces(p *rideplan.Plan, rec *match.Ridden, o Options) []PaceRidden {
	if p == nil || rec == nil || len(rec.Fixes) == 0 {
		return nil
	}
	r := newRide(p, rec, o)
	var order []gait.Variety
	by := map[gait.Variety][]stretch{}
	for _, s := range r.stretches(0, float64(p.Length)) {
		if s.z-s.a < shortestStretch {
			continue
		}
		if by[s.variety] == nil {
			order = append(order, s.variety)
		}
		by[s.variety] = append(by[s.variety], s)
	}
	var out []PaceRidden
	for _, v := range order {
		if x, ok := r.paceRidden(v, by[v]); ok {
			out = append(out, x)
		}
	}
	r.compareForms(out)
	return out
}

// paceRidden takes the stretches of one variety together; ok is false when too little was recorded.
func (r *ride) paceRidden(v gait.Variety, list []stretch) (x PaceRidden, ok bool) {
	p, ok := r.speedOver(list)
	if !ok || !(p.speed > 0) || math.IsInf(p.speed, 0) {
		return x, false
	}
	usual, known := r.opts.Horse.Figures(v)
	x = PaceRidden{Variety: string(v), Speed: paceFigure(p.speed, append(r.d.of(inTime(p.ws)), part{fromRiding, p.unlike})...)}
	if known {
		x.Speed.Usual = ptr(float64(usual.Speed))
	}
	for _, s := range list {
		if os, covered := r.over(s.a, s.z); len(os) >= 4 && covered >= 0.6 {
			at := during(os)
			x.over, x.Seconds = append(x.over, at), x.Seconds+at.to-at.from
		}
	}
	x.Seconds = math.Round(10*x.Seconds) / 10
	if r.rec.Strides == nil {
		x.Why = "no motion was recorded"
		return x, true
	}
	l, ok := r.strideLength(v, list)
	if !ok {
		x.Why = r.whyNot(v.PaceOf(), x.over[0].from, x.over[len(x.over)-1].to)
		return x, true
	}
	r.strideFigures(&x, v, l, usual)
	return x, true
}

// strideFigures fills in what strides show: their rate, spread and length.
func (r *ride) strideFigures(x *PaceRidden, v gait.Variety, l lengthOf, usual gait.Figures) {
	x.Strides = int(l.n)
	tempo := paceFigure(60/l.mean, part{fromMotion, math.Pow(60/l.mean, 2) * (l.counted + sensorClock*sensorClock)})
	value, parts := r.unmixedSpread(v.PaceOf(), 100*l.sd/l.mean, l.n, l.runs)
	regular := paceFigure(value, parts...)
	speed, _ := sum(append(r.d.of(inTime(l.ws)), part{fromRiding, l.unlike * l.speed * l.speed}))
	length := PaceFigure{Value: round4(l.metres), Sigma: round4(l.metres * math.Hypot(speed/l.speed, tempo.Sigma/tempo.Value))}
	if usual.StrideM > 0 {
		tempo.Usual, length.Usual = ptr(60*float64(usual.Speed)/usual.StrideM), ptr(usual.StrideM)
	}
	x.Tempo, x.Regular, x.Length = &tempo, &regular, &length
}

// compareForms compares the bigger varieties of each pace with the one that most of it was ridden in
// among its usual ones.
func (r *ride) compareForms(list []PaceRidden) {
	base := map[gait.Pace]*PaceRidden{}
	for i := range list {
		f, _ := gait.Lookup(gait.Variety(list[i].Variety))
		if !isUsualForm(f) || list[i].Length == nil {
			continue
		}
		if b := base[f.Pace]; b == nil || list[i].Seconds > b.Seconds {
			base[f.Pace] = &list[i]
		}
	}
	for i := range list {
		x := &list[i]
		f, _ := gait.Lookup(gait.Variety(x.Variety))
		b := base[f.Pace]
		if b == nil || x.Length == nil || isUsualForm(f) {
			continue
		}
		if of, _ := gait.Lookup(gait.Variety(b.Variety)); f.Speed > of.Speed {
			x.Against = changeFrom(b, x)
		}
	}
}

// isUsualForm reports whether a variety is one that bigger ones of its pace grow out of.
func isUsualForm(f gait.Figures) bool {
	return f.Form == "collected" || f.Form == "working" || f.Pace == gait.Walk && f.Form == "medium"
}

// changeFrom says what became of the strides between two varieties of one pace.
func changeFrom(b, x *PaceRidden) *PaceChange {
	c := &PaceChange{Variety: b.Variety}
	c.Longer = PaceFigure{Value: round4(x.Length.Value - b.Length.Value), Sigma: round4(math.Hypot(x.Length.Sigma, b.Length.Sigma))}
	ratio := x.Tempo.Value / b.Tempo.Value
	c.Quicker = PaceFigure{Value: round4(100 * (ratio - 1)), Sigma: round4(100 * ratio * math.Hypot(x.Tempo.Sigma/x.Tempo.Value, b.Tempo.Sigma/b.Tempo.Value))}
	share := tolerances["tempo"].Share
	usual := 0.0
	if x.Length.Usual != nil && b.Length.Usual != nil {
		usual = *x.Length.Usual - *b.Length.Usual
		c.Longer.Usual = ptr(usual)
	}
	least := hardlyLonger * usual
	switch {
	case beyond(c.Quicker, 100*share):
		c.Verdict = Quickened
	case usual > 0 && beyond(PaceFigure{Value: -c.Longer.Value, Sigma: c.Longer.Sigma}, -least):
		c.Verdict = NoLonger
	case beyond(c.Longer, least) && beyond(PaceFigure{Value: -c.Quicker.Value, Sigma: c.Quicker.Sigma}, -100*share):
		c.Verdict = LongerStrides
	default:
		c.Verdict = CannotTell
	}
	return c
}

// beyond reports whether a number is surely above a bound.
func beyond(f PaceFigure, bound float64) bool { return tail((f.Value-bound)/f.Sigma) >= sure }

func paceFigure(value float64, parts ...part) PaceFigure {
	sigma, _ := sum(parts)
	return PaceFigure{Value: round4(value), Sigma: round4(sigma)}
}

func round4(v float64) float64 { return math.Round(v*1e4) / 1e4 }
