package track

import (
	"fmt"
	"math"
	"sort"
)

// SmoothOptions says how a recording is smoothed; the zero value is the usual way.
type SmoothOptions struct {
	// RateHz asks for states at a fixed rate; 0 gives one state per fix.
	RateHz float64
	// GapLimit is the longest time between fixes that is not a gap; 0 means the longer of 1 s and
	// three usual steps.
	GapLimit Seconds
	// AccSD (m/s2) and AccTau fix the motion model; 0 fits them to the recording.
	AccSD  float64
	AccTau Seconds
	// Plain leaves outliers at full weight.
	Plain bool
	// Step is asked every few thousand instants.
	Step Step
}

// State is the smoothed motion at one instant. Cov is the covariance of position, velocity and
// acceleration of one axis; both axes have the same, and are independent of each other.
type State struct {
	T            Seconds
	P, V, A      Local // m, m/s, m/s2
	PosSD, VelSD float64
	Cov          [3][3]float64
	Fix          int     // index of the fix at this instant, -1 when there is none
	Weight       float64 // of that fix: 1 full, less for an outlier, 0 when there is none
	Gap          bool    // inside a gap of the fixes
	// Heading of the body in radians with its SD, only with HasHeading.
	Heading, HeadingSD float64
	HasHeading         bool
}

// Speed returns the speed in m/s.
func (s State) Speed() float64 { return math.Hypot(s.V.X, s.V.Y) }

// Gap is a stretch without fixes.
type Gap struct{ From, To Seconds }

// Smoothed is a smoothed recording. All standard deviations are those of the white noise and the
// motion model; the slow wander in Noise is not in them and belongs to every absolute place.
type Smoothed struct {
	States   []State
	Noise    Noise
	AccSD    float64 // the motion model used
	AccTau   Seconds
	Outliers int // fixes taken at less than half weight
	Gaps     []Gap
	GapLimit Seconds
	Notes    []string

	gain  []mat3 // from node k+1 back to node k
	index []int  // node of each state
}

// fullHuber is the distance in standard deviations beyond which a fix loses weight; a Gaussian fix
// in two axes lies beyond it once in 460.
const fullHuber = 3.5

// Smooth runs the forward filter and the backward smoother over the recording with the motion model
// fitted to it (see docs/RECORDINGS.md), taking outliers at less weight: three passes, each judging a fix by what all others
// say of its place. The recording is not changed. An error is a *Error without file.
func Smooth(t *Track, n Noise, o SmoothOptions) (*Smoothed, error) {
	if len(t.Fixes) < MinFixes {
		return nil, &Error{Message: fmt.Sprintf("only %d positions to smooth", len(t.Fixes)), Allowed: fmt.Sprintf("at least %d", MinFixes)}
	}
	if !(n.WhiteSD > 0) || !finite(n.WhiteSD) || o.RateHz < 0 || !finite(o.RateHz) || o.AccSD < 0 || o.AccTau < 0 {
		return nil, &Error{Message: "the noise or the rate to smooth with is not positive", Allowed: "a white SD above 0 and rates of 0 or more"}
	}
	s := &Smoothed{Noise: n, GapLimit: o.GapLimit}
	if s.GapLimit == 0 {
		s.GapLimit = max(1, Seconds(3/t.RateHz()))
	}
	nodes, err := nodesOf(t, o.RateHz)
	if err != nil {
		return nil, err
	}
	p := pass{step: o.Step, runs: wholeRuns}
	m := s.weigh(t, nodes, o, &p)
	run(nodes, m, n.WhiteSD, true, &p)
	if p.stopped != nil {
		return nil, p.stopped
	}
	s.AccSD, s.AccTau, s.gain = m.sigma, Seconds(m.tau), p.gain
	s.collect(nodes, &p, o.RateHz > 0)
	s.findGaps(t)
	s.smoothHeading(t)
	if s.Outliers > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%d of %d positions lie far from their neighbours and count less", s.Outliers, len(t.Fixes)))
	}
	return s, nil
}

// wholeRuns is how often Smooth goes over all instants, there and back, besides fitting the motion.
const wholeRuns = 4

// nodesOf lists the instants of the run: the fixes, and the grid of a fixed rate.
func nodesOf(t *Track, rate float64) ([]node, error) {
	nodes := make([]node, len(t.Fixes))
	for i, f := range t.Fixes {
		if !finite(f.P.X) || !finite(f.P.Y) || !finite(float64(f.T)) || i > 0 && f.T <= t.Fixes[i-1].T {
			return nil, &Error{Line: f.Line, At: atSeconds(float64(f.T)), Message: "a position is not finite or not later than the one before", Allowed: "finite numbers in time order"}
		}
		nodes[i] = node{t: float64(f.T), z: f.P, weight: 1, fix: i}
	}
	if rate == 0 {
		return nodes, nil
	}
	first, last := nodes[0].t, nodes[len(nodes)-1].t
	if (last-first)*rate > MaxFixes {
		return nil, tooMany("instants to smooth", MaxFixes)
	}
	const same = 1e-6 // s: a grid instant this close to a fix is the fix
	i := 0
	out := make([]node, 0, len(nodes)+int((last-first)*rate)+2)
	for k := math.Ceil((first - same) * rate); k/rate <= last+same; k++ {
		g := k / rate
		for i < len(nodes) && nodes[i].t < g-same {
			out = append(out, nodes[i])
			i++
		}
		if i < len(nodes) && nodes[i].t <= g+same {
			nodes[i].onGrid = true
			continue
		}
		out = append(out, node{t: g, fix: -1, onGrid: true})
	}
	return append(out, nodes[i:]...), nil
}

// weigh sets the weights of the fixes and fits the motion model.
func (s *Smoothed) weigh(t *Track, nodes []node, o SmoothOptions, p *pass) motionModel {
	m := motionModel{sigma: priorAccSD, tau: 3}
	fixed := func(m motionModel) motionModel {
		if o.AccSD > 0 {
			m.sigma = o.AccSD
		}
		if o.AccTau > 0 {
			m.tau = float64(o.AccTau)
		}
		return m
	}
	m = fixed(m)
	if !o.Plain {
		markBursts(nodes, s.Noise.WhiteSD)
		run(nodes, m, s.Noise.WhiteSD, true, p)
		reweigh(nodes, p, s.Noise.WhiteSD, 1)
	}
	if o.AccSD == 0 || o.AccTau == 0 {
		m = fixed(fitMotion(nodes, s.Noise.WhiteSD, p.asked()))
	}
	if !o.Plain {
		for range 2 {
			run(nodes, m, s.Noise.WhiteSD, true, p)
			reweigh(nodes, p, s.Noise.WhiteSD, 2)
		}
	}
	return m
}

// reweigh gives each fix the weight that its distance from what all other fixes say of its place
// deserves: full within fullHuber standard deviations, falling with that power of the distance beyond.
func reweigh(nodes []node, p *pass, white, power float64) {
	r := white * white
	for k := range nodes {
		nd := &nodes[k]
		if nd.fix < 0 {
			continue
		}
		s := &p.smoothed[k]
		rw := r / nd.weight
		ps := s.p[0][0]
		loo := rw / math.Max(rw-ps, 1e-9*rw) // takes the fix itself out of the smoothed place
		dx, dy := (nd.z.X-s.x[0])*loo, (nd.z.Y-s.y[0])*loo
		d := math.Sqrt((dx*dx + dy*dy) / (r + ps*loo))
		nd.weight = 1
		switch {
		case nd.burst && d > burstStays:
			nd.weight = burstTrust
		case d > fullHuber:
			nd.weight = math.Max(math.Pow(fullHuber/d, power), 1e-12)
		}
	}
}

func (s *Smoothed) collect(nodes []node, p *pass, gridOnly bool) {
	for k, nd := range nodes {
		if nd.fix >= 0 && nd.weight < 0.5 {
			s.Outliers++
		}
		if gridOnly && !nd.onGrid {
			continue
		}
		v := p.smoothed[k]
		st := State{T: Seconds(nd.t), P: Local{v.x[0], v.y[0]}, V: Local{v.x[1], v.y[1]}, A: Local{v.x[2], v.y[2]},
			PosSD: math.Sqrt(max(v.p[0][0], 0)), VelSD: math.Sqrt(max(v.p[1][1], 0)), Cov: v.p, Fix: nd.fix, Weight: nd.weight}
		s.States = append(s.States, st)
		s.index = append(s.index, k)
	}
}

// findGaps lists the gaps and marks the states inside them.
func (s *Smoothed) findGaps(t *Track) {
	for i := 1; i < len(t.Fixes); i++ {
		if a, b := t.Fixes[i-1].T, t.Fixes[i].T; b-a > s.GapLimit {
			s.Gaps = append(s.Gaps, Gap{a, b})
			k := sort.Search(len(s.States), func(k int) bool { return s.States[k].T > a })
			for ; k < len(s.States) && s.States[k].T < b; k++ {
				s.States[k].Gap = true
			}
		}
	}
}

// PosCov returns the covariance in m2 between the position errors of states i and j on one axis.
// Neighbouring errors are alike: a mean over n states is worth far fewer than n independent ones.
func (s *Smoothed) PosCov(i, j int) float64 {
	if i > j {
		i, j = j, i
	}
	c := mat3(s.States[j].Cov)
	for k := s.index[j] - 1; k >= s.index[i]; k-- {
		c = s.gain[k].mul(c)
	}
	return c[0][0]
}

// EffectiveCount returns how many independent positions the states i to j-1 are worth for the mean
// of their errors: the sum of variances over the variance of the mean, at least 1.
func (s *Smoothed) EffectiveCount(i, j int) float64 {
	n := float64(j - i)
	var own, all float64
	for b := i; b < j; b++ {
		v := s.States[b].Cov[0][0]
		own += v
		all += v
		c := mat3(s.States[b].Cov)
		k := s.index[b] - 1
		for a := b - 1; a >= i; a-- {
			for ; k >= s.index[a]; k-- {
				c = s.gain[k].mul(c)
			}
			all += 2 * c[0][0]
			if math.Abs(c[0][0]) < 1e-4*v {
				break
			}
		}
	}
	if all <= own/n {
		return n
	}
	return max(1, n*own/all)
}

// At returns the state at any time within the recording: the position is a cubic between the two
// neighbouring states that meets their velocities, the standard deviations are the larger ones.
// Outside, the nearest end is returned.
func (s *Smoothed) At(t Seconds) State {
	n := len(s.States)
	k := sort.Search(n, func(k int) bool { return s.States[k].T >= t })
	if k == 0 {
		return s.States[0]
	}
	if k == n {
		return s.States[n-1]
	}
	a, b := s.States[k-1], s.States[k]
	if b.T == t {
		return b
	}
	h := float64(b.T - a.T)
	u := float64(t-a.T) / h
	out := a
	if u > 0.5 {
		out = b
	}
	out.T, out.Fix, out.Weight, out.Gap = t, -1, 0, a.Gap || b.Gap
	out.P.X, out.V.X = hermite(a.P.X, b.P.X, a.V.X, b.V.X, h, u)
	out.P.Y, out.V.Y = hermite(a.P.Y, b.P.Y, a.V.Y, b.V.Y, h, u)
	out.PosSD, out.VelSD = max(a.PosSD, b.PosSD), max(a.VelSD, b.VelSD)
	if a.HasHeading && b.HasHeading {
		out.HasHeading = true
		out.Heading = math.Remainder(a.Heading+u*math.Remainder(b.Heading-a.Heading, 2*math.Pi), 2*math.Pi)
		out.HeadingSD = max(a.HeadingSD, b.HeadingSD)
	}
	return out
}

func hermite(p, q, v, w, h, u float64) (pos, vel float64) {
	u2, u3 := u*u, u*u*u
	pos = p*(2*u3-3*u2+1) + q*(3*u2-2*u3) + h*v*(u3-2*u2+u) + h*w*(u3-u2)
	vel = (6*u2-6*u)*(p-q)/h + v*(3*u2-4*u+1) + w*(3*u2-2*u)
	return pos, vel
}
