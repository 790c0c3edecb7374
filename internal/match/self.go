package match

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"

	"ringcraft/internal/arena"
)

// A ride that nothing places in the arena is placed by its own shape: the rotation and shift
// (and, where the axes are the recorder's own, mirroring) under which it follows the plan
// best. Rides over long arenas leave four ways to lie in them; each is tried, fitted and
// aligned in turn, and the best must be clearly better than the next.

const (
	// clearlyBetter is by how much, in the alignment's negative log likelihood, one placing
	// must fit better than another. Neighbouring half seconds are alike over some five
	// seconds, so that 40 is worth a likelihood ratio of about e^4.
	clearlyBetter = 40.0
	// worstFit is the mean price of an epoch above which a ride does not follow the sheet.
	worstFit     = 4.5
	selfRounds   = 6
	firstRounds  = 2 // before all but the best contenders are dropped
	contenders   = 3
	sameTurn     = 0.35
	sameShift    = 6.0
	coarseEvery  = 2
	selfSigma    = 2.0
	robustMargin = 0.03
	robustScale  = 2.0 // metres off at which a pair counts half
)

// candidate is one way to lay the recording into the arena.
type candidate struct {
	r     rigid
	cost  float64
	pairs []pair
	rms   float64
}

func (a *aligner) placeByRide(ctx context.Context, mayMirror bool) (rigid, Placement, error) {
	es := moving(epochsOf(a.smoothed, identity()))
	if len(es) < 30 {
		return rigid{}, Placement{}, errors.New("too little of the recording moves to place it by the ride itself; survey two letters or more")
	}
	cs, err := a.candidates(ctx, es, mayMirror)
	if err != nil {
		return rigid{}, Placement{}, err
	}
	if cs, err = a.byOneLetter(cs); err != nil {
		return rigid{}, Placement{}, err
	}
	best := cs[0]
	if per := best.cost / float64(len(es)); per > worstFit || len(best.pairs) < len(es)/4 {
		return rigid{}, Placement{}, errors.New("the recording follows the sheet in no position; is it this test, and in an arena of this size?" + a.sayWhen())
	}
	for _, c := range cs[1:] {
		if differs(best.r, c.r, es) && c.cost-best.cost < clearlyBetter {
			return rigid{}, Placement{}, fmt.Errorf("two placings of the recording fit the sheet alike (%s); %s", between(best.r, c.r), settles(best.r, c.r)+a.sayWhen())
		}
	}
	best = a.polish(best)
	return best.r, a.selfPlacement(best), nil
}

// moving keeps the epochs whose place is known, as the alignment needs them in time order.
func moving(es []epoch) []epoch {
	var out []epoch
	for i, e := range es {
		if i%coarseEvery == 0 && !e.blind {
			out = append(out, e)
		}
	}
	return out
}

// candidates fits every way the recording can lie, best first.
func (a *aligner) candidates(ctx context.Context, es []epoch, mayMirror bool) ([]candidate, error) {
	c := &chain{stations: stationsOf(a.plan), sigma: selfSigma, costs: usualCosts(), dt: coarseEvery * epochStep}
	a.options.progress(Placing, 0)
	starts := a.starts(es, false)
	if mayMirror {
		starts = append(starts, a.starts(es, true)...)
	}
	var out []candidate
	for i, r := range starts {
		cand, err := a.settle(ctx, c, es, r, firstRounds)
		if err != nil {
			return nil, err
		}
		out = append(out, cand)
		a.options.progress(Placing, 0.6*float64(i+1)/float64(len(starts)))
	}
	byCost := func(i, j int) bool { return out[i].cost < out[j].cost }
	sort.SliceStable(out, byCost)
	for i := range min(contenders, len(out)) {
		cand, err := a.settle(ctx, c, es, out[i].r, selfRounds)
		if err != nil {
			return nil, err
		}
		out[i] = cand
		a.options.progress(Placing, 0.6+0.4*float64(i+1)/contenders)
	}
	sort.SliceStable(out, byCost)
	return out, nil
}

// starts lays the recording's tightest rectangle onto the plan's in its four ways.
func (a *aligner) starts(es []epoch, mirrored bool) []rigid {
	flip := rigid{cos: 1, mirrored: mirrored}
	ps := make([]arena.Point, len(es))
	for i, e := range es {
		ps[i] = flip.turn(e.at)
	}
	bestTurn, bestArea := 0.0, math.Inf(1)
	for deg := 0.0; deg < 90; deg += 1.5 {
		lo, hi := extent(ps, deg*math.Pi/180)
		if area := (hi.X - lo.X) * (hi.Y - lo.Y); area < bestArea {
			bestTurn, bestArea = deg*math.Pi/180, area
		}
	}
	var line []arena.Point
	for _, s := range a.plan.Samples {
		line = append(line, s.Point)
	}
	pl, ph := extent(line, 0)
	centre := pl.Lerp(ph, 0.5)
	var out []rigid
	for k := range 4 {
		turn := bestTurn + float64(k)*math.Pi/2
		lo, hi := extent(ps, turn)
		r := rigid{cos: math.Cos(turn), sin: math.Sin(turn), mirrored: mirrored}
		r.shift = centre.Sub(lo.Lerp(hi, 0.5))
		out = append(out, r)
	}
	return out
}

// extent is the box of points turned by an angle, without the outermost of them.
func extent(ps []arena.Point, turn float64) (lo, hi arena.Point) {
	sin, cos := math.Sincos(turn)
	xs, ys := make([]float64, len(ps)), make([]float64, len(ps))
	for i, p := range ps {
		xs[i], ys[i] = cos*p.X-sin*p.Y, sin*p.X+cos*p.Y
	}
	sort.Float64s(xs)
	sort.Float64s(ys)
	k := int(robustMargin * float64(len(ps)))
	n := len(ps) - 1 - k
	return arena.Point{X: xs[k], Y: ys[k]}, arena.Point{X: xs[n], Y: ys[n]}
}

// settle aligns, fits the placing to the alignment, and again until it stays.
func (a *aligner) settle(ctx context.Context, c *chain, es []epoch, r rigid, rounds int) (candidate, error) {
	best := candidate{r: r, cost: math.Inf(1)}
	for range rounds {
		turned := make([]epoch, len(es))
		for i, e := range es {
			e.at, e.v = r.apply(e.at), r.turn(e.v)
			turned[i] = e
		}
		path, cost, err := c.run(ctx, turned, nil)
		if err != nil {
			return best, err
		}
		if cost > best.cost-0.5 {
			break
		}
		best = candidate{r: r, cost: cost}
		ps := follow(a.plan, c, turned, path)
		for i, p := range ps {
			if p.layer == onPlan && !math.IsNaN(p.m) {
				best.pairs = append(best.pairs, pair{from: es[i].at, to: a.plan.SampleAtM(arena.Metres(p.m)).Point, weight: 1, t: p.t, m: p.m})
			}
		}
		if len(best.pairs) < 10 {
			break
		}
		_, best.rms = fitRigid(best.pairs, r.mirrored)
		best.rms = math.Sqrt(best.rms / float64(2*len(best.pairs)))
		r = fitRobust(best.pairs, r)
	}
	return best, nil
}

// fitRobust fits the placing with less weight on pairs that lie far apart.
func fitRobust(ps []pair, r rigid) rigid {
	for range 5 {
		for i := range ps {
			d := float64(r.apply(ps[i].from).Dist(ps[i].to)) / robustScale
			ps[i].weight = 1 / (1 + d*d)
		}
		r, _ = fitRigid(ps, r.mirrored)
	}
	return r
}

// differs reports whether two placings put the recording in different places.
func differs(a, b rigid, es []epoch) bool {
	if a.mirrored != b.mirrored || math.Abs(float64(a.angle().Diff(b.angle()))) > sameTurn {
		return true
	}
	mid := es[len(es)/2].at
	return a.apply(mid).Dist(b.apply(mid)) > sameShift
}

// byOneLetter leaves the placings that lay the only surveyed letter near its place: one letter is
// too little to place a ride by, and enough to say which end is A.
func (a *aligner) byOneLetter(cs []candidate) ([]candidate, error) {
	plane, geo := a.track.Plane()
	if a.options.Survey == nil || !geo {
		return cs, nil
	}
	p := a.options.Survey.pairs(plane)[0]
	within := letterNear + 2*a.noise.WanderSD + 2*a.options.Survey.SD
	nearest := math.Inf(1)
	var out []candidate
	for _, c := range cs {
		d := float64(c.r.apply(p.from).Dist(p.to))
		if nearest = math.Min(nearest, d); d <= within {
			out = append(out, c)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%s: letter %s lies %.0f m from its place however the ride is laid onto the sheet; is it this arena, and that letter?",
			a.options.Survey.File, a.options.Survey.Letters[0].Name, nearest)
	}
	return out, nil
}

// letterNear is how many metres a letter may lie from its place in a ride that lies the right way round.
const letterNear = 5.0

// settles says what would tell two placings apart.
func settles(a, b rigid) string {
	if a.mirrored != b.mirrored {
		return "start the recorder before A, so that the entry is in it, or export it in the arena frame (x towards B, y towards C)"
	}
	return "one surveyed letter in an arena file settles which way round it lies, two or more place it; so does starting the recorder before A, so that the entry is in it"
}

func between(a, b rigid) string {
	if a.mirrored != b.mirrored {
		return "one of them mirrored"
	}
	return fmt.Sprintf("turned by %.0f degrees to each other", math.Abs(a.angle().Diff(b.angle()).Deg()))
}
