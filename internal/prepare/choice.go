package prepare

import (
	"context"
	"fmt"
	"slices"
	"sort"

	"ringcraft/internal/terms"
)

// choice is the problem of one lesson with the exercises behind its items.
type choice struct {
	in        LessonInput
	l         limits
	level     int
	needs     []Need
	problem   *problem
	items     []Exercise  // behind problem.items
	options   [][]rideOf  // behind the options
	attention []attention // of the items
	refused   []LeftOut   // not allowed, though useful
	forced    int         // item of the whole test when the trainer wants it, else -1
	done      []float64   // doses had before this plan begins
}

// rideOf is how an option is ridden: half minutes on the left and on the right rein. An
// exercise that holds both reins has half of its time on each.
type rideOf struct {
	time, left, right int
}

// picked is one exercise of the lesson as ordered.
type picked struct {
	exercise Exercise
	ride     rideOf
	percent  float64
	needs    []Need
	reasons  []string
	params   map[string]string // as suited to this lesson
}

func newChoice(in LessonInput, l limits) *choice {
	c := &choice{in: in, l: l, level: lessonLevel(in), forced: -1}
	c.needs = usefulNeeds(in)
	c.problem = &problem{returns: gainRules.Returns, time: l.work, pause: l.pause, blocks: l.blocks, work: l.most, load: l.load, slack: l.slack}
	for _, n := range c.needs {
		c.problem.values = append(c.problem.values, valueOf(n))
	}
	for _, e := range c.candidates() {
		c.addItem(e)
	}
	c.link()
	c.done = c.dosesDone(in.Done)
	c.problem.start = slices.Clone(c.done)
	c.force()
	return c
}

// force takes the whole test out of the choice and into the lesson when the trainer asked
// for it and it fits; the rest is planned around it.
func (c *choice) force() {
	for i, e := range c.items {
		if !e.WholeTest || !c.in.Prefer.WholeTest {
			continue
		}
		o, p := c.problem.items[i].options[0], c.problem
		if p.time < o.time || p.work < o.time || p.load < o.load || p.blocks < 1 {
			c.l.warn("no room for the whole test, though it was asked for")
			continue
		}
		p.time, p.work, p.load, p.blocks = p.time-o.time-p.pause, p.work-o.time, p.load-o.load, p.blocks-1
		p.start = plus(p.start, o)
		c.forced, p.items[i].options = i, nil
		if slices.Contains(p.exclusive, i) { // it is the one allowed
			for _, k := range p.exclusive {
				p.items[k].options = nil
			}
		}
	}
}

// solve finds the best exercises; the gain is what this plan adds to what was had before.
func (c *choice) solve(ctx context.Context) (solution, error) {
	s, err := c.problem.solve(ctx)
	if c.forced >= 0 {
		s.taken[c.forced] = 0
	}
	s.gain -= c.problem.gainOf(c.done)
	return s, err
}

// dosesDone are the doses of what has been ridden already in this lesson.
func (c *choice) dosesDone(done []Done) []float64 {
	u := make([]float64, len(c.needs))
	for _, d := range done {
		e, ok := ExerciseByID(d.Exercise)
		if !ok {
			continue
		}
		which, strength := c.attend(e)
		for j, l := range which {
			u[l] += strength[j] * d.Minutes / gainRules.DoseMin
		}
	}
	return u
}

func lessonLevel(in LessonInput) int {
	switch {
	case in.Horse.Level != "":
		return LevelOf(in.Horse.Level)
	case in.Level != "":
		return LevelOf(in.Level)
	}
	return LevelOf("novice")
}

// candidates are the exercises that may be ridden; those refused are noted when useful.
func (c *choice) candidates() []Exercise {
	all := append(slices.Clone(Exercises()), c.in.Own...)
	if t, ok := c.wholeTest(); ok {
		all = append(all, t)
	}
	var out []Exercise
	for _, e := range all {
		if e.Group == "loosening" {
			continue
		}
		if why := c.refuse(e); why != "" {
			if c.serves(e) {
				c.refused = append(c.refused, LeftOut{e.ID, e.Title, why})
			}
			continue
		}
		out = append(out, e)
	}
	return out
}

// refuse says why an exercise may not be ridden today, "" when it may.
func (c *choice) refuse(e Exercise) string {
	h := c.in.Horse
	for _, p := range append(slices.Clone(e.Paces), e.Needs...) {
		if !h.May(p) {
			return fmt.Sprintf("this horse may not: %s", p)
		}
		if containsFold(c.in.Rider.MayNo, p) {
			return fmt.Sprintf("this rider may not: %s", p)
		}
	}
	switch {
	case h.AgeYears > 0 && h.AgeYears < e.MinAge:
		return fmt.Sprintf("for horses of %g years and more", e.MinAge)
	case LevelOf(e.Level) > c.level+1:
		return "two levels above this horse's"
	case LevelOf(e.Level) > riderLevel(c.in.Rider, c.level)+1:
		return "two levels above this rider's"
	case containsFold(c.in.Prefer.Without, e.ID):
		return "not wanted"
	case c.ridden(e.ID):
		return "ridden already in this lesson"
	case c.in.SharedArena && wholeArena(e):
		return "takes the whole arena, which is shared"
	case c.l.easyOnly && !c.known(e):
		return "not warmed up and little time: only what is known"
	case c.l.easyOnly && e.OneRein:
		return "not warmed up and little time: only what has both reins in one figure"
	case len(e.ID) > 0 && e.Load >= lessonRules.HardLoad && h.AgeYears > 0 && h.AgeYears < 6:
		return "hard work, too early for this age"
	}
	return ""
}

func (c *choice) ridden(id string) bool {
	return slices.ContainsFunc(c.in.Done, func(d Done) bool { return d.Exercise == id })
}

func riderLevel(r Rider, horse int) int {
	if r.Level == "" {
		return horse
	}
	return LevelOf(r.Level)
}

// known exercises are those named, or those below the level when none are named.
func (c *choice) known(e Exercise) bool {
	if len(c.in.Known) > 0 {
		return containsFold(c.in.Known, e.ID)
	}
	return LevelOf(e.Level) < c.level
}

var wholeArenaKinds = []terms.Kind{terms.Entry, terms.CentreLine, terms.Serpentine, terms.Diagonal, terms.Lengthened, terms.MediumPace, terms.ExtendedPace, terms.FreeWalk}

func wholeArena(e Exercise) bool {
	for _, k := range e.Serves.Kinds {
		if slices.Contains(wholeArenaKinds, k) {
			return true
		}
	}
	return e.WholeTest
}

func (c *choice) serves(e Exercise) bool {
	for _, n := range c.needs {
		if c.strengthOf(e, n) > 0 {
			return true
		}
	}
	return false
}

// addItem adds an exercise that serves some need, with its options: lengths in whole
// minutes between the shortest and longest block, both reins alike or one a little more.
func (c *choice) addItem(e Exercise) {
	which, strength := c.attend(e)
	if len(which) == 0 {
		return
	}
	oneSided := false
	for _, l := range which {
		oneSided = oneSided || c.needs[l].Rein != ""
	}
	it := item{needs: -1}
	var rides []rideOf
	for _, t := range c.lengths(e) {
		for _, r := range ridesOf(e, t, oneSided) {
			it.options = append(it.options, c.optionOf(e, r, which, strength))
			rides = append(rides, r)
		}
	}
	if len(rides) == 0 {
		return
	}
	c.items, c.options = append(c.items, e), append(c.options, rides)
	c.problem.items = append(c.problem.items, it)
	c.attention = append(c.attention, attention{which, strength})
}

// ridesOf are the ways to share a block between the reins. Every exercise is ridden on both;
// where a need lies on one rein it may get up to two thirds of the time.
func ridesOf(e Exercise, t int, oneSided bool) []rideOf {
	out := []rideOf{{t, t / 2, t - t/2}}
	if e.OneRein && oneSided && !e.WholeTest {
		more := t * 2 / 3
		out = append(out, rideOf{t, more, t - more}, rideOf{t, t - more, more})
	}
	return out
}

// lengths of a block in half minutes; hard exercises only short, the whole test as it is.
func (c *choice) lengths(e Exercise) []int {
	if e.WholeTest {
		return []int{halves(e.Minutes)}
	}
	longest := c.l.longest
	if e.Load >= lessonRules.HardLoad || slices.Contains(e.Needs, "collected work") {
		longest = min(longest, halves(lessonRules.BlockMaxHard))
	}
	longest = min(longest, c.l.most)
	var out []int
	for t := halves(lessonRules.BlockMin); t <= longest; t += 2 {
		out = append(out, t)
	}
	return out
}

func (c *choice) optionOf(e Exercise, r rideOf, which []int, strength []float64) option {
	o := option{time: r.time, left: r.left, right: r.right, load: e.Load * r.time * 10 / halves(gainRules.DoseMin), which: which}
	for j, l := range which {
		minutes := float64(r.time) / 2
		switch c.needs[l].Rein {
		case "left":
			minutes = float64(r.left)/2 + gainRules.OtherRein*float64(r.right)/2
		case "right":
			minutes = float64(r.right)/2 + gainRules.OtherRein*float64(r.left)/2
		}
		o.dose = append(o.dose, strength[j]*minutes/gainRules.DoseMin)
	}
	return o
}

// link ties exercises above the level to their easier version, limits the test's own
// sequence for a horse that anticipates, and caps the work by age and fitness.
func (c *choice) link() {
	at := map[string]int{}
	for i, e := range c.items {
		at[e.ID] = i
	}
	var keep []int
	for i, e := range c.items {
		if LevelOf(e.Level) > c.level {
			if j, ok := at[e.Easier]; ok {
				c.problem.items[i].needs = j
			} else {
				c.problem.items[i].options = nil // no easier version to begin with
				c.refused = append(c.refused, LeftOut{e.ID, e.Title, "a level above this horse's, and its easier version is not at hand"})
			}
		}
		if c.in.Horse.Anticipates && (e.WholeTest || e.Group == "lines") {
			keep = append(keep, i)
		}
	}
	c.problem.exclusive = keep
}

// leftOut lists the best of what found no room and then what was refused, each with its
// reason.
func (c *choice) leftOut(s solution) []LeftOut {
	out := []LeftOut{}
	doses := c.doses(s)
	base := c.problem.gainOf(doses)
	type idle struct {
		i     int
		alone float64
		more  float64
	}
	var rest []idle
	for i := range c.items {
		if s.taken[i] >= 0 || i == c.forced || len(c.problem.items[i].options) == 0 {
			continue
		}
		o := c.problem.items[i].options[0]
		rest = append(rest, idle{i, c.problem.gainOf(plus(c.done, o)) - c.problem.gainOf(c.done), c.problem.gainOf(plus(doses, o)) - base})
	}
	sort.SliceStable(rest, func(a, b int) bool { return rest[a].alone > rest[b].alone })
	for n, r := range rest {
		if n == 12 {
			break
		}
		e := c.items[r.i]
		out = append(out, LeftOut{e.ID, e.Title, fmt.Sprintf("no room: alone it would bring %.2f points, beside the others %.2f more; what was taken brings %.2f together", r.alone, r.more, s.gain)})
	}
	return append(out, c.refused...)
}

func (c *choice) doses(s solution) []float64 {
	u := slices.Clone(c.done)
	for i, o := range s.taken {
		if o >= 0 {
			u = plus(u, c.option(i, o))
		}
	}
	return u
}

// option is one option of an item; the forced item's is no longer in the problem.
func (c *choice) option(i, o int) option {
	if i == c.forced {
		a := c.attention[i]
		return c.optionOf(c.items[i], c.options[i][o], a.which, a.strength)
	}
	return c.problem.items[i].options[o]
}

// plus returns u with an option's doses added, leaving u as it was.
func plus(u []float64, o option) []float64 {
	out := slices.Clone(u)
	for j, l := range o.which {
		out[l] += o.dose[j]
	}
	return out
}
