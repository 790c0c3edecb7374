package prepare

import (
	"context"
	"testing"
)

// TestHeatTakesWork: in heat there is less trot and canter and less work than on a cool day
// (temperature in F plus humidity; US extension and veterinary summaries).
func TestHeatTakesWork(t *testing.T) {
	trotted := func(w *Weather) (loosening, work float64) {
		l, err := PlanLesson(context.Background(), LessonInput{Minutes: 45, Level: "elementary", Weather: w})
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, b := range l.Blocks {
			sum += b.LengthS
			switch {
			case b.Kind == ExerciseBlock:
				work += b.LengthS
			case b.Kind == WarmUpBlock && b.Pace != "walk":
				loosening += b.LengthS
			}
		}
		if sum != 45*60 {
			t.Errorf("the blocks sum to %g s", sum)
		}
		return loosening, work
	}
	coolLoose, coolWork := trotted(nil)
	careLoose, careWork := trotted(&Weather{TempC: 30, HumidityPct: 60}) // 146
	hotLoose, hotWork := trotted(&Weather{TempC: 36, HumidityPct: 80})   // 177
	if !(hotLoose < careLoose && careLoose < coolLoose) || !(hotWork < careWork && careWork <= coolWork) {
		t.Errorf("loosening %g, %g, %g s and work %g, %g, %g s on a cool, a warm and a hot day: want less and less",
			coolLoose, careLoose, hotLoose, coolWork, careWork, hotWork)
	}
}
