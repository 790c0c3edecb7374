package judging

import (
	"math"
	"slices"

	"ringcraft/internal/terms"
)

// PairedMark is one movement marked by the trainer and by judges of the same ride.
type PairedMark struct {
	Ride    string // any id of the ride
	Kind    terms.Kind
	Trainer float64
	Judge   float64 // mean of the judges
}

// EyeOf is the trainer's eye for one kind of movement. Offset is trainer less judges, in
// marks, shrunk towards the trainer's own overall offset; positive: more generous.
type EyeOf struct {
	Kind       terms.Kind    `json:"kind"`
	Pairs      int           `json:"pairs"`
	Raw        float64       `json:"raw"`    // plain mean of the differences
	Offset     float64       `json:"offset"` // shrunk
	Low        float64       `json:"low"`    // 95 % interval of Offset
	High       float64       `json:"high"`
	Spread     float64       `json:"spread"` // SD of the differences, shrunk towards the common one
	LookHarder bool          `json:"look_harder"`
	Because    string        `json:"because"`
	Prone      []terms.Fault `json:"prone,omitempty"` // what to look for
}

// Eye is the trainer's eye over a season.
type Eye struct {
	Pairs   int     `json:"pairs"`
	Offset  float64 `json:"offset"` // over all kinds, trainer less judges
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	Spread  float64 `json:"spread"`  // SD of single differences within kinds
	Between float64 `json:"between"` // SD of true offsets between kinds
	Kinds   []EyeOf `json:"kinds"`   // in order of first appearance
	Note    string  `json:"note,omitempty"`
}

// Priors of the eye where data are few, in marks. The spread of a single difference is two
// judges' mark noise, 0.6 each (a working figure: judges' scatter of final percents spread
// over the movements); the spread of offsets between kinds is an assumption.
const (
	priorSpread  = 0.85
	priorBetween = 0.3
	priorWeight  = 4.0 // differences' worth of the prior spread
	worthSaying  = 0.4 // marks; half a mark is the smallest step of a mark
)

// JudgeEye compares a trainer's marks with judges' marks of the same movements: a normal
// model with two levels. Within a kind differences scatter with Spread, kinds' offsets
// scatter around the overall offset with Between; both are estimated from the data together
// with the priors above, and offsets are shrunk accordingly (empirical Bayes).
func JudgeEye(pairs []PairedMark) Eye {
	var e Eye
	e.Pairs = len(pairs)
	if len(pairs) == 0 {
		e.Note = "no movement has both the trainer's and a judge's mark"
		return e
	}
	var kinds []terms.Kind
	byKind := map[terms.Kind][]float64{}
	for _, p := range pairs {
		if byKind[p.Kind] == nil {
			kinds = append(kinds, p.Kind)
		}
		byKind[p.Kind] = append(byKind[p.Kind], p.Trainer-p.Judge)
	}
	within, df := 0.0, 0
	for _, k := range kinds {
		m := mean(byKind[k])
		for _, d := range byKind[k] {
			within += sq(d - m)
		}
		df += len(byKind[k]) - 1
	}
	v := (within + priorWeight*sq(priorSpread)) / (float64(df) + priorWeight)
	e.Spread = math.Sqrt(v)
	tau2 := betweenVariance(kinds, byKind, v)
	e.Between = math.Sqrt(tau2)
	var sw, swx float64
	for _, k := range kinds {
		w := 1 / (tau2 + v/float64(len(byKind[k])))
		sw, swx = sw+w, swx+w*mean(byKind[k])
	}
	e.Offset = swx / sw
	half := 1.96 / math.Sqrt(sw)
	e.Low, e.High = e.Offset-half, e.Offset+half
	for _, k := range kinds {
		e.Kinds = append(e.Kinds, eyeOf(k, byKind[k], e.Offset, 1/sw, v, tau2))
	}
	if len(pairs) < 20 {
		e.Note = "few marks: offsets are drawn strongly towards the common one"
	}
	return e
}

// betweenVariance is the method-of-moments estimate (DerSimonian and Laird 1986) of the
// variance of true offsets, averaged with the prior by the number of kinds. Kinds with a
// single pair have no say in it.
func betweenVariance(kinds []terms.Kind, by map[terms.Kind][]float64, v float64) float64 {
	kinds = slices.DeleteFunc(slices.Clone(kinds), func(k terms.Kind) bool { return len(by[k]) < 2 })
	if len(kinds) < 2 {
		return sq(priorBetween)
	}
	var sw, sw2, swx float64
	for _, k := range kinds {
		w := float64(len(by[k])) / v
		sw, sw2, swx = sw+w, sw2+w*w, swx+w*mean(by[k])
	}
	m, q := swx/sw, 0.0
	for _, k := range kinds {
		q += float64(len(by[k])) / v * sq(mean(by[k])-m)
	}
	df := float64(len(kinds) - 1)
	est := 0.0
	if c := sw - sw2/sw; c > 0 {
		est = max(0, (q-df)/c)
	}
	return (df*est + priorWeight*sq(priorBetween)) / (df + priorWeight)
}

func eyeOf(k terms.Kind, ds []float64, common, commonVar, v, tau2 float64) EyeOf {
	n := float64(len(ds))
	raw := mean(ds)
	b := tau2 / (tau2 + v/n)
	post := b*raw + (1-b)*common
	sd := math.Sqrt(b*v/n + sq(1-b)*commonVar)
	own := 0.0
	for _, d := range ds {
		own += sq(d - raw)
	}
	spread := math.Sqrt((own + priorWeight*v) / (max(n-1, 0) + priorWeight))
	out := EyeOf{Kind: k, Pairs: len(ds), Raw: raw, Offset: post, Low: post - 1.96*sd, High: post + 1.96*sd, Spread: spread}
	switch {
	case post > worthSaying && out.Low > 0:
		out.LookHarder, out.Because = true, "more generous here than the judges"
	case post < -worthSaying && out.High < 0:
		out.LookHarder, out.Because = true, "stricter here than the judges"
	case n >= 6 && spread > 1.35*math.Sqrt(v):
		out.LookHarder, out.Because = true, "the differences scatter more here than elsewhere"
	}
	if out.LookHarder {
		prone := terms.ProneTo(k)
		out.Prone = slices.Clone(prone[:min(3, len(prone))])
	}
	return out
}

func mean(xs []float64) float64 {
	s := 0.0
	for _, x := range xs {
		s += x
	}
	return s / float64(len(xs))
}
