package match_test

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/testkit"
	"ringcraft/internal/track"
)

// A trainer starts the recorder when the horse is led in and stops it when it is led out. This is
// such an hour: circles, the whole track, serpentines, diagonals, parts of the test and walk breaks, ridden
// from point to point by a rider who turns no tighter than the pace allows; nothing of it is known to the aligner.

type schoolPoint struct{ t, x, y float64 }

type schooling struct {
	p       *rideplan.Plan
	rng     *rand.Rand
	out     []schoolPoint
	heading float64
}

// ride goes through points at a speed, turning no tighter than 3 m.
func (s *schooling) ride(speed float64, pts ...arena.Point) {
	const dt = 0.1
	for _, to := range pts {
		for range 1200 {
			l := s.out[len(s.out)-1]
			dx, dy := float64(to.X)-l.x, float64(to.Y)-l.y
			if math.Hypot(dx, dy) < 1.5 {
				break
			}
			turn := math.Remainder(math.Atan2(dy, dx)-s.heading, 2*math.Pi)
			most := speed * dt / 3
			s.heading += math.Max(-most, math.Min(most, turn))
			s.out = append(s.out, schoolPoint{l.t + dt, l.x + speed*dt*math.Cos(s.heading), l.y + speed*dt*math.Sin(s.heading)})
		}
	}
}

func (s *schooling) stand(seconds float64) {
	for range int(10 * seconds) {
		l := s.out[len(s.out)-1]
		s.out = append(s.out, schoolPoint{l.t + 0.1, l.x, l.y})
	}
}

// school rides for about that many seconds more.
func (s *schooling) school(seconds float64) {
	w, l := float64(s.p.Board.Width)/2-1.5, float64(s.p.Board.Length)
	end := s.out[len(s.out)-1].t + seconds
	for s.out[len(s.out)-1].t < end {
		speed := []float64{1.6, 3.2, 3.2, 3.2, 5.0}[s.rng.IntN(5)]
		side := float64(1 - 2*s.rng.IntN(2))
		var pts []arena.Point
		switch s.rng.IntN(8) {
		case 0, 1: // circles
			r := 4 + 5*s.rng.Float64()
			cx, cy := side*(w-r), r+2+(l-2*r-4)*s.rng.Float64()
			for k := range 8 * (1 + s.rng.IntN(4)) {
				a := side * float64(k) * math.Pi / 4
				pts = append(pts, arena.Point{X: cx + side*r*math.Cos(a), Y: cy + r*math.Sin(a)})
			}
		case 2, 3: // the whole track
			for range 1 + s.rng.IntN(2) {
				pts = append(pts, arena.Point{X: side * w, Y: 4}, arena.Point{X: side * w, Y: l - 4}, arena.Point{X: -side * w, Y: l - 3}, arena.Point{X: -side * w, Y: 4})
			}
		case 4: // a serpentine
			n := 3 + s.rng.IntN(3)
			for k := range n {
				x := side * w
				if k%2 == 1 {
					x = -x
				}
				y := l * (float64(k) + 0.5) / float64(n)
				pts = append(pts, arena.Point{X: x, Y: y - 3}, arena.Point{X: x, Y: y + 3})
			}
		case 5: // a diagonal
			pts = append(pts, arena.Point{X: side * w, Y: 6}, arena.Point{X: -side * w, Y: l - 6})
		case 6: // a part of the test
			from := s.rng.IntN(len(s.p.Samples) * 3 / 4)
			m := float64(s.p.Samples[from].M)
			for k := range 10 + s.rng.IntN(30) {
				pts = append(pts, s.p.SampleAtM(arena.Metres(m+4*float64(k))).Point)
			}
		case 7: // a break
			if s.rng.IntN(2) == 0 {
				s.stand(10 + 50*s.rng.Float64())
			}
			speed = 1.5
			for range 4 {
				pts = append(pts, arena.Point{X: w * (2*s.rng.Float64() - 1), Y: 3 + (l-6)*s.rng.Float64()})
			}
		}
		s.ride(speed, pts...)
	}
}

// test rides the sheet and returns when it began and ended.
func (s *schooling) test(seed uint64) (from, to float64) {
	tr := sim.Ride(s.p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.2, Speed: 0.04}}, seed)
	first := tr.Samples[0].Point
	s.ride(3, first.Sub(arena.Point{Y: 14}), first.Sub(arena.Point{Y: 3}))
	from = s.out[len(s.out)-1].t + 1
	for _, x := range tr.Samples {
		s.out = append(s.out, schoolPoint{from + float64(x.T), float64(x.X), float64(x.Y)})
	}
	s.heading = math.Pi / 2
	return from, s.out[len(s.out)-1].t
}

// earthly is where the arena lies on the earth, turned somehow.
type earthly struct{ north, east, sin, cos float64 }

const lat0, lon0 = 51.3, 9.5

func (s *schooling) earth() earthly {
	sin, cos := math.Sincos(2 * math.Pi * s.rng.Float64())
	e2, phi := 0.00669437999, lat0*math.Pi/180
	q := 1 - e2*math.Sin(phi)*math.Sin(phi)
	return earthly{6378137 * (1 - e2) / math.Pow(q, 1.5), 6378137 / math.Sqrt(q) * math.Cos(phi), sin, cos}
}

func (e earthly) at(x, y float64) (lat, lon float64) {
	return lat0 + (e.sin*x+e.cos*y)/e.north*180/math.Pi, lon0 + (e.cos*x-e.sin*y)/e.east*180/math.Pi
}

// record writes a recording in a form (csv, gpx, fit: latitude and longitude; arena: metres) at a rate, with
// white and wandering error.
func (s *schooling) record(t testing.TB, form string, e earthly, hz, white, wander, tau float64) []byte {
	var ts, xs, ys []float64
	var wx, wy float64
	step := 1 / hz
	keep := math.Exp(-step / tau)
	wx, wy = wander*s.rng.NormFloat64(), wander*s.rng.NormFloat64()
	k := 0
	for t := 0.0; t < s.out[len(s.out)-1].t; t += step {
		for k+1 < len(s.out) && s.out[k+1].t <= t {
			k++
		}
		g := wander * math.Sqrt(1-keep*keep)
		wx, wy = keep*wx+g*s.rng.NormFloat64(), keep*wy+g*s.rng.NormFloat64()
		x, y := s.out[k].x+wx+white*s.rng.NormFloat64(), s.out[k].y+wy+white*s.rng.NormFloat64()
		ts, xs, ys = append(ts, t), append(xs, x), append(ys, y)
	}
	return written(t, form, e, ts, xs, ys)
}

// written writes positions in a form.
func written(t testing.TB, form string, e earthly, ts, xs, ys []float64) []byte {
	begun := time.Date(2026, 5, 2, 9, 30, 0, 0, time.UTC)
	var b bytes.Buffer
	f := &proto.FIT{Messages: []proto.Message{mesgdef.NewFileId(nil).SetType(typedef.FileActivity).SetTimeCreated(begun).ToMesg(nil)}}
	b.WriteString(map[string]string{"csv": "time,lat,lon\n", "arena": "t_s,x_m,y_m\n",
		"gpx": `<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`}[form])
	for i, at := range ts {
		lat, lon := e.at(xs[i], ys[i])
		when := begun.Add(time.Duration(at * float64(time.Second)))
		switch form {
		case "csv":
			fmt.Fprintf(&b, "%.2f,%.9f,%.9f\n", at, lat, lon)
		case "arena":
			fmt.Fprintf(&b, "%.2f,%.3f,%.3f\n", at, xs[i], ys[i])
		case "gpx":
			fmt.Fprintf(&b, `<trkpt lat="%.7f" lon="%.7f"><time>%s</time></trkpt>`, lat, lon, when.Format("2006-01-02T15:04:05.00Z07:00"))
		case "fit": // times of whole seconds
			f.Messages = append(f.Messages, mesgdef.NewRecord(nil).SetTimestamp(when).SetPositionLatDegrees(lat).SetPositionLongDegrees(lon).ToMesg(nil))
		}
	}
	switch form {
	case "gpx":
		b.WriteString("</trkseg></trk></gpx>")
	case "fit":
		if err := encoder.New(&b).Encode(f); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

// survey is an arena file of two letters, each as far off as the recorder's slow error: stood at for a moment.
func (s *schooling) survey(t testing.TB, e earthly, sd float64) *match.Survey {
	b := s.p.Board
	read := func(x, y float64) string {
		lat, lon := e.at(x+sd*s.rng.NormFloat64(), y+sd*s.rng.NormFloat64())
		return fmt.Sprintf(`{"lat_deg":%.9f,"lon_deg":%.9f}`, lat, lon)
	}
	text := fmt.Sprintf(`{"width_m":%g,"length_m":%g,"letters":{"A":%s,"C":%s}}`, float64(b.Width), float64(b.Length), read(0, 0), read(0, float64(b.Length)))
	out, err := match.ReadArena("arena.json", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

type schoolClass struct {
	name              string
	hz, white, wander float64
	tau               float64
}

// schoolWay is how a lesson is recorded and placed.
type schoolWay struct {
	form    string // of the file
	letters bool   // two surveyed ones
	twice   bool   // the test is ridden twice, ten minutes apart
	named   bool   // the minutes are said
}

func schoolSheets(t testing.TB) []*rideplan.Plan {
	var out []*rideplan.Plan
	for _, pattern := range []string{"*.sheet", "published/*.sheet"} {
		files, err := filepath.Glob(filepath.Join(testkit.Root(t), "sheets", pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			text, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			if p := rideplan.CompileText(filepath.Base(f), string(text), rideplan.Options{}); p.Total >= 200 && p.Total < 480 {
				out = append(out, p)
			}
		}
	}
	return out
}

// TestSchoolingHour: what a whole recording of a lesson gives without surveyed letters: the ride that was
// ridden, or a refusal in words, and never another stretch. RINGCRAFT_SCHOOLING is how many of each, RINGCRAFT_MINUTES how long,
// RINGCRAFT_CLASS which recorder; RINGCRAFT_FORM is the file's form (csv, gpx, fit, arena), RINGCRAFT_LETTERS surveys two letters,
// RINGCRAFT_TWICE rides the test twice, RINGCRAFT_NAMED says the minutes (1) or not (0).
func TestSchoolingHour(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("RINGCRAFT_SCHOOLING"))
	minutes := []float64{20, 40, 60, 90}
	if m, err := strconv.ParseFloat(os.Getenv("RINGCRAFT_MINUTES"), 64); err == nil {
		minutes = []float64{m}
	}
	way := schoolWay{form: cmp.Or(os.Getenv("RINGCRAFT_FORM"), "csv"), letters: os.Getenv("RINGCRAFT_LETTERS") != "", twice: os.Getenv("RINGCRAFT_TWICE") != ""}
	named := []bool{false, true}
	if v, err := strconv.ParseBool(os.Getenv("RINGCRAFT_NAMED")); err == nil {
		named = []bool{v}
	}
	if n == 0 {
		n, minutes, named = 1, []float64{20}, named[:1]
	}
	sheets := schoolSheets(t)
	for _, c := range []schoolClass{{"rtk", 5, 0.02, 0.03, 120}, {"sport", 10, 0.3, 0.8, 120}, {"phone", 1, 0.5, 3, 180}} {
		if only := os.Getenv("RINGCRAFT_CLASS"); only != "" && only != c.name {
			continue
		}
		if way.form == "fit" {
			c.hz = 1
		}
		for _, m := range minutes {
			for _, way.named = range named {
				right, refused, wrong := 0, 0, 0
				for i := range n {
					p := sheets[(i*7+int(m))%len(sheets)]
					switch schoolOne(t, p, c, m, way, uint64(100*i)+uint64(m)) {
					case "right":
						right++
					case "wrong":
						wrong++
					default:
						refused++
					}
				}
				t.Logf("%s, %.0f min, %+v: %d right, %d refused, %d wrong", c.name, m, way, right, refused, wrong)
				if wrong > 0 {
					t.Errorf("%s, %.0f min, %+v: %d wrong", c.name, m, way, wrong)
				}
			}
		}
	}
}

// schoolOne rides one lesson and says what was made of it.
func schoolOne(t *testing.T, p *rideplan.Plan, c schoolClass, minutes float64, way schoolWay, seed uint64) string {
	s := &schooling{p: p, rng: rand.New(rand.NewPCG(seed, 77)), out: []schoolPoint{{0, 0, 2}}, heading: math.Pi / 2}
	spare := minutes*60 - float64(p.Total)
	if way.twice {
		spare -= float64(p.Total) + 600
	}
	s.school(spare * (0.5 + 0.3*s.rng.Float64()))
	if way.twice {
		s.test(seed + 1)
		s.school(600)
	}
	from, to := s.test(seed)
	s.school(minutes*60 - to)
	last := s.out[slices.IndexFunc(s.out, func(p schoolPoint) bool { return p.t >= to })]
	stood := to
	for _, p := range s.out { // who goes on standing where they saluted is still at the salute, to whoever sees them
		if p.t > stood && p.t < stood+0.3 && p.x == last.x && p.y == last.y {
			stood = p.t
		}
	}
	e := s.earth()
	rec := imported(t, s.record(t, way.form, e, c.hz, c.white, c.wander, c.tau))
	o := match.Options{Class: c.name}
	if way.letters {
		o.Survey = s.survey(t, e, c.wander)
	}
	if way.named { // as one remembers it: a minute or two off
		part := track.Part{From: track.Seconds(from - 30 - 90*s.rng.Float64()), To: track.Seconds(to + 30 + 90*s.rng.Float64()), HasFrom: true, HasTo: true}
		var err error
		if rec, err = part.Cut(rec); err != nil {
			t.Fatal(err)
		}
	}
	r, err := match.Align(context.Background(), p, rec, o)
	if err != nil {
		t.Logf("%s, %s %.0f min, named %v: %v", p.Name, c.name, minutes, way.named, err)
		return "refused"
	}
	a, z := float64(r.Spans[0].Start), float64(r.Spans[len(r.Spans)-1].End)
	if math.Abs(a-from) > 15 || z < to-20 || z > stood+20 {
		t.Logf("%s, %s %.0f min, named %v: %d of %d spans from %.0f to %.0f s, ridden from %.0f to %.0f s", p.Name, c.name, minutes, way.named, len(r.Spans), len(p.Movements), a, z, from, to)
		return "wrong"
	}
	// half a turn wrong: fixes of the ride near the middle must lie on the truth
	at := 0.5 * (from + to)
	k := 0
	for k+1 < len(s.out) && s.out[k].t < at {
		k++
	}
	for _, f := range r.Fixes {
		if math.Abs(float64(f.T)-at) < 0.6/c.hz {
			if d := math.Hypot(float64(f.X)-s.out[k].x, float64(f.Y)-s.out[k].y); d > 6+4*c.wander {
				t.Logf("%s, %s %.0f min, named %v: %.0f m off", p.Name, c.name, minutes, way.named, d)
				return "wrong"
			}
		}
	}
	return "right"
}
