package gait

import "math"

// referenceHeight is the withers height of the warmblood-type horses behind varieties.json
// (common practice, no source); ponyHeight is used for a pony whose height is not given
// (the upper limit of competition ponies is 1.48 m; 1.40 m is common practice, no source).
const (
	referenceHeight = 1.68
	ponyHeight      = 1.40
)

// height returns the withers height to scale by, or the reference when nothing is known.
func (p Profile) height() float64 {
	switch {
	case p.HeightM > 0.5 && p.HeightM < 2.5:
		return p.HeightM
	case p.Pony:
		return ponyHeight
	}
	return referenceHeight
}

// Figures returns the numbers of v for this horse: its own where they are given, else the
// usual ones scaled by height at equal Froude number (stride with the height, speed and
// period with its square root; Alexander and Jayes 1983, from memory). A horse with only a
// stride or only a tempo of its own keeps the other usual figure.
func (p Profile) Figures(v Variety) (Figures, bool) {
	f, ok := Lookup(v)
	if !ok || f.Speed == 0 {
		return f, ok
	}
	k := p.height() / referenceHeight
	f.StrideM *= k
	f.Speed *= Speed(math.Sqrt(k))
	own, has := p.Varieties[v]
	if !has {
		return f, true
	}
	tempo := float64(f.Speed) / f.StrideM
	if own.StrideM > 0 {
		f.StrideM = own.StrideM
	}
	if own.TempoHz > 0 {
		tempo = own.TempoHz
	}
	f.Speed = Speed(f.StrideM * tempo)
	f.Source = "the horse's own profile"
	return f, true
}

// NoseToBody returns metres from the rider's body to the horse's nose.
func (p Profile) NoseToBody() float64 {
	if p.NoseToBodyM > 0 {
		return p.NoseToBodyM
	}
	return DefaultNoseToBody * p.height() / referenceHeight
}

// Inset returns the rider's distance from the boards on the track, in metres.
func (p Profile) Inset() float64 {
	if p.InsetM != nil {
		return *p.InsetM
	}
	return DefaultInset
}
