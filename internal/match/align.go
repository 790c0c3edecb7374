package match

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/strides"
	"ringcraft/internal/track"
)

// rideSD is how far, in metres per axis, a rider who rides the test may be from its line.
const rideSD = 1.0

// Align places a recording in the arena, smooths it and finds where along the plan the ride
// is at every instant. Errors say what was wrong with the recording, where and what is needed.
func Align(ctx context.Context, p *rideplan.Plan, t *track.Track, o Options) (*Ridden, error) {
	if err := usable(p, t); err != nil {
		return nil, err
	}
	n, err := noiseFor(t, o)
	if err != nil {
		return nil, err
	}
	if t, err = near(t, p, o, n); err != nil {
		return nil, err
	}
	sm, err := track.Smooth(t, n.Noise, track.SmoothOptions{Step: o.step(ctx, Smoothing)})
	if err != nil {
		return nil, err
	}
	a := &aligner{plan: p, track: t, smoothed: sm, raw: rawFixes(t, sm), noise: n, options: o}
	return a.run(ctx)
}

// noise is the error model of the recorder and where it sits.
type noise struct {
	track.Noise
	place        track.Place
	pairDistance float64 // of two tags that give the heading, metres; 0: none
}

// noiseFor reads class and place of the recorder.
func noiseFor(t *track.Track, o Options) (noise, error) {
	name := o.Class
	if name == "" {
		name = track.ClassUnknown
	}
	c, err := track.ClassByName(name)
	if err != nil {
		return noise{}, err
	}
	n := noise{Noise: track.NoiseFor(name, t), pairDistance: t.PairDistance}
	if c.Class == track.ClassUnknown && t.Frame != track.FrameGeo {
		if err := n.localUnknown(); err != nil {
			return noise{}, err
		}
	} else if n.EstimatedWhite > 0 && n.DeclaredWhite > 0 {
		n.WanderSD *= math.Max(0.6, math.Min(1.7, math.Sqrt(n.EstimatedWhite/n.DeclaredWhite)))
	}
	n.WanderSD = math.Max(n.WanderSD, t.PairWander) // never less than the file itself shows
	if o.Recorder != "" && o.Recorder != "body" {
		if n.place, err = track.PlaceByName(o.Recorder); err != nil {
			return noise{}, err
		}
	}
	return n, nil
}

// The wander cannot be seen in positions, the jitter can. A recorder that jitters more or
// less than its class is taken to wander more or less by the square root of that factor:
// halfway between "only the jitter differs" and "all of it does" (assumption).

// localUnknown is for a recorder of unknown class that writes metres in an arena: a local
// positioning system, not a phone. One that jitters less than a radio tag is taken to wander by as
// much as it jitters, as surveyed and carrier-phase positions do; from tagJitter on, which these
// do not reach, by as many times its jitter as a radio tag. What was taken is said.
func (n *noise) localUnknown() error {
	local, err := track.ClassByName(track.ClassUWB)
	if err != nil {
		return err
	}
	n.WanderSD, n.WanderTau = local.WanderSD, local.WanderTau
	if n.EstimatedWhite > 0 {
		n.WhiteSD = math.Max(n.EstimatedWhite, 0.005)
		n.WanderSD = math.Max(n.WhiteSD, 0.03)
		if n.WhiteSD > tagJitter {
			n.WanderSD = n.WhiteSD * local.WanderSD / local.WhiteSD
		}
	}
	n.Notes = append(n.Notes, fmt.Sprintf("the class of recorder was not told: slow errors of %.2g m are assumed, from a jitter of %.2g m; a radio tag (uwb) has %.2g m, a sport receiver more", n.WanderSD, n.WhiteSD, local.WanderSD))
	return nil
}

// tagJitter is in metres per axis: more than carrier-phase or surveyed positions at twice what
// their class declares, less than a radio tag's.
const tagJitter = 0.06

var errNowhere = errors.New("the recording follows the sheet nowhere for as long as one movement; is it another test or another arena?")

// nowhere is errNowhere with what helps.
func (a *aligner) nowhere() error { return fmt.Errorf("%w%s", errNowhere, a.sayWhen()) }

// muchLonger is how many times as long as the test a recording lasts of which it is worth asking when
// in it the test was ridden.
const muchLonger = 1.5

// sayWhen asks for the minutes of the ride where the recording holds much more than it; "" where it does not.
func (a *aligner) sayWhen() string {
	fs := a.track.Fixes
	lasts := float64(fs[len(fs)-1].T - fs[0].T)
	if lasts < muchLonger*float64(a.plan.Total) {
		return ""
	}
	return fmt.Sprintf("; the recording runs from %s to %s and the test takes about %s: if you know roughly when it was ridden, say from which minute to which, and only that is searched",
		track.Clock(fs[0].T), track.Clock(fs[len(fs)-1].T), track.Clock(track.Seconds(a.plan.Total)))
}

// aligner holds what the steps of Align share.
type aligner struct {
	plan     *rideplan.Plan
	track    *track.Track
	smoothed *track.Smoothed
	raw      []Fix // in the recording's own frame
	noise    noise
	options  Options
}

func (a *aligner) run(ctx context.Context) (*Ridden, error) {
	r, pl, err := a.place(ctx)
	if err != nil {
		return nil, err
	}
	fixes := placed(a.raw, r)
	if err := overlaps(a.plan, fixes, a.noise); err != nil {
		return nil, err
	}
	c := &chain{stations: stationsOf(a.plan), sigma: a.sigma(pl), costs: usualCosts()}
	es := epochsOf(a.smoothed, r)
	path, err := c.solve(ctx, es, a.options.told(Aligning))
	if err != nil {
		return nil, err
	}
	if path, err = c.inOrder(ctx, es, path, a.noise); err != nil {
		return nil, err
	}
	ride := c.oneRide(path)
	ps := follow(a.plan, c, es, path)
	if !anyOn(ps) {
		return nil, a.nowhere()
	}
	a.bodyPlaces(ps)
	onFixes(fixes, ps, c)
	deps, missing := departuresOf(a.plan, c, ps)
	deps = append(ride.otherRides(a.plan, c, es), deps...)
	out := &Ridden{Fixes: fixes, Placement: pl, Departures: deps, HasHeading: hasHeading(fixes), Samples: a.samples(r, ps, c, fixes)}
	out.Noise = Noise{Class: a.noise.Class, WhiteSD: a.noise.WhiteSD, WanderSD: a.noise.WanderSD, WanderTau: gait.Seconds(a.noise.WanderTau),
		RateHz: a.noise.RateHz, LeverSD: a.noise.place.SD, LeverUp: a.noise.place.Up, PairDistance: a.noise.pairDistance}
	a.takeOffLever(out)
	wanderOf(out, a.noise.WanderDoubt)
	out.Spans = spansOf(a.plan, ps, out.Noise, missing)
	if len(out.Spans) == 0 {
		return nil, a.nowhere()
	}
	out.Strides = a.strides(ctx, ps)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out.Notes = a.notes(out.Strides)
	return out, nil
}

// strides reads the motion data, if there are any, knowing which pace the plan asks where
// the ride is.
func (a *aligner) strides(ctx context.Context, ps []place) *strides.Result {
	if len(a.track.Motion) == 0 {
		return nil
	}
	r := strides.Detect(a.track, strides.Options{Step: a.options.step(ctx, Striding), Expected: func(t strides.Seconds) gait.Variety {
		i := sort.Search(len(ps), func(i int) bool { return ps[i].t >= float64(t) })
		if i == len(ps) || math.IsNaN(ps[i].m) {
			return ""
		}
		return a.plan.SampleAtM(arena.Metres(ps[i].m)).Variety
	}})
	return &r
}

// notes collects what each step has to say of the recording.
func (a *aligner) notes(s *strides.Result) []string {
	out := slices.Concat(a.track.Notes, a.noise.Notes, a.smoothed.Notes)
	if s != nil {
		out = append(out, s.Notes...)
	}
	return out
}

// sigma is the one-axis distance to expect between recording and plan.
func (a *aligner) sigma(pl Placement) float64 {
	n := a.noise
	return math.Sqrt(rideSD*rideSD + n.WhiteSD*n.WhiteSD/8 + n.WanderSD*n.WanderSD + pl.ShiftSD*pl.ShiftSD)
}

func anyOn(ps []place) bool {
	on := 0
	for _, p := range ps {
		if p.layer == onPlan {
			on++
		}
	}
	return on >= 6
}

// usable checks what no later step can mend.
func usable(p *rideplan.Plan, t *track.Track) error {
	if p == nil || len(p.Samples) < 2 {
		return errors.New("the sheet has no line to compare a recording with")
	}
	if t == nil || len(t.Fixes) < 8 {
		return errors.New("the recording holds fewer than 8 positions")
	}
	for i, f := range t.Fixes {
		if bad(float64(f.T)) || bad(f.P.X) || bad(f.P.Y) || f.HasHeading && bad(f.Heading) {
			return fmt.Errorf("line %d of the recording, at %.2f s: a time or position is not a number", f.Line, float64(f.T))
		}
		if i > 0 && f.T < t.Fixes[i-1].T {
			return fmt.Errorf("line %d of the recording, at %.2f s: time runs backwards", f.Line, float64(f.T))
		}
	}
	if d := t.Fixes[len(t.Fixes)-1].T - t.Fixes[0].T; d < 5 {
		return fmt.Errorf("the recording lasts only %.1f s", float64(d))
	}
	return nil
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

func rawFixes(t *track.Track, sm *track.Smoothed) []Fix {
	out := make([]Fix, len(t.Fixes))
	for i, f := range t.Fixes {
		out[i] = Fix{T: gait.Seconds(f.T), Point: arena.Point(f.P), Heading: arena.Angle(f.Heading), HasHeading: f.HasHeading}
	}
	for _, s := range sm.States {
		if s.Fix >= 0 && s.Weight < 0.5 {
			out[s.Fix].Outlier = true
		}
	}
	return out
}

func placed(raw []Fix, r rigid) []Fix {
	out := append([]Fix(nil), raw...)
	for i := range out {
		out[i].Point = r.apply(out[i].Point)
		if out[i].HasHeading {
			out[i].Heading = r.heading(float64(out[i].Heading))
		}
	}
	return out
}

func hasHeading(fs []Fix) bool {
	n := 0
	for _, f := range fs {
		if f.HasHeading {
			n++
		}
	}
	return n > len(fs)/2
}

// overlaps refuses a recording of another place. A ride strays a few metres from the boards
// at most, besides the recorder's own error; one in it for half as long as the test takes will do.
func overlaps(p *rideplan.Plan, fs []Fix, n noise) error {
	margin := 5 + 3*n.WanderSD + 3*n.WhiteSD
	in := 0
	for _, f := range fs {
		if p.Board.Contains(f.Point, arena.Metres(-margin)) {
			in++
		}
	}
	if in*5 < len(fs) && float64(in) < float64(p.Total)*n.RateHz/2 {
		f := fs[len(fs)/2]
		return elsewhere(in, len(fs), track.Seconds(f.T), f.Point)
	}
	return nil
}

// bodyPlaces moves the places along the plan from where the recorder is to where the body is:
// a recorder on the poll is in the bend before the rider. Where the plan stands they stay.
func (a *aligner) bodyPlaces(ps []place) {
	forward := a.noise.place.Forward
	for i := range ps {
		if m := ps[i].m; !math.IsNaN(m) && forward != 0 && a.plan.SampleAtM(arena.Metres(m)).Speed > 0.5 {
			ps[i].m = math.Max(0, m-forward)
		}
	}
	monotone(ps)
}

// takeOffLever moves fixes and samples from where the recorder sits to the rider's body,
// along the horse as recorded or else as the plan has it there.
func (a *aligner) takeOffLever(r *Ridden) {
	forward := a.noise.place.Forward
	if forward == 0 {
		return
	}
	k := 0
	for i := range r.Fixes {
		f := &r.Fixes[i]
		for k+1 < len(r.Samples) && r.Samples[k+1].T <= f.T {
			k++
		}
		f.Point = f.Point.Sub(a.along(f.PlanM, f.Heading, f.HasHeading, r.Samples[k].V).Mul(forward))
	}
	for i := range r.Samples {
		s := &r.Samples[i]
		s.Point = s.Point.Sub(a.along(s.PlanM, s.Heading, r.HasHeading, s.V).Mul(forward))
	}
}

// along is the direction of the horse, as well as it is known.
func (a *aligner) along(m arena.Metres, heading arena.Angle, recorded bool, v arena.Point) arena.Point {
	switch {
	case recorded:
		return heading.Unit()
	case !math.IsNaN(float64(m)):
		s := a.plan.SampleAtM(m)
		turn := s.Angle
		if s.Side == rideplan.Right {
			turn = -turn
		}
		return (s.Heading + turn).Unit()
	case v.Norm() > 0.5:
		return v.Mul(1 / float64(v.Norm()))
	}
	return arena.Point{}
}
