package prepare

import (
	"fmt"
	"math"
	"slices"
)

// layOut lays the lesson's blocks end to end from 0. What focused work leaves over goes to
// the cool-down and loosening, so that the blocks sum to the minutes exactly.
func layOut(in LessonInput, l limits, ps []picked) []Block {
	b := layer{in: in, l: l, left: int(math.Round(in.Minutes*60)) - workSeconds(l, ps)}
	b.warmUp()
	for i, p := range ps {
		if i > 0 {
			b.add(Block{Kind: WalkBlock, LengthS: float64(30 * l.pause), Rein: "both", Pace: "walk", Title: "Free walk, reins given",
				Reasons: []string{"a pause between two pieces of focused work; work with rests is learnt better than work without (Holcomb et al. 2022)"}})
		}
		b.exercise(p)
	}
	b.coolDown()
	return b.blocks
}

func workSeconds(l limits, ps []picked) int {
	sum := 0
	for _, p := range ps {
		sum += 30 * p.ride.time
	}
	return sum + 30*l.pause*max(0, len(ps)-1)
}

type layer struct {
	in     LessonInput
	l      limits
	at     float64
	left   int // seconds for warm-up and cool-down
	blocks []Block
}

func (b *layer) add(x Block) {
	if x.LengthS <= 0 {
		return
	}
	x.StartS = b.at
	b.at += x.LengthS
	b.blocks = append(b.blocks, x)
}

// warmUp walks first, then loosens. Of the time that work leaves over, loosening takes up to
// half as much again; in heat the walk does.
func (b *layer) warmUp() {
	walk, loosen, cool := 30*b.l.walk, 30*b.l.loosen, 30*b.l.cool
	spare := b.left - walk - loosen - cool
	if b.l.hot > 0 {
		walk += min(max(0, spare), walk/2)
	} else {
		loosen += min(max(0, spare), loosen/2)
	}
	if !b.in.Horse.May("trot") {
		walk, loosen = walk+loosen, 0
	}
	kind, title := WarmUpBlock, "Walk on a long rein, large lines"
	reason := "walk first: the back and the breath before the work"
	if b.in.WarmedUp {
		kind, title, reason = WalkBlock, "Walk: say what comes", "warmed up already"
	}
	e, _ := ExerciseByID("loosen-walk")
	b.add(Block{Kind: kind, LengthS: float64(walk), Rein: "both", Pace: "walk", Title: title, Reasons: []string{reason}, Exercise: e.ID, Sheet: b.sheet(e, "both", nil), Feel: e.Feel, See: e.See})
	b.loosen(loosen)
	b.left -= walk + loosen
}

// loosen splits loosening into trot and, where the horse may, canter on each rein.
func (b *layer) loosen(seconds int) {
	if seconds <= 0 {
		return
	}
	canter := 0
	if c, _ := ExerciseByID("loosen-canter"); b.in.Horse.May("canter") && !containsFold(b.in.Rider.MayNo, "canter") && lessonLevel(b.in) >= LevelOf(c.Level) && seconds >= 360 && !b.in.SharedArena {
		canter = seconds / 4 / 30 * 30
	}
	id := "loosen-trot-large"
	if b.in.SharedArena {
		id = "stretch-circle"
	}
	e, _ := ExerciseByID(id)
	why := "swing on large lines with changes of rein, before anything is asked exactly"
	if e.OneRein {
		half := (seconds - 2*canter) / 2
		b.loosenOn(e, "left", half, why)
		b.loosenOn(e, "right", seconds-2*canter-half, why)
	} else {
		b.loosenOn(e, "both", seconds-2*canter, why)
	}
	c, _ := ExerciseByID("loosen-canter")
	for _, rein := range []string{"left", "right"} {
		b.loosenOn(c, rein, canter, "an easy canter on each rein opens the back; elite riders canter more in their warm-up (Tranquille et al. 2021)")
	}
}

func (b *layer) loosenOn(e Exercise, rein string, seconds int, why string) {
	b.add(Block{Kind: WarmUpBlock, LengthS: float64(seconds), Rein: rein, Pace: e.pace(), Title: e.Title, Reasons: []string{why, "stretch in between: no neck position for long"}, Exercise: e.ID, Sheet: b.sheet(e, rein, nil), Feel: e.Feel, See: e.See})
}

// exercise lays one exercise; ridden on one rein at a time it is one block a rein, since its
// sheet is another on each.
func (b *layer) exercise(p picked) {
	e := p.exercise
	var why []string
	p.params, why = suited(b.in, e, p.needs)
	p.reasons = append(slices.Clone(p.reasons), why...)
	if !e.OneRein {
		b.part(p, "both", p.ride.time, p.reasons)
		return
	}
	first, second := "left", "right"
	if p.ride.right > p.ride.left {
		first, second = second, first
	}
	times := map[string]int{"left": p.ride.left, "right": p.ride.right}
	reason := "the same on the other rein: both are worked alike"
	if p.ride.left != p.ride.right {
		reason = fmt.Sprintf("the same on the %s rein, shorter: the marks were lost on the %s", second, first)
	}
	b.part(p, first, times[first], p.reasons)
	b.part(p, second, times[second], []string{reason})
}

func (b *layer) part(p picked, rein string, half int, reasons []string) {
	e := p.exercise
	b.add(Block{Kind: ExerciseBlock, LengthS: float64(30 * half), Rein: rein, Pace: e.pace(), Title: e.Title, Sheet: b.sheet(e, rein, p.params), Reasons: slices.Clone(reasons),
		Exercise: e.ID, Feel: e.Feel, See: e.See, Load: e.Load, Repeats: repeatWords(b.in, e), Percent: round2(p.percent * float64(half) / float64(p.ride.time))})
}

func repeatWords(in LessonInput, e Exercise) string {
	if e.WholeTest {
		return "once, without stopping"
	}
	if in.Horse.Anticipates {
		return "two repeats at most, then another letter; stop after two good ones"
	}
	return "two or three repeats together; after two good ones stop and walk, then something else"
}

func (b *layer) coolDown() {
	b.add(Block{Kind: CoolDownBlock, LengthS: float64(b.left), Rein: "both", Pace: "walk", Title: "Walk on a long rein until the breath is quiet",
		Reasons: []string{"cool down last; breathing should be near rest within ten to twenty minutes, else end and ask a vet", fmt.Sprintf("say together what was right and what the homework is (%d minutes)", b.left/60)}})
}

// pace is the quickest pace of an exercise.
func (e Exercise) pace() string { return []string{"walk", "trot", "canter"}[e.fastest()] }

func (b *layer) sheet(e Exercise, rein string, params map[string]string) string {
	if e.WholeTest {
		return b.in.SheetText
	}
	if e.ID == "" {
		return ""
	}
	if !e.OneRein {
		rein = "both"
	}
	return e.SheetText(Choice{Rein: rein, Length: b.length(), Params: params})
}

func (b *layer) length() float64 {
	if b.in.ArenaLengthM >= 60 {
		return 60
	}
	return 40
}
