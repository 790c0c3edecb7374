package track_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// sheets of the rides on which clocks are matched.
var clockSheets = []string{`name: Juniper Field 8
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
2    C      Track left
3    A      Collected canter left
4    B      Circle left 20 m
5    HXF    Change the rein
     X      Simple change
6    E      Circle right 20 m
7    MXK    Change the rein
     X      Flying change
8    B      Circle left 15 m
9    C      Halt, rein-back 4 steps. Proceed in collected trot
10   E      Circle left 10 m
11   B      Medium walk
12   C      Working trot
13   A      Down the centre line
     X      Halt, salute
`, `name: Willow Ford 3
arena: 20 x 40
1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    E      Circle left 20 m
4    A      Medium walk
5    B      Working trot
6    HXF    Change the rein
7    A      Working canter right
8    E      Circle right 20 m
9    C      Working trot
10   A      Down the centre line
     X      Halt, salute
`}

// clockCase is one way in which two devices recorded a ride.
type clockCase struct {
	name, class, place string
	hz                 float64 // of the positions
	gyro               bool
	offset             float64 // s by which the motion's clock is behind
	before, cut        float64 // s of other riding before the ride in the motion, and s of it that are not there at its end
	late               float64 // s of the ride that had gone before the motion began
	drift              float64
}

// clockOther says whose motion it is.
type clockOther int

const (
	ownRide    clockOther = iota
	likeRide              // another ride of the same sheet
	otherSheet            // a ride of another sheet
)

// clockRide makes the two recordings; what is to be added to the motion's times is returned with them.
func clockRide(t *testing.T, c clockCase, seed uint64, other clockOther) (pos, motion *track.Track, shift float64) {
	t.Helper()
	p := clockPlan(t, int(seed)%len(clockSheets))
	wobble := sim.Faults{Wobble: sim.Wobble{LineSD: 0.15, LineM: 8, Speed: 0.02}}
	tr := sim.Ride(p, wobble, seed)
	s, err := sim.Profile(c.class)
	if err != nil {
		t.Fatal(err)
	}
	s.RateHz = c.hz
	pos = clockImport(t, sim.Record(tr, s, seed))
	sensor := sim.MotionSensor{RateHz: 50, Gyro: c.gyro, Place: c.place}
	felt := tr
	if other != ownRide {
		wobble.Wobble.Speed = 0.05
		p = clockPlan(t, (int(seed)+int(other)-1)%len(clockSheets))
		felt = sim.Ride(p, wobble, seed+7000)
	}
	ride := clockImport(t, sim.RecordMotion(felt, felt.Legs(p, sim.Going{}, seed), sensor, seed))
	motion = &track.Track{Format: ride.Format, Frame: ride.Frame, HasGyro: ride.HasGyro}
	if c.before > 0 {
		q := clockPlan(t, int(seed+1)%len(clockSheets))
		up := sim.Ride(q, wobble, seed+9000)
		warm := clockImport(t, sim.RecordMotion(up, up.Legs(q, sim.Going{}, seed+9000), sensor, seed))
		for at := -c.before; at < -1; { // ridden over and over until the ride begins
			last := at
			for _, m := range warm.Motion {
				if m.T += track.Seconds(at); m.T < -0.5 {
					motion.Motion = append(motion.Motion, m)
				}
				last = float64(m.T)
			}
			at = last + 1
		}
	}
	end := float64(ride.Motion[len(ride.Motion)-1].T) - c.cut
	for _, m := range ride.Motion {
		if float64(m.T) >= c.late && float64(m.T) <= end {
			motion.Motion = append(motion.Motion, m)
		}
	}
	for i := range motion.Motion {
		m := &motion.Motion[i]
		m.T = track.Seconds(float64(m.T)*(1-c.drift) - c.offset)
	}
	return pos, motion, c.offset
}

func clockPlan(t *testing.T, k int) *rideplan.Plan {
	t.Helper()
	p := rideplan.CompileText("sheet.txt", clockSheets[k], rideplan.Options{})
	if len(p.Samples) < 100 {
		t.Fatal(p.Problems)
	}
	return p
}

func clockImport(t *testing.T, b []byte) *track.Track {
	t.Helper()
	x, err := track.Import(bytes.NewReader(b), track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// clockCount is what came of rides of one case.
type clockCount struct {
	rides, found, wrong, within int
	sq, sd                      float64
}

// clockTrial joins one ride and counts what was found.
func (n *clockCount) trial(t *testing.T, c clockCase, seed uint64, other clockOther) {
	pos, motion, shift := clockRide(t, c, seed, other)
	both, err := track.Join(pos, motion, nil)
	n.rides++
	if err != nil || strings.Contains(strings.Join(both.Notes, "|"), "same instant") {
		return
	}
	n.found++
	k := len(motion.Motion) / 2
	miss := float64(both.Motion[k].T-motion.Motion[k].T) - shift - c.drift*float64(motion.Motion[k].T)
	sd := float64(both.ClockSD)
	n.sq, n.sd = n.sq+miss*miss, n.sd+sd
	if math.Abs(miss) <= 2*sd {
		n.within++
	}
	if other == otherSheet || math.Abs(miss) > 1 {
		n.wrong++
		t.Logf("%s, ride %d: off by %.2f s, sd %.2f; %s", c.name, seed, miss, sd, both.Notes[len(both.Notes)-1])
	}
}

func (n clockCount) String() string {
	f := math.Max(1, float64(n.found))
	return fmt.Sprintf("%d | %d | %d | %.2f | %.2f | %.0f %%", n.rides, n.found, n.wrong, math.Sqrt(n.sq/f), n.sd/f, 100*float64(n.within)/f)
}

func clockCases() (out []clockCase) {
	for _, place := range []string{"pocket", "helmet", "saddle"} {
		for _, dev := range []clockCase{{class: "sport", hz: 10}, {class: "sport", hz: 5}, {class: "sport", hz: 1}, {class: "phone", hz: 1}} {
			c := dev
			c.place, c.gyro = place, true
			c.name = fmt.Sprintf("%s %g Hz, %s", c.class, c.hz, place)
			out = append(out, c)
		}
	}
	return out
}

// clockWays are offsets and lengths, gone through by the rides of a case.
var clockWays = []clockCase{
	{}, {offset: 3.7}, {offset: -3.7}, {offset: 40}, {offset: -40}, {offset: 600}, {offset: -600},
	{before: 600}, {late: 60}, {before: 600, cut: 90}, {cut: 120, offset: 12.3}, {late: 100, cut: 60, offset: -7.7},
}

// TestClocksMatched: two devices with clocks of their own on simulated rides. RINGCRAFT_CLOCKS rides of
// each case are made (a few in the everyday test); none may be put wrong.
func TestClocksMatched(t *testing.T) {
	n := 1
	if k, err := strconv.Atoi(os.Getenv("RINGCRAFT_CLOCKS")); err == nil {
		n = k
	}
	seed := uint64(100)
	for i, c := range clockCases() {
		var right, like, other clockCount
		for k := range n {
			way := clockWays[(i+k)%len(clockWays)]
			c.offset, c.before, c.late, c.cut = way.offset, way.before, way.late, way.cut
			seed++
			right.trial(t, c, seed, ownRide)
			like.trial(t, c, seed, likeRide)
			other.trial(t, c, seed, otherSheet)
		}
		t.Logf("| %s | %v | %d | %d |", c.name, right, like.found, other.found)
		if right.wrong+other.wrong > 0 {
			t.Errorf("%s: %d of %d put wrong, %d of another sheet taken", c.name, right.wrong, right.rides, other.wrong)
		}
	}
}

// TestClocksRunApart: over an hour a clock that runs 100 ppm fast is put right.
func TestClocksRunApart(t *testing.T) {
	const length, offset, drift = 3600.0, 25.0, 100e-6
	rng := rand.New(rand.NewPCG(5, 5))
	pos := &track.Track{Format: "csv", Frame: track.FrameArena}
	motion := &track.Track{Format: "csv", HasGyro: true}
	var x, y, course, turn, asked float64
	for k := 0; k < int(length*50); k++ {
		if k%300 == 0 {
			asked = []float64{0, 0, 0.4, -0.4, 0.8, -0.3}[rng.IntN(6)]
		}
		turn += 0.02 * (asked - turn)
		course += turn / 50
		x, y = x+3*math.Cos(course)/50, y+3*math.Sin(course)/50
		at := float64(k) / 50
		if k%10 == 0 {
			pos.Fixes = append(pos.Fixes, track.Fix{T: track.Seconds(at), P: track.Local{X: x + 0.3*rng.NormFloat64(), Y: y + 0.3*rng.NormFloat64()}})
		}
		motion.Motion = append(motion.Motion, track.Motion{T: track.Seconds((at - offset) * (1 + drift)), AccY: 9.8 + rng.NormFloat64(), AccX: rng.NormFloat64(), GyrY: turn + 0.1*rng.NormFloat64()})
	}
	both, err := track.Join(pos, motion, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range []int{0, len(both.Motion) / 2, len(both.Motion) - 1} {
		if miss := float64(both.Motion[k].T) - float64(k)/50; math.Abs(miss) > 0.1 {
			t.Errorf("at %.0f s the motion is off by %.2f s; %q", float64(k)/50, miss, both.Notes)
		}
	}
	if !strings.Contains(strings.Join(both.Notes, "|"), "run apart by 0.3") {
		t.Errorf("the notes do not tell: %q", both.Notes)
	}
	t.Log(both.Notes, float64(both.ClockSD))
}

// TestClocksOfDay: times of day that are 3 s apart are put right with a note, those that agree stay, and
// a ride of another day is no match however alike.
func TestClocksOfDay(t *testing.T) {
	for _, c := range []struct {
		start string
		at    float64 // of the first sample of the motion on the positions' clock
		note  string
		fails bool
	}{
		{"2026-05-02T09:30:00Z", 0, "", false},
		{"2026-05-02T09:30:03Z", 0, "3.0 s ahead of", false},
		{"2026-05-02T07:29:56Z", 0, "7204.0 s behind", false},
		{"2026-05-04T09:30:00Z", 0, "same ride", true},
	} {
		pos, motion, _ := clockRide(t, clockCase{class: "sport", place: "saddle", hz: 10, gyro: true}, 11, ownRide)
		pos.Start, motion.Start = "2026-05-02T09:30:00Z", c.start
		both, err := track.Join(pos, motion, nil)
		if c.fails {
			if err == nil || !strings.Contains(err.Error(), c.note) {
				t.Errorf("%s: %v", c.start, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if miss := float64(both.Motion[0].T) - c.at; math.Abs(miss) > 0.3 {
			t.Errorf("%s: off by %.2f s", c.start, miss)
		}
		if notes := strings.Join(both.Notes, "|"); c.note == "" && strings.Contains(notes, "clock of the motion") || !strings.Contains(notes, c.note) {
			t.Errorf("%s: notes %q", c.start, notes)
		}
	}
}
