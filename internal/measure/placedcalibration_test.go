package measure

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// TestCalibrationPlaced does the same for rides in latitude and longitude, placed by two
// letters surveyed with the recorder and by the ride itself, with recorders that err half, once and
// twice as declared and wander in three ways. RINGCRAFT_CALIBRATE prints.
func TestCalibrationPlaced(t *testing.T) {
	rides := 4
	n, err := strconv.Atoi(os.Getenv("RINGCRAFT_CALIBRATE"))
	full := err == nil && n > 0
	if full {
		rides = n
	}
	plans := []*rideplan.Plan{compiled(t, smallSheet), compiled(t, longSheet)}
	var conds []condition
	for _, c := range conditions() {
		if c.class == "rtk" || c.class == "sport" || c.class == "phone" { // those that write latitude and longitude
			conds = append(conds, c)
		}
	}
	rows := map[string]*tally{}
	for i := range rides {
		how := []string{"letters", "the ride itself"}[i%2]
		c, p := conds[i/2*7%len(conds)], plans[(i/2/len(conds)+i/2)%len(plans)]
		class := c.class
		seed := uint64(i) + firstSeed()
		rng := rand.New(rand.NewPCG(seed, 98))
		tr := sim.Ride(p, randomFaults(p, rng), seed)
		r, err := placedRide(t, p, tr, c.sensor(t), class, how, seed, rng)
		if err != nil {
			if how == "letters" {
				t.Errorf("ride %d, %s: %v", i, class, err)
			}
			continue // a refusal is no wrong number
		}
		for _, m := range compare(tr, Ride(p, r, Options{})) {
			for _, row := range []string{how + ", " + class, how + ", " + plain(m.What)} {
				if rows[row] == nil {
					rows[row] = &tally{}
				}
				rows[row].add(m)
			}
			if m.wrong() && os.Getenv("RINGCRAFT_WRONG") != "" {
				t.Logf("ride %d %s %s movement %d %s: %.3f ± %.3f, truth %.3f: %s (%s)", i, how, class, m.movement, m.What, *m.Value, *m.Sigma, m.truth, m.Verdict, m.LimitedBy)
			}
		}
	}
	if full {
		print(t, "placed by", rows)
	}
	for row, r := range rows {
		if r.judged > 100 && float64(r.wrong) > 0.02*float64(r.judged) {
			t.Errorf("%s: %d of %d verdicts wrong", row, r.wrong, r.judged)
		}
	}
}

// placedRide records a ride in latitude and longitude. Letters are surveyed with the errors
// that the recorder has when it is held still for a while.
func placedRide(t *testing.T, p *rideplan.Plan, tr sim.Truth, s sim.Sensor, class, how string, seed uint64, rng *rand.Rand) (*match.Ridden, error) {
	t.Helper()
	g := sim.InventedGround()
	rec, err := track.Import(bytes.NewReader(sim.RecordLatLon(tr, s, g, seed)), track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	o := match.Options{Class: class}
	if how == "letters" {
		sd := math.Hypot(s.WanderSD, s.WhiteSD/3)
		var b strings.Builder
		fmt.Fprintf(&b, `{"width_m": %g, "length_m": %g, "letters": {`, float64(p.Board.Width), float64(p.Board.Length))
		for i, l := range []string{"A", "B", "C", "E"} {
			at, _ := p.Board.Letter(l)
			q := g.LatLon(at.Add(arena.Point{X: sd * rng.NormFloat64(), Y: sd * rng.NormFloat64()}))
			if i > 0 {
				b.WriteByte(',')
			}
			fmt.Fprintf(&b, `"%s": {"lat_deg": %.9f, "lon_deg": %.9f}`, l, q.LatDeg, q.LonDeg)
		}
		fmt.Fprintf(&b, `}, "sd_m": %.3f}`, sd)
		if o.Survey, err = match.ReadArena("arena.json", []byte(b.String())); err != nil {
			t.Fatal(err)
		}
	}
	return match.Align(context.Background(), p, rec, o)
}
