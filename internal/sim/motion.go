package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// Going states how the horse of a ride moves its legs: what motion data show and positions do
// not. The zero value is the usual tempo, strides that differ by 2 %, every lead as asked.
type Going struct {
	Tempo      float64      // factor on the usual stride rate, 0 is 1
	Spread     float64      // of single strides over their mean, one standard deviation, 0 is 0.02
	WrongLeads []int        // movements whose canter begins on the other lead and stays on it
	Late       gait.Seconds // by which the footfall changes after the place of the plan
	LegFaults
}

// Footfall is one true stride of a simulated ride.
type Footfall struct {
	T, Duration gait.Seconds
	Pace        gait.Pace
	Lead        rideplan.Hand // canter only
	Until       gait.Seconds  // when the legs stand still in the middle of the stride; 0 when it is whole
}

// Legs is the footfall of a simulated ride, in time order.
type Legs []Footfall

// Legs draws the strides of a ride: stride rates as the plan's varieties have them (gait's table
// with its sources), each stride of its own length in time.
func (tr *Truth) Legs(p *rideplan.Plan, g Going, seed uint64) Legs {
	w := &walker{tr: tr, plan: p, going: g, rng: rand.New(rand.NewPCG(seed, 0x1e65)), spread: g.Spread, odd: map[int]bool{}}
	if w.going.Tempo == 0 {
		w.going.Tempo = 1
	}
	if w.spread == 0 {
		w.spread = 0.02
	}
	for t, end := tr.Samples[0].T, tr.Samples[len(tr.Samples)-1].T; t < end; {
		t = w.step(t)
	}
	return w.legs
}

func wrongIn(list []int, n int) bool {
	for _, k := range list {
		if k == n {
			return true
		}
	}
	return false
}

func otherHand(h rideplan.Hand) rideplan.Hand {
	if h == rideplan.Left {
		return rideplan.Right
	}
	return rideplan.Left
}

// footing is what the plan asks of the legs where the ride is.
type footing struct {
	variety  gait.Variety
	lead     rideplan.Hand
	movement int
	still    bool
	turning  bool // on the spot
	simple   bool // in a simple change
}

func (tr *Truth) stepping(p *rideplan.Plan, t gait.Seconds) footing {
	a, b := tr.At(t-0.15), tr.At(t+0.15)
	if math.IsNaN(b.PlanM) {
		return footing{variety: gait.MediumWalk}
	}
	q := p.SampleAtM(arena.Metres(b.PlanM))
	still := float64(a.Point.Dist(b.Point)) < 0.3*0.2 && math.Abs(float64(a.Heading.Diff(b.Heading))) < 0.05
	f := footing{variety: q.Variety, lead: q.Lead, movement: q.Movement, still: still}
	f.figuresAt(p.MovementByNumber(q.Movement), arena.Metres(b.PlanM))
	return f
}

// limb is one leg in a stride: side (1 left), hind or fore, when in the stride it is put down and
// for what share of the stride it stands.
type limb struct {
	side, fore  float64
	begin, duty float64
}

// limbsOf is the order of footfall: walk in four beats, hind before fore on each side; trot and
// rein-back in diagonal pairs with a short suspension; canter hind, diagonal pair, leading fore.
// Shares of stance are assumptions of the usual size.
func limbsOf(s Footfall) []limb {
	switch s.Pace {
	case gait.Walk:
		return []limb{{1, -1, 0, 0.62}, {1, 1, 0.21, 0.62}, {-1, -1, 0.5, 0.62}, {-1, 1, 0.71, 0.62}}
	case gait.Trot:
		return []limb{{1, -1, 0, 0.43}, {-1, 1, 0, 0.43}, {-1, -1, 0.5, 0.43}, {1, 1, 0.5, 0.43}}
	case gait.ReinBack:
		return []limb{{1, -1, 0, 0.55}, {-1, 1, 0, 0.55}, {-1, -1, 0.5, 0.55}, {1, 1, 0.5, 0.55}}
	}
	k := 1.0
	if s.Lead == rideplan.Right {
		k = -1
	}
	return []limb{{-k, -1, 0, 0.34}, {k, -1, 0.24, 0.34}, {-k, 1, 0.26, 0.34}, {k, 1, 0.46, 0.34}}
}

// push is what the legs do to the trunk at one instant: up, forward and left in g, and turning
// moments about the long, cross and upright axis in weights.
type push [6]float64

// pushAt sums the legs at a phase of the stride. Each leg bears a quarter of the weight over the
// stride, rising and falling as half a sine; it brakes first and drives then.
func pushAt(s Footfall, phase float64) (f push) {
	f[0] = -1
	for _, l := range limbsOf(s) {
		x := math.Mod(phase-l.begin+1, 1) / l.duty
		if x >= 1 {
			continue
		}
		w := 0.25 * math.Pi / (2 * l.duty) * math.Sin(math.Pi*x)
		drive := -0.15 * w * math.Cos(math.Pi*x)
		f[0] += w
		f[1] += drive
		f[2] -= 0.05 * l.side * w
		f[3] -= l.side * w
		f[4] += l.fore * w
		f[5] -= l.side * drive
	}
	return f
}

// MotionSensor states where a motion sensor sits and what it errs.
type MotionSensor struct {
	RateHz    float64 // 0 is 100
	Gyro      bool
	Place     string  // saddle, pocket, helmet or poll; "" is the pocket of a close-fitting pair of breeches
	Give      float64 // share of the trunk's motion that reaches it, 0 is that of the place
	NoiseMps2 float64 // 0 is that of the place
	NoiseRadS float64 // 0 is that of the place
	// Ahead is by how many seconds what the sensor is on turns before the way does, as heads do.
	Ahead gait.Seconds
}

// seat is what lies between the horse's trunk and the sensor. All figures are assumptions, argued as follows.
type seat struct {
	give, hz    float64 // share of the vertical and horizontal motion that passes, and below which rate
	turn        float64 // share of the trunk's turning about its axes
	nod         float64 // up and down of the horse's head beside the trunk's, m/s2, once at each step of a foreleg
	noise, gyro float64 // what the sensor's fastening adds, m/s2 and rad/s
}

// seats by place. A saddle lies on the trunk and passes all but its padding. A pocket is on the thigh: the
// rider's hip and seat give, the cloth shakes. A helmet is at the end of the spine, which softens what comes from
// the seat and keeps the head pointing forward. The poll is on the neck's end, which nods with the forelegs.
var seats = map[string]seat{
	"":       {give: 0.75, hz: seatHz, turn: 1, noise: 0.25, gyro: 0.04},
	"saddle": {give: 0.95, hz: 10, turn: 1, noise: 0.15, gyro: 0.02},
	"pocket": {give: 0.7, hz: 5, turn: 0.8, noise: 0.5, gyro: 0.12},
	"helmet": {give: 0.6, hz: 4, turn: 0.5, noise: 0.25, gyro: 0.06},
	"poll":   {give: 1, hz: 8, turn: 0.8, nod: 1.2, noise: 0.2, gyro: 0.04},
}

// settle fills in what is not stated.
func (s *MotionSensor) settle() seat {
	on, ok := seats[s.Place]
	if !ok {
		on = seats[""]
	}
	for _, d := range []struct {
		v    *float64
		than float64
	}{{&s.RateHz, 100}, {&s.Give, on.give}, {&s.NoiseMps2, on.noise}, {&s.NoiseRadS, on.gyro}} {
		if *d.v == 0 {
			*d.v = d.than
		}
	}
	return on
}

// nodAt is the head's own up and down at a phase of the stride: it falls as a foreleg takes weight.
func nodAt(s Footfall, phase float64) (up float64) {
	for _, l := range limbsOf(s) {
		if l.fore > 0 {
			up -= math.Sin(2*math.Pi*(phase-l.begin)) / 2
		}
	}
	return up
}

const (
	motionStep = 1 / 200.0 // s, of the mechanics
	seatHz     = 6         // a seat and the cloth pass what is slower
	bodyHz     = 2.4       // the trunk on its legs rolls, pitches and yaws about as fast (assumption)
	bodyDamp   = 0.5
)

// bodyGain turns moments into angles: trunks roll, pitch and yaw by 2 to 6 degrees (assumption).
var bodyGain = [3]float64{0.05, 0.06, 0.3}

// RecordMotion writes what the sensor would have felt: CSV of t_s, acceleration with gravity and
// turn rates, in the axes of a sensor at any angle. Its first line says that it is simulated.
func RecordMotion(tr Truth, legs Legs, s MotionSensor, seed uint64) []byte {
	on := s.settle()
	rng := rand.New(rand.NewPCG(seed, 0x6e50))
	axes := attitude(rng)
	var b strings.Builder
	b.WriteString("# simulated motion, not a recording\nt_s,ax_mps2,ay_mps2,az_mps2")
	if s.Gyro {
		b.WriteString(",gx_radps,gy_radps,gz_radps")
	}
	b.WriteByte('\n')
	var soft, soft2 [3]float64
	var angle, rate [3]float64
	pass := 1 - math.Exp(-2*math.Pi*on.hz*motionStep)
	end, next, k := float64(tr.Samples[len(tr.Samples)-1].T), 0.0, 0
	for t := 0.0; t < end; t += motionStep {
		for k+1 < len(legs) && float64(legs[k+1].T) <= t {
			k++
		}
		var f push
		nod := 0.0
		if k < len(legs) && t >= float64(legs[k].T) && t < float64(legs[k].T+legs[k].Duration) && (legs[k].Until == 0 || t < float64(legs[k].Until)) {
			phase := (t - float64(legs[k].T)) / float64(legs[k].Duration)
			f, nod = pushAt(legs[k], phase), on.nod*nodAt(legs[k], phase)
		}
		for c := range 3 {
			soft[c] += pass * (f[c] - soft[c])
			soft2[c] += pass * (soft[c] - soft2[c])
			w := 2 * math.Pi * bodyHz
			rate[c] += motionStep * (w*w*(bodyGain[c]*f[3+c]-angle[c]) - 2*bodyDamp*w*rate[c])
			angle[c] += motionStep * rate[c]
		}
		if t < next {
			continue
		}
		next += 1 / s.RateHz
		seen := gait.Seconds(t) + s.Ahead
		turn := float64(tr.At(seen+0.1).Heading.Diff(tr.At(seen-0.1).Heading)) / 0.2
		const g = 9.81
		a := [3]float64{s.Give*g*soft2[1] + g*angle[1], s.Give*g*soft2[2] - g*angle[0], g + s.Give*g*soft2[0] + nod}
		writeMotion(&b, t, axes, a, [3]float64{on.turn * rate[0], on.turn * rate[1], on.turn*rate[2] + turn}, s, rng)
	}
	return []byte(b.String())
}

func writeMotion(b *strings.Builder, t float64, axes [3][3]float64, a, w [3]float64, s MotionSensor, rng *rand.Rand) {
	fmt.Fprintf(b, "%.3f", t)
	for _, v := range []struct {
		x     [3]float64
		noise float64
		on    bool
	}{{a, s.NoiseMps2, true}, {w, s.NoiseRadS, s.Gyro}} {
		for r := 0; r < 3 && v.on; r++ {
			fmt.Fprintf(b, ",%.4f", axes[r][0]*v.x[0]+axes[r][1]*v.x[1]+axes[r][2]*v.x[2]+v.noise*rng.NormFloat64())
		}
	}
	b.WriteByte('\n')
}

// attitude is a random way in which the sensor's axes lie: forward, left, up in rows of its own.
func attitude(rng *rand.Rand) (m [3][3]float64) {
	a, b, c := 2*math.Pi*rng.Float64(), math.Acos(2*rng.Float64()-1), 2*math.Pi*rng.Float64()
	sa, ca := math.Sincos(a)
	sb, cb := math.Sincos(b)
	sc, cc := math.Sincos(c)
	return [3][3]float64{{ca*cc - sa*cb*sc, -ca*sc - sa*cb*cc, sa * sb}, {sa*cc + ca*cb*sc, -sa*sc + ca*cb*cc, -ca * sb}, {sb * sc, sb * cc, cb}}
}

// Tempo is the true strides a minute of the whole strides of a pace between two times, and the
// spread of those strides over their mean in per cent; ok is false with fewer than four.
func (l Legs) Tempo(p gait.Pace, from, to gait.Seconds) (perMinute, spreadPct float64, ok bool) {
	var n, sum, sq float64
	for _, s := range l {
		if s.Pace == p && s.T >= from && s.T+s.Duration <= to {
			d := float64(s.Duration)
			n, sum, sq = n+1, sum+d, sq+d*d
		}
	}
	if n < 4 {
		return 0, 0, false
	}
	mean := sum / n
	return 60 / mean, 100 * math.Sqrt(math.Max(0, sq/n-mean*mean)*n/(n-1)) / mean, true
}
