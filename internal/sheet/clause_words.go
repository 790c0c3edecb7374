package sheet

import (
	"fmt"
	"strings"
)

func lower(s string) string { return strings.ToLower(s) }

// figures are the acts that a pace named right after them belongs to ("circle left 20 m in
// working canter", "change rein in medium trot").
var figures = map[string]bool{"circle": true, "volte": true, "half circle": true, "figure of eight": true,
	"serpentine": true, "loop": true, "double loop": true, "change rein": true, "half arena": true, "length change": true,
	"change in circle": true, "change circles": true, "leg-yield": true, "shoulder-in": true, "shoulder-out": true,
	"travers": true, "renvers": true, "half-pass": true, "zig-zag": true, "turn on the haunches": true,
	"turn on the forehand": true, "pirouette": true, "half pirouette": true, "quarter pirouette": true,
	"lengthen": true, "enter": true, "centre line": true, "quarter line": true, "turn": true, "turn across": true,
	"track": true, "stretch": true, "follow": true, "give and retake": true, "return": true, "counter-canter": true,
	"straight": true, "corner return": true}

func (b *builder) formWord(t tok) {
	if b.cur >= 0 && b.inner && !b.paceNext() && b.acts[b.cur].Pace != "" && b.acts[b.cur].Form == "" {
		b.acts[b.cur].Form = t.val // "walk (medium)"
		return
	}
	if b.cur >= 0 && !b.apart {
		if c := &b.acts[b.cur]; c.Kind == "pace" && c.Form == "" && c.Variety == "" && b.toks[b.i-2].cat == "pace" && !b.paceNext() {
			c.Form = t.val // "trot working"
			return
		}
	}
	b.pre.Form = t.val
	if b.pre.Column == 0 {
		b.pre.Pos = b.pos(t)
	}
}

func (b *builder) paceNext() bool {
	return b.i < len(b.toks) && (b.toks[b.i].cat == "pace" || b.toks[b.i].cat == "lead")
}

// loneForm makes an act of a form without a pace ("K collected").
func (b *builder) loneForm() {
	if b.pre.Form == "" {
		return
	}
	if b.i < len(b.toks) && b.i > 0 && b.toks[b.i-1].cat == "form" && b.paceNext() {
		return
	}
	f, p := b.pre.Form, b.pre.Pos
	b.pre.Form, b.pre.Pos = "", Pos{}
	if b.cur >= 0 && !b.apart && figures[b.acts[b.cur].Kind] && b.acts[b.cur].Form == "" {
		b.acts[b.cur].Form = f
		return
	}
	a := b.head("pace", tok{col: p.Column, end: p.Column + len(f)})
	a.Form = f
}

// pace starts a change of pace or gives the figure before its pace.
func (b *builder) pace(t tok) {
	if b.from { // "transition from passage to piaffe": the old pace
		b.from, b.pre.Form, b.pre.Pos = false, "", Pos{}
		return
	}
	form, pos := b.pre.Form, b.pre.Pos
	b.pre.Form, b.pre.Pos = "", Pos{}
	if b.cur >= 0 && b.inner && figureFamilies[b.acts[b.cur].Kind] == figureFamilies["simple change"] {
		b.giveBack(&b.acts[b.cur], false) // "simple change (3-5 walk steps)"
		b.target().Quals = nil
		return
	}
	if b.cur >= 0 && b.paceOfFigure() {
		c := &b.acts[b.cur]
		b.setPace(c, t, form)
		if b.apart {
			c.addQual("pace after comma")
			b.giveBack(c, true)
			b.apart = false
		}
		b.widen(c, t)
		return
	}
	if b.cur >= 0 && !b.apart && b.samePace(t, form) {
		c := &b.acts[b.cur]
		giveString(&c.Form, &form)
		b.giveBack(c, false)
		b.widen(c, t)
		return
	}
	if b.cur >= 0 && !b.apart && b.acts[b.cur].Kind == "pace" && b.acts[b.cur].Pace == "" && b.acts[b.cur].Variety == "" && form == "" {
		b.setPace(&b.acts[b.cur], t, b.acts[b.cur].Form)
		return
	}
	if pos.Column > 0 && t.cat == "pace" {
		t.col = pos.Column
	}
	b.setPace(b.head("pace", t), t, form)
}

// samePace reports a pace named twice in one breath: "strike off collected canter", "collected
// canter left, strike off" is one change of pace.
func (b *builder) samePace(t tok, form string) bool {
	c := b.acts[b.cur]
	return t.cat == "pace" && c.Kind == "pace" && c.Pace == t.val && (c.Form == "" || form == "") && b.pre.At == nil && form+c.Form != "" && !b.then
}

func (b *builder) setPace(a *Act, t tok, form string) {
	if t.cat == "variety" {
		a.Variety = t.val
		return
	}
	a.Pace, a.Form = t.val, form
}

// paceOfFigure reports whether the pace now read belongs to the current figure.
func (b *builder) paceOfFigure() bool {
	c := &b.acts[b.cur]
	if !figures[c.Kind] || c.Pace != "" || c.Variety != "" || b.then || b.pre.At != nil {
		return false
	}
	if b.apart && (!b.comma || c.Kind == "enter" || c.Kind == "track" || b.placeNext()) {
		return b.apart && c.Kind == "enter" && b.comma && !b.placeNext()
	}
	return true
}

// placeNext reports whether a place follows before the next separator.
func (b *builder) placeNext() bool {
	for _, t := range b.toks[b.i:] {
		switch t.cat {
		case "letters":
			return true
		case "prep":
			return t.val != "to" && t.val != "from" && t.val != "towards"
		case "sep", "act", "form", "pace", "variety":
			return false
		}
	}
	return false
}

// letters places the current or the coming act.
func (b *builder) letters(t tok) {
	p := &Place{Pos: b.pos(t), Kind: At, Letters: t.letters}
	if len(t.letters) > 1 {
		p.Kind = Route
	}
	b.place(p)
}

func (b *builder) place(p *Place) {
	if b.cur >= 0 && b.apart && b.comma && b.routeOfFigure(p) {
		b.acts[b.cur].At, b.apart = p, false
		return
	}
	if b.cur < 0 || b.apart || b.then {
		b.waitingPlace(p)
		return
	}
	c := &b.acts[b.cur]
	switch {
	case c.At != nil && c.At.Kind == At && p.Kind == At && len(p.Letters) == 1 && len(c.At.Letters) == 1 && c.At.Letters[0] == p.Letters[0]:
		// said twice: in the column of letters and in the wording
	case c.To != nil && c.To.Line != "" && len(c.To.Letters) == 0 && len(p.Letters) > 0 && !b.headNext():
		c.To.Kind, c.To.Letters = p.Kind, p.Letters // "to the quarter line between I and S"
	case c.At == nil && !(b.headNext() && c.Kind == "pace"):
		c.At = p
	case b.headNext() && c.At != nil:
		b.pre.At = p
	case c.To == nil && p.Kind != Portion:
		c.To = p
	default:
		b.pre.At = p
	}
}

// routeOfFigure reports a route after a comma that begins where the half circle or the line just
// named begins: "E half circle left, 20 metres, E-B in free walk".
func (b *builder) routeOfFigure(p *Place) bool {
	c := b.acts[b.cur]
	if c.Kind != "half circle" && c.Kind != "change rein" && c.Kind != "half arena" {
		return false
	}
	return p.Kind == Route && len(p.Letters) > 1 && c.To == nil && c.At != nil && c.At.Kind == At && len(c.At.Letters) == 1 && c.At.Letters[0] == p.Letters[0]
}

// waitingPlace keeps a place for the next head; letters that follow letters make a route.
func (b *builder) waitingPlace(p *Place) {
	q := b.pre.At
	if q == nil || len(p.Letters) == 0 || len(q.Letters) == 0 || q.Kind == Between || p.Kind != At && p.Kind != Route {
		if q != nil && q.Kind == Portion {
			return
		}
		b.pre.At = p
		return
	}
	if q.Kind == At || q.Kind == Route {
		q.Letters = append(append([]string(nil), q.Letters...), p.Letters...)
		q.Kind = Route
		return
	}
	b.pre.At = p
}

// prep reads a place with its preposition.
func (b *builder) prep(t tok) {
	j := b.i
	for j < len(b.toks) && (b.toks[j].cat == "skip" || b.toks[j].cat == "open" || b.toks[j].cat == "prep" && b.toks[j].val == "at") {
		j++
	}
	if j >= len(b.toks) {
		return
	}
	next := b.toks[j]
	switch {
	case next.cat == "letters":
		b.i = j + 1
		b.prepLetters(t, next)
	case next.cat == "num" && t.val == "between":
		b.betweenNumbers(j)
	case next.cat == "line" && t.val == "between":
		b.betweenLines(j)
	case next.cat == "line" && t.val != "between":
		b.i = j + 1
		b.prepLine(t, next)
	case t.val == "from" && (next.cat == "form" || next.cat == "pace" || next.cat == "variety"):
		b.from = true
	}
}

func (b *builder) prepLetters(t, l tok) {
	p := &Place{Pos: b.pos(t), Kind: PlaceKind(t.val), Letters: l.letters}
	switch t.val {
	case "between":
		p.Letters = append([]string(nil), p.Letters...)
		b.betweenEnd(p)
		b.place(p)
	case "to", "towards":
		p.Kind = At
		if len(p.Letters) > 1 {
			p.Kind = Route
		}
		b.setTo(p)
	case "from":
		p.Kind = At
		if len(p.Letters) > 1 {
			p.Kind = Route
		}
		b.placeFrom(p)
	case "via":
		if a := b.target(); a.At != nil {
			a.At.Letters, a.At.Kind = append(append([]string(nil), a.At.Letters...), l.letters...), Route
		}
	case "at":
		if len(p.Letters) > 1 {
			p.Kind = Route
		}
		b.place(p)
	default:
		b.place(p)
	}
}

// betweenEnd reads the second letter of "between C and H", "between C & H", "between C to H".
func (b *builder) betweenEnd(p *Place) {
	if len(p.Letters) > 1 {
		return
	}
	j := b.i
	for j < len(b.toks) {
		t := b.toks[j]
		if t.cat == "letters" {
			p.Letters = append(p.Letters, t.letters[0])
			b.i = j + 1
			return
		}
		if t.cat != "join" && t.cat != "skip" && t.cat != "open" && !(t.cat == "prep" && t.val == "to") {
			break
		}
		j++
	}
	p.Kind = Near
	b.probs = append(b.probs, Problem{Pos: p.Pos, Severity: Warning,
		Message: fmt.Sprintf("\"between %s\" names one letter only; read as near %s", p.Letters[0], p.Letters[0]), Suggestion: "between C and H"})
}

// betweenLines passes over "between the centre line and the long side", which names no one place.
func (b *builder) betweenLines(j int) {
	for b.i = j + 1; j < len(b.toks) && j < b.i+3; j++ {
		if b.toks[j].cat == "line" {
			b.i = j + 1
		} else if b.toks[j].cat != "join" && b.toks[j].cat != "skip" {
			return
		}
	}
}

// betweenNumbers reads "between 15 and 20 m" as the range 15-20 m.
func (b *builder) betweenNumbers(j int) {
	if j+2 < len(b.toks) && b.toks[j+1].cat == "join" && b.toks[j+2].cat == "num" && b.toks[j+2].to >= b.toks[j].num {
		b.toks[j+2].num = b.toks[j].num
		b.i = j + 2
	}
}

func (b *builder) setTo(p *Place) {
	a := b.target()
	if a == &b.pre && b.cur >= 0 && b.acts[b.cur].To == nil && !b.headNext() {
		a = &b.acts[b.cur]
	}
	if a.To == nil {
		a.To = p
	}
}

func (b *builder) placeFrom(p *Place) {
	a := b.target()
	if a.At == nil || a.At.Kind != At {
		a.At = p
		return
	}
	if len(p.Letters) > 1 { // "K half-pass from K-X"
		a.At = p
	}
}

func (b *builder) prepLine(t, l tok) {
	p := &Place{Pos: b.pos(t), Line: l.val}
	switch t.val {
	case "to", "towards":
		p.Kind = At
		b.setTo(p)
	case "from":
		p.Kind = At
		if a := b.target(); a.SizeM == 0 && a.At == nil {
			a.At = p
		}
	case "over", "each crossing", "before", "after":
		p.Kind = PlaceKind(t.val)
		if l.val == "centre line" || l.val == "quarter line" {
			b.place(p)
		}
	case "at":
		if l.val == "centre line" {
			p.Kind = Over
			b.place(p)
		}
	}
}

// lineWord reads a line named without a preposition of its own.
func (b *builder) lineWord(t tok) {
	p := &Place{Pos: b.pos(t), Kind: At, Line: t.val}
	switch {
	case t.val == "track" && strings.HasPrefix(t.text, "back") && b.cur >= 0 && b.acts[b.cur].Kind == "half circle" && b.placeNext():
		b.head("return", t) // "back to the track between B and F"
	case t.val == "track" && (strings.HasPrefix(t.text, "to") || strings.HasPrefix(t.text, "onto") || strings.HasPrefix(t.text, "back")):
		b.setTo(p)
	case t.val == "centre line" || t.val == "quarter line":
		if b.cur < 0 && b.pre.At != nil && len(b.pre.At.Letters) > 1 && strings.HasPrefix(t.val, "centre") {
			return // "L-I on the centre line ...": the letters say it
		}
		if b.cur < 0 || b.apart && !b.headNext() {
			b.act(tok{cat: "act", val: t.val, text: t.text, col: t.col, end: t.end})
			return
		}
		a := b.target()
		if a.To == nil && lateral[a.Kind] {
			a.To = p
		}
	case t.val == "diagonal" && b.cur < 0 && b.pre.At != nil && (len(b.pre.At.Letters) > 1 || b.pre.To != nil):
		b.head("change rein", t)
	}
}

var lateral = map[string]bool{"leg-yield": true, "half-pass": true, "shoulder-in": true, "travers": true, "renvers": true, "shoulder-out": true}

// numberWord gives a number to the act it describes by the unit that follows it.
func (b *builder) numberWord(t tok) {
	j := b.i
	for j < len(b.toks) && j < b.i+3 && b.toks[j].cat == "skip" {
		j++
	}
	next := tok{cat: "end"}
	if j < len(b.toks) {
		next = b.toks[j]
	}
	a := b.target()
	if len(t.list) > 0 {
		a.List = t.list
		return
	}
	switch {
	case next.cat == "unit" || next.cat == "nth" && next.val == "2":
		b.i = j + 1
		if next.cat == "nth" {
			next.val = "s" // "a 4 second halt"
		}
		b.quantity(a, t, next.val)
	case next.cat == "times":
		b.i = j + 1
		if a.Count == 0 {
			a.Count = int(t.num)
		}
	case next.cat == "every":
		b.pre.Count, b.pre.CountTo, b.apart = int(t.num), int(t.to), true
	case next.cat == "act":
		b.countedAct(t, next)
	case next.cat == "pace":
		b.pre.Count, b.pre.CountTo, b.pre.Unit, b.apart = int(t.num), int(t.to), "steps", true
	default:
		b.bareNumber(a, t)
	}
}

func (b *builder) quantity(a *Act, t tok, unit string) {
	switch unit {
	case "m":
		size := b.middle(t, "m")
		if a != &b.pre && a.Kind == "pace" && b.headNext() {
			a, b.apart = &b.pre, true // "trot a 10 m circle"
		}
		if a.SizeM == 0 {
			a.SizeM = size
		} else if a != &b.pre && b.headNext() {
			b.pre.SizeM, b.apart = size, true
		}
	case "s":
		b.seconds(a, t)
	case "deg":
		a.Degrees = t.num
	case "loops":
		if b.loopsAlone(a, t) {
			return
		}
		fallthrough
	default:
		if a.Count == 0 || a.Unit == "" {
			a.Count, a.CountTo, a.Unit = int(t.num), int(t.to), unit
		}
	}
	b.widen(a, t)
}

// maxSeconds is the longest halt a sheet may ask: far beyond any that is ridden, far below one whose
// timeline would fill the memory.
const maxSeconds = 600

// seconds takes how long something is held.
func (b *builder) seconds(a *Act, t tok) {
	if t.num > maxSeconds {
		b.probs = append(b.probs, Problem{Pos: b.pos(t), Severity: Error, Message: fmt.Sprintf("%s seconds; allowed: up to %d", t.text, maxSeconds)})
		return
	}
	a.Seconds = b.middle(t, "s")
}

// middle is the number planned for a range that leaves the choice to the rider; it says so.
func (b *builder) middle(t tok, unit string) float64 {
	if t.to <= t.num {
		return t.num
	}
	mid := (t.num + t.to) / 2
	b.probs = append(b.probs, Problem{Pos: b.pos(t), Severity: Note,
		Message: fmt.Sprintf("%g to %g %s is left to the rider; %g %s is planned", t.num, t.to, unit, mid, unit)})
	return mid
}

// countedAct reads "3 loop serpentine", "5 flying changes", "two circles".
func (b *builder) countedAct(t, next tok) {
	if b.cur >= 0 && b.acts[b.cur].Kind == "serpentine" && next.val == "loop" ||
		b.cur >= 0 && b.acts[b.cur].Kind == "zig-zag" && next.val == "half-pass" {
		b.acts[b.cur].Count = int(t.num)
		return
	}
	b.pre.Count, b.pre.CountTo = int(t.num), int(t.to)
	if b.cur >= 0 {
		b.apart = true
	}
}

// bareNumber reads a number without a unit by the act it stands beside.
func (b *builder) bareNumber(a *Act, t tok) {
	kind := a.Kind
	switch {
	case b.inner && a.Count > 0: // "(2-time changes)"
	case t.num != t.to, kind == "rein-back", kind == "serpentine", kind == "flying change", kind == "change", kind == "zig-zag", kind == "simple change":
		a.Count, a.CountTo = int(t.num), int(t.to)
	case kind == "halt":
		b.seconds(a, t)
	case (kind == "circle" || kind == "volte") && t.num < 4: // "twice"
		if a.Count == 0 {
			a.Count = int(t.num)
		}
	case kind == "circle", kind == "volte", kind == "half circle", kind == "loop", kind == "figure of eight", kind == "" && t.num >= 4:
		if a.SizeM == 0 {
			a.SizeM = t.num
		}
	default:
		if t.num > 2 {
			b.probs = append(b.probs, Problem{Pos: b.pos(t), Severity: Warning, Message: fmt.Sprintf("the number %s has no unit and was left out", t.text),
				Suggestion: "write m, steps, strides, loops or seconds after it"})
		}
	}
}

// tidy puts right what only the whole part shows.
func (b *builder) tidy() {
	for i, a := range b.acts {
		if a.Kind == "judged" { // what follows says what is marked, not what is ridden
			b.acts = b.acts[:i+1]
			break
		}
	}
	b.spreadLoops()
	for i := range b.acts {
		if a := &b.acts[i]; a.Kind == "pace" && a.Unit == "lengths" {
			a.Count, a.CountTo, a.Unit = a.Count*stepsOfLength[0], a.Count*stepsOfLength[1], "steps"
		}
	}
	b.withinRoute()
	var out []Act
	for i, a := range b.acts {
		if i > 0 && a.Then && a.At == nil && a.Kind == b.acts[i-1].Kind && repeatable[a.Kind] && len(out) > 0 && out[len(out)-1].SizeM == 0 {
			out[len(out)-1].SizeM = a.SizeM // "circle right and left 10 m"
		}
		if a.Is("radius") {
			a.SizeM *= 2
		}
		if a.Kind == "change rein" && (a.At == nil || len(a.At.Letters) < 2) && a.To == nil && explained(b.acts, i) {
			if a.At != nil && i+1 < len(b.acts) && b.acts[i+1].At == nil {
				b.acts[i+1].At = a.At
			}
			continue
		}
		if a.Kind == "half-pass" && (len(a.List) > 1 || a.Count > 1 && a.Unit == "") {
			a.Kind = "zig-zag"
		}
		if a.Kind == "simple change" && a.Is("through trot") {
			a.Kind = "trot change"
		}
		if a.Kind == "serpentine" && a.Is("deep") && a.Count == 2 {
			a.Kind = "double loop"
		}
		if kind := partOf[a.Kind][a.Frac]; kind != "" {
			a.Kind, a.Frac = kind, 0
		}
		if (a.Kind == "circle" || a.Kind == "volte") && a.Frac == 0.5 {
			a.Kind, a.Frac = "half circle", 0
		}
		out = append(out, a)
	}
	b.acts = out
}

// withinRoute parts "K-X-M change the rein, medium trot to X, X-M working trot" and "... in medium
// trot to X, then working trot": the place inside the line is where the next pace begins.
func (b *builder) withinRoute() {
	for i := 0; i+1 < len(b.acts); i++ {
		a, next := &b.acts[i], &b.acts[i+1]
		if a.Kind != "change rein" || a.At == nil || len(a.At.Letters) < 3 || a.To == nil || len(a.To.Letters) != 1 || next.Kind != "pace" {
			continue
		}
		l := a.To.Letters[0]
		for _, m := range a.At.Letters[:len(a.At.Letters)-1] {
			if m == l && (next.At == nil || next.At.Letters != nil && next.At.Letters[0] == l) {
				next.At = &Place{Pos: a.To.Pos, Kind: At, Letters: []string{l}}
				a.To = nil
				break
			}
		}
	}
}

// spiral says that a circle which changes its size is planned in the one it begins with.
func (b *builder) spiral(t tok) {
	if b.cur < 0 || b.acts[b.cur].Kind != "circle" && b.acts[b.cur].Kind != "volte" {
		if b.headNext() || b.cur >= 0 && strings.HasPrefix(t.text, "and ") {
			return
		}
		b.head("circle", t)
	}
	c := &b.acts[b.cur]
	b.apart = false
	if c.SizeM == 0 {
		c.SizeM = 20
	}
	if c.Is("spiral") {
		return
	}
	c.addQual("spiral")
	b.probs = append(b.probs, Problem{Pos: b.pos(t), Severity: Note,
		Message: fmt.Sprintf("the circle is planned at %g m all the way; its change of size is left to the rider", c.SizeM)})
}

// partOf names the parts of a figure that have a kind of their own.
var partOf = map[string]map[float64]string{"pirouette": {0.5: "half pirouette", 0.25: "quarter pirouette"}}

// explained reports whether another figure of the part says how the rein is changed.
func explained(acts []Act, i int) bool {
	for j, a := range acts {
		switch a.Kind {
		case "half circle", "change in circle", "change circles", "serpentine", "turn across", "centre line", "figure of eight", "circle":
			if j != i && a.Kind != "circle" {
				return true
			}
		case "turn":
			if j > i {
				return true
			}
		}
	}
	return false
}
