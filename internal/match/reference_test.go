package match_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/match"
	"ringcraft/internal/sim"
)

// TestWriteReference writes a plan, a ride, the truth and this package's alignment for
// scripts/compare_alignment.py, which aligns the same ride with SciPy and compares; and checks
// how far the alignment lies from the truth. Without RINGCRAFT_REFERENCE_DIR the files go to a
// temporary folder.
func TestWriteReference(t *testing.T) {
	dir := os.Getenv("RINGCRAFT_REFERENCE_DIR")
	if dir == "" {
		dir = t.TempDir()
	}
	p := longPlan(t)
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.15, Speed: 0.03}}, 1)
	rec := imported(t, sim.Record(tr, sim.Sensor{WhiteSD: 0.3, WanderSD: 0.8, WanderTau: 120}, 1))
	start := time.Now()
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: "sport"})
	if err != nil {
		t.Fatal(err)
	}
	took := time.Since(start).Seconds()
	var plan, ride, own strings.Builder
	plan.WriteString("s_m,t_s,x_m,y_m,heading_rad\n")
	for _, s := range p.Samples {
		fmt.Fprintf(&plan, "%.3f,%.3f,%.4f,%.4f,%.5f\n", float64(s.M), float64(s.T), s.X, s.Y, float64(s.Heading))
	}
	ride.WriteString("t_s,x_m,y_m,true_m\n")
	own.WriteString("t_s,plan_m\n")
	for _, f := range r.Fixes {
		fmt.Fprintf(&ride, "%.3f,%.4f,%.4f,%.3f\n", float64(f.T), f.X, f.Y, tr.At(f.T).PlanM)
		if !math.IsNaN(float64(f.PlanM)) {
			fmt.Fprintf(&own, "%.3f,%.3f\n", float64(f.T), float64(f.PlanM))
		}
	}
	if m := medianOff(r, tr); m > 0.8 {
		t.Errorf("half of the fixes are more than %.2f m of plan off, with 0.8 m of wander", m)
	}
	for name, text := range map[string]string{"plan.csv": plan.String(), "ride.csv": ride.String(), "own.csv": own.String(), "own_seconds.txt": fmt.Sprint(took)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// medianOff is the median distance along the plan between alignment and truth.
func medianOff(r *match.Ridden, tr sim.Truth) float64 {
	var off []float64
	for _, f := range r.Fixes {
		if d := math.Abs(float64(f.PlanM) - tr.At(f.T).PlanM); !math.IsNaN(d) {
			off = append(off, d)
		}
	}
	sort.Float64s(off)
	return off[len(off)/2]
}
