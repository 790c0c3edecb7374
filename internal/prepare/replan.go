package prepare

import (
	"context"
	"fmt"
	"math"
)

// Progress is where a lesson under way stands.
type Progress struct {
	NowS  float64 // seconds since its start
	Tired bool    // the horse tires: only one more easy thing, then walk
	// EndS moves the end when time has slipped; 0: as planned.
	EndS float64
}

// Replan keeps what has been ridden and plans the rest anew. The walk breaks, the cool-down
// and the horse's limits hold for the whole lesson: what is ridden already is taken off
// them. It returns ErrInput when the time does not lie within the lesson.
func Replan(ctx context.Context, in LessonInput, old Lesson, at Progress) (Lesson, error) {
	end := 60 * old.Minutes
	if at.EndS > 0 {
		end = at.EndS
	}
	if !(at.NowS >= 0 && at.NowS < end) || end > 240*60 {
		return Lesson{}, fmt.Errorf("%w: %.0f s of a lesson that ends at %.0f s", ErrInput, at.NowS, end)
	}
	past, warm := ridden(old, at.NowS)
	in.Done = doneOf(past)
	in.Minutes, in.WarmedUp = (end-at.NowS)/60, warm
	l, err := limitsOfRest(in, old, at)
	if err != nil {
		return Lesson{}, err
	}
	out, err := planWithin(ctx, in, l)
	if err != nil {
		return Lesson{}, err
	}
	for i := range out.Blocks {
		out.Blocks[i].StartS += at.NowS
	}
	out.Blocks, out.Minutes = append(past, out.Blocks...), end/60
	return out, nil
}

// ridden are the blocks up to now, the present one cut; warm is set when the warm-up is over.
func ridden(old Lesson, now float64) (past []Block, warm bool) {
	warm = true
	for _, b := range old.Blocks {
		if b.StartS >= now {
			warm = warm && b.Kind != WarmUpBlock
			continue
		}
		if b.StartS+b.LengthS > now {
			warm = warm && b.Kind != WarmUpBlock
			b.LengthS = now - b.StartS
		}
		past = append(past, b)
	}
	return past, warm
}

// doneOf sums the exercises of the blocks ridden.
func doneOf(past []Block) []Done {
	var out []Done
	for _, b := range past {
		if b.Kind != ExerciseBlock {
			continue
		}
		if n := len(out); n > 0 && out[n-1].Exercise == b.Exercise {
			out[n-1].Minutes += b.LengthS / 60
			continue
		}
		out = append(out, Done{b.Exercise, b.LengthS / 60, b.Load})
	}
	return out
}

// limitsOfRest are the lesson's limits less what was ridden. A rest too short for work is
// walked.
func limitsOfRest(in LessonInput, old Lesson, at Progress) (limits, error) {
	whole := in
	whole.Minutes, whole.WarmedUp = math.Max(old.Minutes, lessonRules.Shortest), true
	l, err := limitsFor(whole)
	if err != nil {
		return limits{}, err
	}
	l.total = halves(in.Minutes)
	l.cool = min(l.cool, l.total)
	l.loosen = 0
	l.walk = halves(lessonRules.Break) // the pause after what was ridden last
	if len(in.Done) == 0 {
		l.walk = 0
	}
	if !in.WarmedUp {
		l.walk, l.loosen = remainingWarmUp(old, at.NowS)
	}
	for _, d := range in.Done {
		l.load -= int(math.Ceil(10 * float64(d.Load) * d.Minutes / gainRules.DoseMin))
		l.most -= halves(math.Ceil(2*d.Minutes) / 2)
		l.blocks--
	}
	if at.Tired {
		l.load, l.blocks, l.longest = l.load/3, min(1, l.blocks), halves(lessonRules.BlockMin)
		l.warn("the horse tires: at most one easy thing more, then walk; end the lesson when in doubt")
	}
	l.load, l.most, l.blocks = max(0, l.load), max(0, l.most), max(0, l.blocks)
	l.walk = min(l.walk, l.total-l.cool)
	l.loosen = min(l.loosen, l.total-l.cool-l.walk)
	l.work = max(0, l.total-l.walk-l.loosen-l.cool)
	if l.work < halves(lessonRules.BlockMin) {
		l.blocks = 0
	}
	return l, nil
}

// remainingWarmUp is what is left of the planned warm-up: walk, and the rest loosening.
func remainingWarmUp(old Lesson, now float64) (walk, loosen int) {
	for _, b := range old.Blocks {
		left := math.Min(b.LengthS, b.StartS+b.LengthS-now)
		if b.Kind != WarmUpBlock || left <= 0 {
			continue
		}
		if b.Pace == "walk" {
			walk += int(math.Ceil(left / 30))
		} else {
			loosen += int(math.Ceil(left / 30))
		}
	}
	return walk, loosen
}
