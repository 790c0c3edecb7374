package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/track"
)

// WanderModel says how the slow error moves.
type WanderModel string

// The wander models. Steps and walks are unlike what the estimator assumes, on purpose.
const (
	WanderOU    WanderModel = "ou"    // Ornstein-Uhlenbeck: SD for ever, forgotten over Tau
	WanderSteps WanderModel = "steps" // stays, then jumps to a new place, every Tau on average
	WanderWalk  WanderModel = "walk"  // random walk: anywhere within SD at first, another SD away after six minutes
)

// Sensor states a recorder's errors. The zero value records exactly, at 10 Hz.
type Sensor struct {
	WhiteSD      float64 // metres per axis, fix to fix
	WanderSD     float64 // metres per axis, slow
	WanderTau    gait.Seconds
	Wander       WanderModel // "" is ou
	RateHz       float64     // 0 is 10
	JitterS      gait.Seconds
	OutlierShare float64 // of the fixes
	OutlierM     float64 // how far they lie
	GapEvery     gait.Seconds
	GapS         gait.Seconds
	Heading      bool
	HeadingSDDeg float64
	// HeadingOffDeg is how far the tags or antennas are out of line with the horse: one
	// standard deviation, drawn once a ride.
	HeadingOffDeg float64
}

// Profile is the sensor that a recorder class declares, at its usual rate.
func Profile(class string) (Sensor, error) {
	c, err := track.ClassByName(class)
	if err != nil {
		return Sensor{}, err
	}
	s := Sensor{WhiteSD: c.WhiteSD, WanderSD: c.WanderSD, WanderTau: gait.Seconds(c.WanderTau), RateHz: 10, JitterS: 0.005}
	if class == track.ClassPhone || class == track.ClassUnknown {
		s.RateHz = 1
	}
	return s, nil
}

// fix is one recorded position in the arena frame.
type fix struct {
	t       float64
	p       arena.Point
	heading float64
}

// fixes draws what the sensor would have recorded of the ride.
func (s Sensor) fixes(tr Truth, seed uint64) []fix {
	rng := rand.New(rand.NewPCG(seed, 0xf1e1d))
	rate := s.RateHz
	if rate == 0 {
		rate = 10
	}
	x, y := s.slow(rng), s.slow(rng)
	end := float64(tr.Samples[len(tr.Samples)-1].T)
	var out []fix
	last, out0 := 0.0, 0.0
	if s.HeadingOffDeg > 0 {
		out0 = s.HeadingOffDeg * math.Pi / 180 * rand.New(rand.NewPCG(seed, 0x0ff)).NormFloat64()
	}
	for k := 0; ; k++ {
		t := float64(k)/rate + float64(s.JitterS)*rng.NormFloat64()
		if float64(k)/rate > end+1e-9 {
			return out
		}
		t = math.Max(t, last+1e-3)
		d := t - last
		at := tr.At(gait.Seconds(t))
		p := at.Point.Add(at.Heading.Unit().Mul(float64(tr.lever)))
		p = p.Add(arena.Point{X: x(d) + s.WhiteSD*rng.NormFloat64(), Y: y(d) + s.WhiteSD*rng.NormFloat64()})
		if s.OutlierShare > 0 && rng.Float64() < s.OutlierShare {
			p = p.Add(arena.Angle(2 * math.Pi * rng.Float64()).Unit().Mul(s.OutlierM * (0.5 + rng.Float64())))
		}
		h := float64(at.Heading) + out0 + s.HeadingSDDeg*math.Pi/180*rng.NormFloat64()
		last = t
		if s.GapEvery > 0 && math.Mod(t, float64(s.GapEvery)) > float64(s.GapEvery-s.GapS) {
			continue
		}
		out = append(out, fix{t, p, h})
	}
}

// slow returns one axis of the wander as a function of the time passed.
func (s Sensor) slow(rng *rand.Rand) func(d float64) float64 {
	tau := math.Max(float64(s.WanderTau), 1)
	if s.WanderSD == 0 {
		return func(float64) float64 { return 0 }
	}
	now := s.WanderSD * rng.NormFloat64()
	switch s.Wander {
	case WanderSteps:
		return func(d float64) float64 {
			if rng.Float64() < 1-math.Exp(-d/tau) {
				now = s.WanderSD * rng.NormFloat64()
			}
			return now
		}
	case WanderWalk:
		return func(d float64) float64 {
			now += s.WanderSD * math.Sqrt(d/360) * rng.NormFloat64()
			return now
		}
	}
	w := newWalk(rng, tau, s.WanderSD)
	return w.next
}

// Record writes the ride as the sensor would have recorded it, as a track CSV in the arena
// frame: t_s,x_m,y_m and heading_deg where the sensor has it. Its first line says that it is
// simulated.
func Record(tr Truth, s Sensor, seed uint64) []byte {
	var b strings.Builder
	b.WriteString("# simulated ride, not a recording\nt_s,x_m,y_m")
	if s.Heading {
		b.WriteString(",heading_deg")
	}
	b.WriteByte('\n')
	for _, f := range s.fixes(tr, seed) {
		fmt.Fprintf(&b, "%.3f,%.4f,%.4f", f.t, f.p.X, f.p.Y)
		if s.Heading {
			fmt.Fprintf(&b, ",%.2f", arena.Angle(f.heading).Norm().Deg())
		}
		b.WriteByte('\n')
	}
	return []byte(b.String())
}

// Ground is an invented place on the earth where an arena lies: A's place and the direction
// from A to C, in degrees clockwise from north.
type Ground struct {
	A         track.LatLon
	TowardsC  float64
	StartTime string // RFC 3339 without zone fraction, the clock of the first fix
}

// InventedGround is a place in the middle of the North Atlantic, where no arena is.
func InventedGround() Ground {
	return Ground{A: track.LatLon{LatDeg: 45.5, LonDeg: -30.25}, TowardsC: 63, StartTime: "2031-05-04T09:00:00Z"}
}

// LatLon returns where a point of the arena lies.
func (g Ground) LatLon(p arena.Point) track.LatLon {
	sin, cos := math.Sincos(g.TowardsC * math.Pi / 180)
	return track.NewPlane(g.A).FromLocal(track.Local{X: p.X*cos + p.Y*sin, Y: -p.X*sin + p.Y*cos})
}

// RecordLatLon writes the ride as a CSV of time,lat,lon (seconds from the start).
func RecordLatLon(tr Truth, s Sensor, g Ground, seed uint64) []byte {
	var b strings.Builder
	b.WriteString("# simulated ride at an invented place, not a recording\ntime,lat,lon\n")
	for _, f := range s.fixes(tr, seed) {
		q := g.LatLon(f.p)
		fmt.Fprintf(&b, "%.3f,%.9f,%.9f\n", f.t, q.LatDeg, q.LonDeg)
	}
	return []byte(b.String())
}

// ArenaFile writes the arena file that goes with RecordLatLon and RecordGPX, with the given
// letters surveyed exactly; none means all.
func ArenaFile(board *arena.Board, g Ground, letters ...string) []byte {
	if len(letters) == 0 {
		letters = board.Letters()
	}
	var b strings.Builder
	fmt.Fprintf(&b, "{\n \"width_m\": %g,\n \"length_m\": %g,\n \"letters\": {\n", float64(board.Width), float64(board.Length))
	for i, n := range letters {
		p, _ := board.Letter(n)
		q := g.LatLon(p)
		sep := ","
		if i == len(letters)-1 {
			sep = ""
		}
		fmt.Fprintf(&b, "  %q: {\"lat_deg\": %.9f, \"lon_deg\": %.9f}%s\n", n, q.LatDeg, q.LonDeg, sep)
	}
	b.WriteString(" }\n}\n")
	return []byte(b.String())
}
