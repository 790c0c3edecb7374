package rideplan

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// compiler turns acts into the nominal line, figures and readings, act by act.
type compiler struct {
	erred  map[sheet.Pos]bool // where an error was said
	turned bool               // the rein was taken as changed in the act being ridden
	muted  bool               // the last problem was not said
	pen
	file  *sheet.File
	plan  *Plan
	opts  Options
	board *arena.Board
	track perimeter
	lvl   level
	facts fileFacts
	trot  string // form of trot and canter when the sheet says only the pace
	cant  string

	acts    []actRef
	k       int // the act being ridden
	skip    int // act already ridden with the one before
	drafts  []draft
	starts  []mark // where each movement begins
	reading [][]string
	mov     int // index of the movement being ridden

	circle        *circleNow  // the circle whose end is pending, or just ridden
	over          *crossover  // the change from circle to circle being ridden
	figures       int         // circles so far
	reinAt        sheet.Pos   // where the sheet last set the rein
	wish          Hand        // rein to take where a line meets the boards squarely
	serpentineTo  arena.Point // where the last serpentine ends, and its movement
	serpentineMov int
	halted        bool
	haltLetter    string    // where it halted last
	haltAt        sheet.Pos // where the sheet asks that halt
	left          bool      // the arena was left; nothing after it is ridden
	longer        bool      // a medium or extended pace asked for a stretch only
	paceAt        sheet.Pos // where the sheet last set the pace
	leadAt        sheet.Pos // where the sheet last set the lead
	leadBefore    sheet.Pos // where it set the lead before that
}

// actRef is an act with the box and line it stands in.
type actRef struct {
	sheet.Act
	mov, part int
	first     bool // first of its movement
	firstPart bool // first of its line
}

// draft is a figure whose span is not yet on the clock.
type draft struct {
	Figure
	mov      int
	from, to mark
	pos      sheet.Pos
	noPlace  bool // Place is already set
	hasMid   bool // of "between": where the plan makes it
	mid      mark
}

type circleNow struct {
	id       int
	from     mark
	length   float64
	diameter float64
	hand     Hand
	letter   string
	mov      int
	centre   arena.Point
	nominal  float64
}

// longest is how far a plan goes, in metres: the longest test is about 3 km, and a file of any
// size must leave the machine its memory.
const longest = 60e3

// Compile turns a sheet into a plan. Problems of the sheet and of the compiler are in the
// plan's Problems; what could be ridden is ridden even when there are errors.
func Compile(f *sheet.File, o Options) *Plan {
	c := newCompiler(f, o)
	for c.k = 0; c.k < len(c.acts); c.k++ {
		if c.k == c.skip && c.k > 0 {
			continue // ridden with the act before
		}
		if a := c.acts[c.k]; c.s+c.pendingLength() > longest {
			c.problem(a.Pos, sheet.Error, "cut the sheet in two", "the sheet asks more than %g km of riding; from here on it was not ridden", longest/1000)
			break
		}
		c.ride1(c.acts[c.k])
	}
	c.close()
	c.build()
	return c.plan
}

// CompileText parses and compiles a sheet.
func CompileText(file, text string, o Options) *Plan {
	return Compile(sheet.Parse(file, []byte(text)), o)
}

func newCompiler(f *sheet.File, o Options) *compiler {
	c := &compiler{file: f, opts: o, plan: &Plan{MaxPoints: 0}}
	c.plan.Problems = append(c.plan.Problems, f.Problems...)
	c.headers()
	inset := o.Horse.Inset()
	if o.Inset != nil {
		inset = *o.Inset
	}
	if !(inset >= 0 && inset <= 2) {
		c.problem(sheet.Pos{Line: 1, Column: 1}, sheet.Error, "0.8", "an inset of %g m is not possible; allowed: 0 to 2 m", inset)
		inset = gait.DefaultInset
	}
	c.plan.Inset, c.plan.NoseToBody = arena.Metres(inset), arena.Metres(o.Horse.NoseToBody())
	c.track = newPerimeter(c.board, inset)
	c.inside = func(q arena.Point) bool { return c.board.Contains(q, arena.Metres(inset-1e-6)) }
	c.reading = make([][]string, len(f.Movements))
	c.starts = make([]mark, len(f.Movements))
	c.plan.begins = make([]state, len(f.Movements))
	c.flatten()
	c.chooseLevel()
	return c
}

// headers reads what the header lines say.
func (c *compiler) headers() {
	get := func(k string) string { h, _ := c.file.Header(k); return h.Value }
	p := c.plan
	p.Name, p.Level, p.Rules = get("name"), get("level"), get("rules")
	w, l := 20.0, 60.0
	if v := get("arena"); v != "" {
		w, l, _ = sheet.ParseArena(v)
	} else if len(c.file.Movements) > 0 {
		c.problem(sheet.Pos{Line: 1, Column: 1}, sheet.Note, "arena: 20 x 60", "no arena is given; 20 x 60 is assumed")
	}
	c.board, _ = arena.BoardFor(arena.Metres(w), arena.Metres(l))
	p.Board = c.board
	if t, err := sheet.ParseTime(get("time")); err == nil && get("time") != "" {
		p.PublishedS = gait.Seconds(t)
	}
	for _, k := range c.file.Collectives {
		p.Collectives = append(p.Collectives, Collective{k.Name, k.Coefficient})
		p.MaxPoints += 10 * k.Coefficient
	}
	for _, m := range c.file.Movements {
		p.MaxPoints += m.MaxMark * m.Coefficient
	}
	if h, ok := c.file.Header("max"); ok {
		if n, err := strconv.Atoi(strings.Fields(h.Value + " ?")[0]); err == nil && n != p.MaxPoints && n > 0 {
			c.problem(h.Pos, sheet.Warning, fmt.Sprint(p.MaxPoints), "the sheet says %d points, its marks add up to %d", n, p.MaxPoints)
		}
	}
}

func (c *compiler) problem(pos sheet.Pos, sev sheet.Severity, suggestion, format string, args ...any) {
	c.muted = len(c.plan.Problems) > 1000 || c.erred[pos] && sev != sheet.Note
	if c.muted { // one slip gives one message
		return
	}
	c.plan.Problems = append(c.plan.Problems, sheet.Problem{File: c.file.Path, Pos: pos, Severity: sev,
		Message: fmt.Sprintf(format, args...), Suggestion: suggestion})
}

// also points the last problem at the other place of a contradiction. What follows from a
// contradiction at the same place is not said again.
func (c *compiler) also(pos sheet.Pos) {
	if n := len(c.plan.Problems); n > 0 && pos.Line > 0 && !c.muted {
		if q := c.plan.Problems[n-1]; q.Severity == sheet.Error {
			if c.erred == nil {
				c.erred = map[sheet.Pos]bool{}
			}
			c.erred[q.Pos] = true
		}
		c.plan.Problems[n-1].Also = &pos
	}
}

// flatten lists the acts of all movements in riding order.
func (c *compiler) flatten() {
	for mi, m := range c.file.Movements {
		first := true
		for pi, p := range m.Parts {
			for ai, a := range p.Acts {
				c.acts = append(c.acts, actRef{a, mi, pi, first, ai == 0})
				first = false
				c.facts.note(a)
			}
		}
	}
}

func (f *fileFacts) note(a sheet.Act) {
	f.canter = f.canter || a.Pace == "canter"
	f.collected = f.collected || a.Form == "collected" && a.Pace != "walk" || strings.HasPrefix(a.Variety, "collected") && a.Variety != "collected walk"
	f.medium = f.medium || (a.Form == "medium" || a.Form == "extended") && a.Pace != "walk"
	switch a.Kind {
	case "leg-yield", "shoulder-in", "travers", "renvers":
		f.lateral = true
	case "half-pass":
		f.halfPass, f.lateral = true, true
	case "flying change":
		f.flying = true
		f.tempis = f.tempis || a.Every > 0
	case "change":
		f.tempis = f.tempis || a.Every > 0
	case "piaffe", "passage":
		f.piaffe = true
	case "pirouette", "quarter pirouette":
		f.pirouetteCanter = true
	}
}

func (c *compiler) chooseLevel() {
	ok := false
	if c.lvl, ok = levelByName(c.plan.Level); !ok {
		c.lvl = levelOf(&c.facts)
	}
	if c.plan.Level == "" {
		c.plan.Level = c.lvl.Name
	}
	c.trot, c.cant = c.lvl.Trot, c.lvl.Canter
	if !c.facts.collected {
		c.trot, c.cant = "working", "working"
	}
	c.variety = gait.Variety(c.trot + " trot")
}

// say adds a sentence to the reading of the current movement.
func (c *compiler) say(format string, args ...any) {
	c.reading[c.mov] = append(c.reading[c.mov], fmt.Sprintf(format, args...))
}

// radius is how wide the horse turns where nothing else is asked.
func (c *compiler) radius() float64 { return c.lvl.cornerRadius(c.variety) }

// turnRadius is the radius of a kink that begins at piece e.
func (c *compiler) turnRadius(e elem) float64 {
	if e.lat != nil {
		return 3
	}
	return c.lvl.cornerRadius(e.variety)
}

// peek returns the next act after the current one, n steps on.
func (c *compiler) peek(n int) (actRef, bool) {
	if c.k+n < len(c.acts) {
		return c.acts[c.k+n], true
	}
	return actRef{}, false
}

// beginMovement notes where the box starts; boxes skipped on the way start there too.
func (c *compiler) beginMovement(a actRef) {
	if !a.first {
		return
	}
	for i := c.mov + 1; i <= a.mov; i++ {
		c.starts[i] = c.here()
		c.plan.begins[i] = state{c.rein, c.onTrack && len(c.pending) == 0, string(c.variety), c.lead, c.halted}
	}
	c.mov = a.mov
}

// close rides what is pending and ends the test.
func (c *compiler) close() {
	c.flush()
	for i := c.mov + 1; i < len(c.starts); i++ {
		c.starts[i] = c.here()
	}
	if len(c.ridden) == 0 && len(c.acts) > 0 {
		c.problem(sheet.Pos{Line: c.acts[0].Line, Column: c.acts[0].Column}, sheet.Error, "1  A  Enter in working trot", "nothing in the sheet can be ridden")
	}
}

// build turns the nominal line into the plan.
func (c *compiler) build() {
	line := finalLine(c.ridden, c.turnRadius)
	for i, e := range c.ridden { // arcs drawn tighter because the boards were near
		if r := 1 / math.Abs(e.curv); e.curv != 0 && r < tightest-0.1 && e.length/r > 0.3 {
			line.sharps = append(line.sharps, sharp{i, r})
		}
	}
	for _, s := range line.sharps {
		a := c.acts[min(c.ridden[s.piece].cause, len(c.acts)-1)]
		c.problem(a.Pos, sheet.Error, "leave more room or a smaller turn", "the line asks a turn of %.1f m radius in %s; no horse can make it", s.radius, c.ridden[s.piece].variety)
	}
	c.reportForced()
	c.reportOutside(line)
	tl := buildTimeline(c.ridden, line, speeds{c.opts.Horse, c.lvl})
	p := c.plan
	p.Path = line.path
	p.Total, p.Length = tl.total, arena.Metres(tl.length())
	c.movements(tl)
	if len(c.file.Movements) > 0 {
		p.Samples = c.samples(tl)
	}
	c.placeFigures(tl)
	c.strides(tl)
	c.demands(tl)
	c.accuracy()
	c.sortProblems()
}

// reportOutside reports a line that a contradictory sheet leads over the boards.
func (c *compiler) reportOutside(line *rounded) {
	s := 0.0
	track := c.inside
	c.inside = func(q arena.Point) bool { return c.board.Contains(q, -1e-6) }
	defer func() { c.inside = track }()
	for _, g := range line.path {
		e := elem{start: g.Start, heading: g.Heading, length: float64(g.Length), curv: g.Curvature, back: g.Backward}
		if !c.fits(e) {
			a := c.acts[c.causeAt(line, s)]
			c.problem(a.Pos, sheet.Error, "name a place with more room", "the line would leave the arena here")
			return
		}
		s += float64(g.Length)
	}
}

// causeAt is the act that made the line at final metre s.
func (c *compiler) causeAt(line *rounded, s float64) int {
	for _, e := range c.ridden {
		if line.metre(e.s0+e.length) >= s {
			return min(e.cause, len(c.acts)-1)
		}
	}
	return len(c.acts) - 1
}

// reportForced reports the turns on the spot that stand where no line fits.
func (c *compiler) reportForced() {
	for _, e := range c.ridden {
		if e.forced {
			a := c.acts[min(e.cause, len(c.acts)-1)]
			c.problem(a.Pos, sheet.Error, "name a place with more room", "from here the line would have to turn %.0f degrees on the spot; no horse can make it", math.Abs(e.turn.Deg()))
			c.also(c.reinAt)
		}
	}
}

func (tl *timeline) length() float64 {
	if n := len(tl.stations); n > 0 {
		return tl.stations[n-1].s
	}
	return 0
}

func (c *compiler) sortProblems() {
	ps := c.plan.Problems
	sort.SliceStable(ps, func(i, j int) bool {
		return ps[i].Line < ps[j].Line || ps[i].Line == ps[j].Line && ps[i].Column < ps[j].Column
	})
}

func joinParts(m sheet.Movement) (letters, text string) {
	var ls, ts []string
	for _, p := range m.Parts {
		if p.Letters != "" {
			ls = append(ls, p.Letters)
		}
		if p.Text != "" {
			ts = append(ts, p.Text)
		}
	}
	return strings.Join(ls, "; "), strings.Join(ts, "; ")
}

// placeFigures puts the drafts on the clock, in riding order within each box.
func (c *compiler) placeFigures(tl *timeline) {
	for _, d := range c.drafts {
		f := d.Figure
		var a, b float64
		f.StartS, a = tl.at(d.from)
		f.EndS, b = tl.at(d.to)
		if d.to.s <= d.from.s+1e-9 && d.to.n <= d.from.n {
			f.EndS = f.StartS
		}
		f.StartM, f.EndM = arena.Metres(a), arena.Metres(math.Max(a, b))
		if f.EndS < f.StartS {
			f.EndS = f.StartS
		}
		if d.hasMid {
			_, m := tl.at(d.mid)
			f.Place = tl.line.path.At(arena.Metres(m)).Point
		} else if !d.noPlace {
			f.Place = tl.line.path.At(f.StartM).Point
		}
		m := &c.plan.Movements[d.mov]
		m.Figures = append(m.Figures, f)
	}
	for i := range c.plan.Movements {
		fs := c.plan.Movements[i].Figures
		sort.SliceStable(fs, func(a, b int) bool { return fs[a].StartS < fs[b].StartS })
	}
}

// strides counts the strides of every movement and figure.
func (c *compiler) strides(tl *timeline) {
	cum := make([]float64, len(tl.stations))
	for i := 0; i+1 < len(tl.stations); i++ {
		dt := float64(tl.stations[i+1].t - tl.stations[i].t)
		cum[i+1] = cum[i] + dt*c.tempo(tl.pieces[tl.stations[i].piece])
	}
	at := func(t gait.Seconds) float64 {
		i := sort.Search(len(cum), func(i int) bool { return tl.stations[i].t >= t })
		if i >= len(cum) {
			return cum[len(cum)-1]
		}
		if i == 0 || tl.stations[i].t == tl.stations[i-1].t {
			return cum[i]
		}
		f := float64((t - tl.stations[i-1].t) / (tl.stations[i].t - tl.stations[i-1].t))
		return cum[i-1] + f*(cum[i]-cum[i-1])
	}
	if len(cum) == 0 {
		return
	}
	for i := range c.plan.Movements {
		m := &c.plan.Movements[i]
		m.Strides = at(m.EndS) - at(m.StartS)
		for j := range m.Figures {
			m.Figures[j].Strides = at(m.Figures[j].EndS) - at(m.Figures[j].StartS)
		}
	}
}

// tempo is strides per second of a piece; a pirouette has a slower canter.
func (c *compiler) tempo(e elem) float64 {
	if e.spot && e.turn == 0 {
		return 0
	}
	if e.spot && e.variety.PaceOf() == gait.Canter {
		return 7 / value("turn_canter_s_per_full")
	}
	f, _ := c.opts.Horse.Figures(e.variety)
	if f.StrideM == 0 {
		return 0
	}
	return float64(f.Speed) / f.StrideM
}

// stride is the length of one stride of v as this level and horse ride it, metres.
func (c *compiler) stride(v gait.Variety) float64 {
	e := elem{variety: v}
	if t := c.tempo(e); t > 0 {
		return speeds{c.opts.Horse, c.lvl}.of(e) / t
	}
	return 0
}

// figure notes a figure of the current movement.
func (c *compiler) figure(k terms.Kind, from, to mark, f Figure) *draft {
	f.Kind = k
	if f.Variety == "" {
		f.Variety = c.variety
	}
	if f.Variety.PaceOf() == gait.Canter && f.Lead == NoHand {
		f.Lead = c.lead
	}
	c.drafts = append(c.drafts, draft{Figure: f, mov: c.mov, from: from, to: to, pos: c.acts[c.k].Pos})
	return &c.drafts[len(c.drafts)-1]
}
