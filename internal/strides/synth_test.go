package strides

import (
	"math"
	"math/rand/v2"

	"ringcraft/internal/gait"
	"ringcraft/internal/track"
)

// A simulator of what a sensor on the rider feels, argued from published figures (the project's
// facts, science 1.1 and 1.3) and plain mechanics. It knows nothing of the detector.
//
// The trunk moves up and down twice a stride in trot (range 5 to 9 cm, less than at the withers
// because the seat gives), once in canter (10 to 14 cm), twice and unequally in walk (2 to 5 cm). It sways
// to the side once a stride, goes fore and aft twice a stride in walk and trot and once in canter; it
// rolls and yaws once a stride; in canter it pitches, and the sway, roll and yaw are mirrored between
// the leads. Stride times vary from stride to stride, sizes too. In rising trot the rider goes up
// and down once a stride on top, on one diagonal on the left rein and on the other on the right. The sensor sits at any angle, slips slowly, and has noise.

type act struct {
	pace   gait.Pace
	lead   string
	dur    float64
	hz     float64 // strides a second
	turn   float64 // rad/s, left positive
	rising bool
}

// horse is one pair with its sensor.
type horse struct {
	size, cv           float64
	sound              float64 // share by which the second beat of the trot is smaller
	noise, gyroNoise   float64
	axes               [3][3]float64
	slip               float64 // rad, size of the slow turning of the sensor
	walkHz             float64
	trotHz, canterHz   float64
	damp               float64 // of all frequencies above the stride (soft seat, pocket)
	swayPhase, yawSign float64
}

func newHorse(rng *rand.Rand) horse {
	u := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	return horse{size: u(0.75, 1.3), cv: u(0.015, 0.045), noise: u(0.1, 0.4), gyroNoise: u(0.02, 0.08), axes: rotation(rng), slip: u(0, 0.25),
		walkHz: u(0.87, 0.97), trotHz: u(1.25, 1.42), canterHz: u(1.55, 1.75), damp: u(0.6, 1), swayPhase: u(-0.6, 0.6), yawSign: []float64{-1, 1}[rng.IntN(2)]}
}

// rotation is a random attitude of the sensor.
func rotation(rng *rand.Rand) (r [3][3]float64) {
	q := [4]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
	n := math.Sqrt(q[0]*q[0] + q[1]*q[1] + q[2]*q[2] + q[3]*q[3])
	w, x, y, z := q[0]/n, q[1]/n, q[2]/n, q[3]/n
	return [3][3]float64{{1 - 2*(y*y+z*z), 2 * (x*y - w*z), 2 * (x*z + w*y)}, {2 * (x*y + w*z), 1 - 2*(x*x+z*z), 2 * (y*z - w*x)}, {2 * (x*z - w*y), 2 * (y*z + w*x), 1 - 2*(x*x+y*y)}}
}

type truthStride struct {
	t, d float64
	pace gait.Pace
}

type truth struct {
	acts    []act
	edges   []float64 // start of each act, and the end
	strides []truthStride
}

func (tr truth) at(t float64) act {
	for i := range tr.acts {
		if t < tr.edges[i+1] {
			return tr.acts[i]
		}
	}
	return tr.acts[len(tr.acts)-1]
}

// component is an oscillation of one motion: harmonic of the stride, size and phase.
type component struct {
	harmonic, size, phase float64
}

// motions of the trunk: up, side (left), fore (m); roll, pitch, yaw (rad).
func (h horse) motions(a act, rng *rand.Rand) (m [6][]component) {
	z := h.size
	switch a.pace {
	case gait.Walk:
		m[0] = []component{{2, 0.012 * z, 0}, {1, 0.005 * z, 1}, {4, 0.0015 * z, 2}}
		m[1] = []component{{1, 0.02 * z, 0.5 + h.swayPhase}}
		m[2] = []component{{2, 0.012 * z, 1.5}}
		m[3], m[5] = []component{{1, 0.06 * z, 0.8}}, []component{{1, 0.05 * z, 1.1}}
	case gait.Trot:
		if a.hz < 1.05 { // passage: as large as trot or larger (science 1.3), over a longer time
			z *= 1.5
		}
		m[0] = []component{{2, 0.032 * z, 0}, {4, 0.003 * z * h.damp, 1}, {1, 0.032 * z * h.sound, -0.8}}
		m[1] = []component{{1, 0.014 * z, 0.4 + h.swayPhase}}
		m[2] = []component{{2, 0.010 * z, 2}}
		m[3], m[5] = []component{{1, 0.05 * z, 0.9}}, []component{{1, 0.03 * z, 1.4}}
	case gait.Canter:
		side := 1.0
		if a.lead == LeadRight {
			side = -1
		}
		m[0] = []component{{1, 0.055 * z, 0}, {2, 0.008 * z * h.damp, 1.2}, {3, 0.0015 * z * h.damp, 0.5}}
		m[1] = []component{{1, 0.018 * z * side, 0.7 + h.swayPhase}}
		m[2] = []component{{1, 0.035 * z, 1.6}, {2, 0.006 * z, 0.3}}
		m[3], m[5] = []component{{1, 0.06 * z * side, 0.5}, {1, 0.02, 2}}, []component{{1, 0.04 * z * side * h.yawSign, 1}, {1, 0.012, 0.2}}
		m[4] = []component{{1, 0.09 * z, 1.1}}
	}
	return m
}

// ride draws the acts and samples the sensor at hz for as long as they last.
func (h horse) ride(acts []act, hz float64, rng *rand.Rand, gyro bool) (*track.Track, truth) {
	const fine = 200.0
	tr := truth{acts: acts, edges: []float64{0}}
	for _, a := range acts {
		tr.edges = append(tr.edges, tr.edges[len(tr.edges)-1]+a.dur)
	}
	n := int(tr.edges[len(acts)] * fine)
	var pos [6][]float64
	for c := range pos {
		pos[c] = make([]float64, n)
	}
	for k := 0; k < len(acts); {
		j := k + 1
		for j < len(acts) && acts[j].pace == acts[k].pace && acts[j].lead == acts[k].lead {
			j++
		}
		h.trunk(k, j, &tr, &pos, fine, rng)
		k = j
	}
	return h.sense(pos, tr, fine, hz, rng, gyro), tr
}

// trunk adds the motion of acts k to j-1, which are of one pace, faded in and out over 0.4 s so that
// paces give way to each other; the stride goes on through them.
func (h horse) trunk(k, j int, tr *truth, pos *[6][]float64, fine float64, rng *rand.Rand) {
	a := tr.acts[k]
	from, to := tr.edges[k], tr.edges[j]
	n := len(pos[0])
	if a.pace == gait.Halt {
		return
	}
	m := h.motions(a, rng)
	phase, size := 0.0, 1.0
	period := 1 / a.hz
	start := from - 0.2
	tr.strides = append(tr.strides, truthStride{start, period, a.pace})
	for i := max(0, int(start*fine)); i < min(n, int((to+0.2)*fine)); i++ {
		t := float64(i) / fine
		phase += 1 / (period * fine)
		if phase >= 1 {
			phase--
			period = (1 + h.cv*clampNormal(rng)) / tr.at(math.Min(t, to-0.01)).hz
			tr.strides = append(tr.strides, truthStride{t, period, a.pace})
			size = 1 + 0.07*clampNormal(rng)
		}
		fade := math.Min(1, math.Max(0, (t-from+0.2)/0.4)) * math.Min(1, math.Max(0, (to+0.2-t)/0.4))
		if a.rising { // on the outside diagonal: the rider changes it with the rein
			now := 2 * math.Pi * phase
			if tr.at(t).turn < 0 {
				now += math.Pi
			}
			pos[0][i] += fade * 0.035 * math.Sin(now+2.2)
			pos[2][i] += fade * 0.03 * math.Sin(now+0.4)
		}
		for c := range m {
			for _, w := range m[c] {
				pos[c][i] += fade * size * w.size * math.Sin(2*math.Pi*w.harmonic*phase+w.phase)
			}
		}
	}
}

func clampNormal(rng *rand.Rand) float64 { return math.Max(-2.5, math.Min(2.5, rng.NormFloat64())) }

// sense turns the trunk's motion into what the sensor reads.
func (h horse) sense(pos [6][]float64, tr truth, fine, hz float64, rng *rand.Rand, gyro bool) *track.Track {
	n := len(pos[0])
	for c := range pos { // the seat and the cloth take the steps of the stride changes away
		pos[c] = blur(blur(pos[c], 3), 3)
	}
	second := func(x []float64, i int) float64 { return (x[i+1] - 2*x[i] + x[i-1]) * fine * fine }
	first := func(x []float64, i int) float64 { return (x[i+1] - x[i-1]) * fine / 2 }
	t := &track.Track{Frame: track.FrameLocal, HasGyro: gyro}
	for k := 0; ; k++ {
		at := (float64(k) + 0.2*rng.Float64()) / hz
		i := int(at * fine)
		if i >= n-2 {
			return t
		}
		if i < 1 {
			continue
		}
		fidget := 0.05 * math.Sin(2*math.Pi*0.4*at)
		a := [3]float64{second(pos[2], i) + fidget, second(pos[1], i), second(pos[0], i) + 9.81}
		w := [3]float64{first(pos[3], i), first(pos[4], i), first(pos[5], i) + tr.at(at).turn}
		// the trunk's roll and pitch tip gravity into the sensor
		a[1] -= 9.81 * pos[3][i]
		a[0] += 9.81 * pos[4][i]
		slip := h.slip * math.Sin(2*math.Pi*at/90)
		a, w = tip(a, slip), tip(w, slip)
		m := track.Motion{T: Seconds(at)}
		out := [6]*float64{&m.AccX, &m.AccY, &m.AccZ, &m.GyrX, &m.GyrY, &m.GyrZ}
		for r := range 3 {
			*out[r] = dot(h.axes[r], a) + h.noise*rng.NormFloat64()
			if gyro {
				*out[3+r] = dot(h.axes[r], w) + h.gyroNoise*rng.NormFloat64()
			}
		}
		t.Motion = append(t.Motion, m)
	}
}

func tip(a [3]float64, by float64) [3]float64 {
	s, c := math.Sincos(by)
	return [3]float64{c*a[0] + s*a[2], a[1], -s*a[0] + c*a[2]}
}

func blur(x []float64, reach int) []float64 {
	y := make([]float64, len(x))
	sum := 0.0
	for i := -reach; i < len(x); i++ {
		if i+reach < len(x) {
			sum += x[i+reach]
		}
		if i-reach-1 >= 0 {
			sum -= x[i-reach-1]
		}
		if i >= 0 {
			y[i] = sum / float64(2*reach+1)
		}
	}
	return y
}

// test ride: the paces of a test in an order of chance, with turns to both sides.
func (h horse) testRide(rng *rand.Rand) []act {
	var a []act
	u := func(x, y float64) float64 { return x + (y-x)*rng.Float64() }
	turn := func() float64 {
		return []float64{0, 0.35, -0.35, 0.6, -0.6}[rng.IntN(5)]
	}
	rising := rng.IntN(2) == 0
	move := func(p gait.Pace, lead string, secs, hz, turn float64) {
		a = append(a, act{pace: p, lead: lead, dur: secs, hz: hz, turn: turn, rising: rising && p == gait.Trot})
	}
	canter := func(lead string) {
		side := 1.0
		if lead == LeadRight {
			side = -1
		}
		for range 2 {
			move(gait.Canter, lead, u(3, 6), h.canterHz*u(0.98, 1.02), 0)
			move(gait.Canter, lead, u(5, 8), h.canterHz*u(0.98, 1.02), side*0.4)
		}
	}
	move(gait.Trot, "", u(6, 12), h.trotHz, 0)
	move(gait.Halt, "", u(3, 6), 0, 0)
	for range 2 {
		for range 3 {
			move(gait.Trot, "", u(4, 12), h.trotHz*u(0.96, 1.05), turn())
		}
		move(gait.Walk, "", u(8, 20), h.walkHz*u(0.95, 1.05), turn())
		move(gait.Trot, "", u(4, 8), h.trotHz, turn())
		canter(LeadLeft)
		move(gait.Trot, "", u(4, 8), h.trotHz, turn())
		canter(LeadRight)
	}
	move(gait.Canter, LeadRight, u(6, 9), h.canterHz, 0.4) // counter-canter
	move(gait.Trot, "", u(4, 10), h.trotHz, turn())
	if rng.IntN(2) == 0 {
		move(gait.Trot, "", u(6, 10), u(0.92, 0.97), 0) // passage
		move(gait.Trot, "", u(4, 8), h.trotHz, 0)
	}
	move(gait.Halt, "", u(4, 6), 0, 0)
	return a
}
