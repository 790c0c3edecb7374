package prepare

import (
	"fmt"
	"math"
)

// limits are what the time, the horse and the weather leave. Times in half minutes.
type limits struct {
	total              int // of the lesson, rounded down
	walk, loosen, cool int
	work               int // focused work with its pauses
	pause              int
	blocks             int
	load               int // tenths
	slack              int
	longest            int // of one block
	most               int // focused work without its pauses, by age and fitness
	easyOnly           bool
	warnings           []string
	hot                float64 // share of the usual work in heat, 0 when it is not hot
}

func halves(minutes float64) int { return int(math.Floor(2*minutes + 1e-9)) }

// limitsFor applies the rules that cannot be planned away.
func limitsFor(in LessonInput) (limits, error) {
	if !(in.Minutes > 0) || in.Minutes > 240 {
		return limits{}, fmt.Errorf("%w: %g minutes; allowed: %g to 240", ErrInput, in.Minutes, lessonRules.Shortest)
	}
	if in.Horse.Unsound {
		return limits{}, fmt.Errorf("%w: no work until a vet has seen it; the test can be learnt on foot, and remarks and marks gone through with the rider", ErrUnsound)
	}
	if in.Minutes < lessonRules.Shortest {
		return limits{}, fmt.Errorf("%w: %g minutes is less than %g; instead: walk the horse, go through the sheet's letters with the rider, practise the halt from walk, or say the test aloud", ErrTooShort, in.Minutes, lessonRules.Shortest)
	}
	l := limits{total: halves(in.Minutes), pause: halves(lessonRules.Break), slack: halves(lessonRules.ReinSlack), longest: halves(lessonRules.BlockMax)}
	l.budget(in)
	l.horse(in)
	if err := l.weather(in); err != nil {
		return limits{}, err
	}
	l.work = max(0, l.total-l.walk-l.loosen-l.cool)
	if l.hot > 0 { // what heat takes from trot, canter and exercises is walked
		l.work, l.loosen = int(float64(l.work)*l.hot), int(float64(l.loosen)*l.hot)
	}
	if l.easyOnly {
		l.work, l.blocks = min(l.work, l.longest), min(1, l.blocks)
	}
	return l, nil
}

func (l *limits) budget(in LessonInput) {
	for _, b := range lessonRules.Budgets {
		if b.WarmedUp == in.WarmedUp && in.Minutes >= b.From {
			l.walk, l.loosen, l.cool = halves(b.Walk), halves(b.Loosen), halves(b.Cool)
		}
	}
	l.easyOnly = !in.WarmedUp && in.Minutes < lessonRules.FullFrom
	if l.easyOnly {
		l.warn("under %g minutes and not warmed up: loosening and at most one exercise that horse and rider know", lessonRules.FullFrom)
	}
}

func (l *limits) horse(in LessonInput) {
	c := capacityOf(in.Horse)
	l.most = halves(c.Work)
	l.blocks, l.load = min(c.Blocks, lessonRules.MostBlocks), int(10*c.Load)
	if in.Prefer.MostBlocks > 0 {
		l.blocks = min(l.blocks, in.Prefer.MostBlocks)
	}
	if c.Words != "" {
		l.warn("%s", c.Words)
	}
	if lower(in.Horse.Fitness) == "unfit" || c.Words != "" {
		l.pause, l.longest = halves(lessonRules.BreakEasy), halves(lessonRules.BlockMin)
	}
	for _, w := range in.Horse.RecentWork {
		if w.DaysAgo <= 1 && lower(w.Load) == "hard" {
			l.load = int(float64(l.load) * lessonRules.AfterHardDay)
			l.warn("hard work %s: an easier day", daysAgo(w.DaysAgo))
			break
		}
	}
	if !in.Horse.May("trot") {
		l.warn("this horse may not trot: walk only")
	}
	for _, n := range in.Horse.Notes {
		l.warn("note on the horse: %s (ask the vet when in doubt)", n)
	}
	for _, n := range in.Rider.Notes {
		l.warn("note on the rider: %s", n)
	}
}

func daysAgo(d int) string {
	if d == 0 {
		return "today"
	}
	return "yesterday"
}

// capacityOf is the least of what age and fitness allow.
func capacityOf(h Horse) capacity {
	c := lessonRules.Fitness[1]
	for _, f := range lessonRules.Fitness {
		if f.Name == lower(h.Fitness) {
			c = f
		}
	}
	if h.AgeYears == 0 {
		return c
	}
	for _, y := range lessonRules.Young {
		if h.AgeYears < y.Below {
			return capacity{Work: min(c.Work, y.Work), Load: min(c.Load, y.Load), Blocks: min(c.Blocks, y.Blocks), Words: y.Words}
		}
	}
	return c
}

// HeatIndex is the temperature in Fahrenheit plus the relative humidity in percent.
func HeatIndex(w Weather) float64 { return w.TempC*9/5 + 32 + w.HumidityPct }

func (l *limits) weather(in LessonInput) error {
	if in.Weather == nil {
		return nil
	}
	w := *in.Weather
	if !(w.TempC >= -40 && w.TempC <= 55 && w.HumidityPct >= 0 && w.HumidityPct <= 100) {
		return fmt.Errorf("%w: %g C with %g %% humidity; allowed: -40 to 55 C, 0 to 100 %%", ErrInput, w.TempC, w.HumidityPct)
	}
	for _, h := range lessonRules.Heat {
		if HeatIndex(w) < h.From {
			continue
		}
		if h.Load == 0 {
			return fmt.Errorf("%w: %s; instead: early morning or evening, walk in the shade, water", ErrTooHot, h.Words)
		}
		l.load = int(float64(l.load) * h.Load)
		l.hot = h.Load
		l.pause = halves(lessonRules.BreakEasy)
		l.warn("%s", h.Words)
		return nil
	}
	return nil
}

func (l *limits) warn(format string, args ...any) {
	l.warnings = append(l.warnings, fmt.Sprintf(format, args...))
}
