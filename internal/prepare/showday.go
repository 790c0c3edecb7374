package prepare

import (
	_ "embed"
	"fmt"
	"math"
	"sort"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/judging"
	"ringcraft/internal/rideplan"
)

// ShowInput is what the plan of a show day takes; only StartClockS is required.
type ShowInput struct {
	StartClockS float64 // start of the test, seconds after midnight at the show
	Horse       Horse
	Level       string
	Weather     *Weather
	Plan        *rideplan.Plan
	Rules       *judging.Rules
	Needs       []Need
	Causes      []diagnose.Cause
	TravelMin   float64
	// WarmUpMin is how long this horse warms up in the saddle, as the trainer knows it; 0: as usual at
	// its level.
	WarmUpMin float64
}

// ShowDay is the day backwards from the start. FromS and ToS count from the start of the
// test, negative before it; Clock is the same as time of day.
type ShowDay struct {
	Schema   string      `json:"schema"`
	Start    string      `json:"start"`
	Phases   []ShowPhase `json:"phases"` // by time
	Touch    []string    `json:"touch"`
	Leave    []string    `json:"leave"`
	Entry    []string    `json:"entry"`
	Pressure []Pressure  `json:"pressure"`
	Devices  string      `json:"devices"`
	Calling  string      `json:"calling"`
	Warnings []string    `json:"warnings"`
	Cautions []string    `json:"cautions"`
}

// ShowPhase is one stretch of the day.
type ShowPhase struct {
	Kind   string   `json:"kind"` // travel, arrive, tack, walk, warm-up, ring side, test, after
	FromS  float64  `json:"from_s"`
	ToS    float64  `json:"to_s"`
	Clock  string   `json:"clock"` // when it begins, "13:05"; "day before 23:40" when it falls there
	Title  string   `json:"title"`
	Do     []string `json:"do"`
	Source string   `json:"source,omitempty"`
}

// Pressure is a place of the test with little time to prepare.
type Pressure struct {
	Movement int     `json:"movement"`
	What     string  `json:"what"`
	Letter   string  `json:"letter"`
	AtS      float64 `json:"at_s"` // seconds into the test
	Needs    float64 `json:"needs_s"`
	Has      float64 `json:"has_s"`
	Prepare  string  `json:"prepare"`
}

//go:embed showday.json
var showJSON []byte

var showRules = mustLoad[struct {
	Levels []struct {
		Level                       string
		Minutes, Walk, Trot, Canter float64
	}
	RingSide   float64 `json:"ring_side"`
	Settle     float64
	Tack       float64
	Arrive     float64 `json:"arrive_before_tack"`
	InHand     float64 `json:"walk_in_hand"`
	Tense      float64 `json:"tense_longer"`
	Young      float64 `json:"young_longer"`
	HotShorter float64 `json:"hot_shorter"`
	AfterWalk  float64 `json:"after_walk"`
	// WarmUpLeast and WarmUpMost bound what a trainer may set.
	WarmUpLeast float64 `json:"warm_up_least"`
	WarmUpMost  float64 `json:"warm_up_most"`
	Source      string
}](showJSON, "showday.json")

// PlanShow lays the day out backwards from the start. It returns ErrInput, ErrUnsound or
// ErrTooHot as PlanLesson does.
func PlanShow(in ShowInput) (ShowDay, error) {
	if !(in.StartClockS >= 0 && in.StartClockS < 86400) {
		return ShowDay{}, fmt.Errorf("%w: a start of %g s after midnight; allowed: 0 to 86399", ErrInput, in.StartClockS)
	}
	if in.Horse.Unsound {
		return ShowDay{}, fmt.Errorf("%w: it does not start; ask a vet", ErrUnsound)
	}
	if in.WarmUpMin != 0 && !(in.WarmUpMin >= showRules.WarmUpLeast && in.WarmUpMin <= showRules.WarmUpMost) {
		return ShowDay{}, fmt.Errorf("%w: a warm-up of %g minutes; allowed: %g to %g", ErrInput, in.WarmUpMin, showRules.WarmUpLeast, showRules.WarmUpMost)
	}
	hot, err := heatOf(in.Weather)
	if err != nil {
		return ShowDay{}, err
	}
	d := ShowDay{Schema: "ringcraft.showday/1", Start: clockOf(in.StartClockS, 0), Pressure: pressurePoints(in.Plan),
		Touch: []string{}, Leave: []string{}, Warnings: []string{}}
	d.Phases = showPhases(in, hot != "")
	d.touchAndLeave(in)
	d.Entry = entryWords(in)
	d.rules(in.Rules)
	if hot != "" {
		d.Warnings = append(d.Warnings, hot)
	}
	if in.WarmUpMin > 0 {
		d.Warnings = append(d.Warnings, warmUpWords(in, hot != ""))
	}
	d.Cautions = append(lessonCautions(LessonInput{Horse: in.Horse, Weather: in.Weather}), careWords.Show)
	return d, nil
}

func heatOf(w *Weather) (string, error) {
	l := limits{load: 100}
	if err := l.weather(LessonInput{Weather: w}); err != nil {
		return "", err
	}
	if len(l.warnings) == 0 {
		return "", nil
	}
	return l.warnings[0] + "; a shorter warm-up in the shade, and the show's own heat rules count", nil
}

// showPhases builds the phases from the last before the start to the first of the day.
func showPhases(in ShowInput, hot bool) []ShowPhase {
	b := backwards{start: in.StartClockS}
	b.test(in)
	level := showRules.Levels[min(lessonLevel(LessonInput{Horse: in.Horse, Level: in.Level}), len(showRules.Levels)-1)]
	warm, walkMore := level.Minutes, 0.0
	if causeLikely(in.Causes, "tension") {
		walkMore += showRules.Tense
	}
	if in.Horse.AgeYears > 0 && in.Horse.AgeYears < 6 {
		walkMore += showRules.Young
	}
	if hot {
		warm *= showRules.HotShorter
	}
	if in.WarmUpMin > 0 { // the trainer's word: nothing is added to it or taken off
		warm, walkMore = in.WarmUpMin, 0
	}
	trot, canter := warm*level.Trot, warm*level.Canter
	if !in.Horse.May("canter") {
		trot, canter = trot+canter/2, 0
	}
	b.add("ring side", showRules.RingSide, "Walk at the ring; boots or bandages off where the rules ask it", []string{"breathe, reins a hand longer", "know which way you ride round the arena and where you are when the bell can ring"}, "")
	b.add("warm-up", trot/2, "Parts of the test, once each", partsToRide(in), showRules.Source)
	if canter > 0 {
		b.add("warm-up", canter, "Canter, both reins alike", []string{"forward and back within the pace", "left and right the same time"}, showRules.Source)
	}
	b.add("warm-up", trot/2, "Trot on large lines", []string{"rising, swinging, many changes of rein", "stretch once in between: no neck position longer than ten minutes"}, showRules.Source)
	// Phases are whole minutes: the walk takes what rounding the others leaves.
	walk := math.Round(warm) - 2*math.Round(trot/2) - math.Round(canter)
	b.add("walk", walk+walkMore, "Walk on a long rein", []string{"let it look", "large lines, no demands for five minutes"}, showRules.Source)
	b.add("tack", showRules.Tack, "Tack, helmet, number; check bit and noseband against the rules", []string{"mount with time to spare"}, "common practice")
	b.add("walk", showRules.InHand, "Walk in hand, see the arena and the letters", []string{"find X and the line from A to C from outside"}, "common practice")
	b.add("arrive", showRules.Arrive, "Arrive, unload, water, report to the office", []string{"time for what goes wrong"}, "common practice")
	if in.TravelMin > 0 {
		b.add("travel", in.TravelMin, "Drive", nil, "")
	}
	sort.SliceStable(b.phases, func(i, j int) bool { return b.phases[i].FromS < b.phases[j].FromS })
	return b.phases
}

// warmUpWords says what was set and what it would be otherwise.
func warmUpWords(in ShowInput, hot bool) string {
	level := showRules.Levels[min(lessonLevel(LessonInput{Horse: in.Horse, Level: in.Level}), len(showRules.Levels)-1)]
	out := fmt.Sprintf("warm-up of %g minutes as you set it; usual at this level are %g", in.WarmUpMin, level.Minutes)
	if hot && in.WarmUpMin > level.Minutes*showRules.HotShorter {
		out += fmt.Sprintf(", in this heat %.0f", level.Minutes*showRules.HotShorter)
	}
	return out
}

type backwards struct {
	start  float64
	at     float64 // seconds from the start
	phases []ShowPhase
}

// add puts a phase of whole minutes before what is there.
func (b *backwards) add(kind string, minutes float64, title string, do []string, source string) {
	from := b.at - 60*math.Round(minutes)
	if do == nil {
		do = []string{}
	}
	b.phases = append(b.phases, ShowPhase{kind, from, b.at, clockOf(b.start, from), title, do, source})
	b.at = from
}

func (b *backwards) test(in ShowInput) {
	length := 360.0
	if in.Plan != nil && in.Plan.Total > 0 {
		length = math.Ceil(float64(in.Plan.Total))
	}
	b.phases = append(b.phases,
		ShowPhase{"test", 0, length, clockOf(b.start, 0), "The test", []string{"prepare each thing before its letter; let go of what is over"}, ""},
		ShowPhase{"after", length, length + 60*showRules.AfterWalk, clockOf(b.start, length), "Walk until the breath is quiet, water, shade", []string{"praise first; the sheet is read later", "put the judge's sheet in when it comes: the loop closes there"}, "common practice"})
}

func clockOf(start, offset float64) string {
	t := int(math.Round((start + offset) / 60))
	day := ""
	if t < 0 {
		t, day = t+24*60, "day before "
	}
	return fmt.Sprintf("%s%02d:%02d", day, t/60%24, t%60)
}

func causeLikely(cs []diagnose.Cause, name string) bool {
	for _, c := range cs {
		if c.Cause == name && c.Probability >= 0.5 {
			return true
		}
	}
	return false
}

// partsToRide are the entry and the two places where most can be won now.
func partsToRide(in ShowInput) []string {
	out := []string{"one halt, quiet and square, then leave it", "one turn onto a line like the centre line"}
	for _, n := range nowNeeds(in.Needs) {
		if len(out) == 4 {
			break
		}
		out = append(out, fmt.Sprintf("once: what movement %d asks, for %q", n.Movement, n.Loss.Reason))
	}
	if in.Horse.Anticipates {
		out = append(out, "never in the order of the test: this horse acts before the aid")
	}
	return out
}

func nowNeeds(ns []Need) []Need {
	var out []Need
	for _, n := range ns {
		if n.Loss.Reach == diagnose.Now && n.Loss.Fault != "" {
			out = append(out, n)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return valueOf(out[i]) > valueOf(out[j]) })
	return out
}

// touchAndLeave: what better riding wins today is touched once; what needs weeks is left.
func (d *ShowDay) touchAndLeave(in ShowInput) {
	seen := map[string]bool{}
	for _, n := range nowNeeds(in.Needs) {
		if len(d.Touch) < 3 && !seen[n.Loss.Reason] {
			seen[n.Loss.Reason] = true
			d.Touch = append(d.Touch, fmt.Sprintf("movement %d: %s, worth up to %.1f points", n.Movement, n.Loss.Reason, valueOf(n)/gainRules.Reach[diagnose.Now]))
		}
	}
	for _, n := range in.Needs {
		if n.Loss.Reach == diagnose.Schooling && n.Loss.Fault != "" && len(d.Leave) < 3 && !seen[n.Loss.Reason] {
			seen[n.Loss.Reason] = true
			d.Leave = append(d.Leave, fmt.Sprintf("%s: needs weeks, do not school it today", n.Loss.Reason))
		}
	}
	d.Leave = append(d.Leave, "nothing new in the last hour; no whole test in the warm-up")
}

func entryWords(in ShowInput) []string {
	out := []string{"look at C from the turn on; ride the line, not the horse's ears", "half-halt three lengths before the halt; salute only when all four legs stand"}
	if in.Rules != nil && in.Rules.EntryS > 0 {
		out = append([]string{fmt.Sprintf("%.0f seconds from the bell to the entry at A (%s): at E or B one horse still has time to go on to A", in.Rules.EntryS, in.Rules.Name)}, out...)
	}
	return out
}

func (d *ShowDay) rules(r *judging.Rules) {
	d.Devices = "recorders, earphones and heart-rate monitors on horse or rider are often not allowed in competition: take them off unless the rule set of the day allows them"
	d.Calling = "whether the test may be read aloud differs by body and class: ask before"
	if r == nil {
		return
	}
	if r.Devices != "" {
		d.Devices = r.Devices + " (" + r.Name + ")"
	}
	if r.Calling != "" {
		d.Calling = r.Calling + " (" + r.Name + ")"
	}
}

// pressurePoints are the five demands with least time for what they need.
func pressurePoints(p *rideplan.Plan) []Pressure {
	out := []Pressure{}
	if p == nil {
		return out
	}
	type demand struct {
		m int
		d rideplan.Demand
	}
	var all []demand
	for _, m := range p.Movements {
		for _, d := range m.Demands {
			all = append(all, demand{m.Number, d})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].d.Pressure > all[j].d.Pressure })
	for _, x := range all[:min(5, len(all))] {
		out = append(out, Pressure{Movement: x.m, What: x.d.What, Letter: x.d.Letter, AtS: float64(x.d.At), Needs: float64(x.d.Needs), Has: float64(x.d.Has),
			Prepare: prepareWords(x.d.NeedsStrides, x.d.Letter)})
	}
	return out
}

// prepareWords says how many strides before a letter preparing begins.
func prepareWords(strides float64, letter string) string {
	switch n := math.Ceil(strides - 1e-9); {
	case !(n > 0):
		return "nothing has to be prepared before " + letter
	case n == 1:
		return "begin to prepare one stride before " + letter
	default:
		return fmt.Sprintf("begin to prepare %.0f strides before %s", n, letter)
	}
}
