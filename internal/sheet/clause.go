package sheet

import (
	"fmt"
)

// builder turns the concepts of one part into acts. Words before a head word ("20 m circle",
// "between C and H canter") wait in pre; words after it go to the act itself until a
// separator; what is left over goes back to the last act.
type builder struct {
	v        *vocabulary
	near     func(string) string // nearest word of the vocabulary
	toks     []tok
	i        int
	line     int
	acts     []Act
	cur      int // index of the act being described, -1 when none
	pre      Act
	apart    bool          // a separator or a joining word came since the act's head
	comma    bool          // that separator was a comma
	then     bool          // the wording says "then"
	from     bool          // "from" came before a pace: it names the old one
	inner    bool          // inside a bracket
	loops    []int         // of the serpentine, that the words from here on are about
	loopActs map[int][]int // the loops of an act, by its index
	probs    []Problem
	bad      []tok // words not known
}

// buildActs reads the acts of a part.
func buildActs(v *vocabulary, near func(string) string, toks []tok, line int) ([]Act, []Problem) {
	b := &builder{v: v, near: near, toks: toks, line: line, cur: -1, loopActs: map[int][]int{}}
	b.series()
	for b.i < len(b.toks) {
		b.step(b.toks[b.i])
	}
	b.loneForm()
	b.leftover()
	b.tidy()
	b.unknowns()
	return b.acts, b.probs
}

func (b *builder) step(t tok) {
	b.i++
	switch t.cat {
	case "sep":
		b.separator(t)
	case "join":
		b.settle()
		b.apart, b.comma = true, false
	case "open":
		b.bracket()
	case "close":
		b.inner = false
	case "skip", "times", "page", "rest":
	case "nth":
		b.ordinal(t)
	case "act":
		b.act(t)
	case "form":
		b.loneForm()
		b.formWord(t)
	case "pace", "variety":
		b.pace(t)
	case "lead":
		b.lead(t)
	case "hand":
		b.hand(t)
	case "letters":
		b.letters(t)
	case "prep":
		b.prep(t)
	case "line":
		b.lineWord(t)
	case "num":
		b.numberWord(t)
	case "unit":
		b.bareUnit(t)
	case "frac":
		b.pre.Frac = t.num
	case "every":
		b.every(t)
	case "portion":
		b.place(&Place{Pos: b.pos(t), Kind: Portion, Fraction: t.num})
	case "qual":
		b.qual(t)
	default:
		b.bad = append(b.bad, t)
	}
}

// bracket passes over a bracket that says what is judged: "(transition at H)". Where nothing
// stands before it, it is the wording itself.
func (b *builder) bracket() {
	b.inner = true
	judged := false
	for j := b.i; j < len(b.toks) && b.toks[j].cat != "sep"; j++ {
		t := b.toks[j]
		judged = judged || t.val == "judged" || t.val == "develop" || t.cat == "letters" && len(t.letters) > 2 && len(b.acts) > 0
		if t.cat == "close" {
			if judged && len(b.acts) > 0 {
				b.i, b.inner = j+1, false
			} else if judged {
				b.act(tok{cat: "act", val: "judged", text: t.text, col: b.toks[b.i].col, end: t.end})
			}
			return
		}
	}
}

func (b *builder) pos(t tok) Pos { return Pos{b.line, t.col} }

// target is the act that a describing word belongs to.
func (b *builder) target() *Act {
	if b.cur >= 0 && !b.apart {
		return &b.acts[b.cur]
	}
	return &b.pre
}

func (b *builder) separator(t tok) {
	b.loneForm()
	if b.cur >= 0 && b.pre.At != nil && b.pre.At.Kind == Route && b.acts[b.cur].To == nil && (b.acts[b.cur].Kind == "change rein" || b.acts[b.cur].Kind == "half arena") && (t.val == "," || b.acts[b.cur].At == nil || len(b.acts[b.cur].At.Letters) < 2) {
		b.acts[b.cur].To, b.pre.At = b.pre.At, nil // "change rein, H-X-F, medium trot"
	}
	b.settle()
	b.apart, b.comma = true, t.val == "," || t.val == ":"
	if t.val == "." || t.val == ";" {
		b.then = len(b.acts) > 0
	}
	b.from = false
}

// settle gives plain attributes waiting in pre back to the act before, where it lacks them.
func (b *builder) settle() {
	if b.cur < 0 {
		return
	}
	b.giveBack(&b.acts[b.cur], false)
}

func (b *builder) leftover() {
	if b.cur >= 0 {
		b.giveBack(&b.acts[b.cur], true)
	}
	if b.pre.At != nil && b.cur < 0 {
		a := b.pre
		a.Kind, a.Pos = "ride", b.pre.At.Pos
		b.acts = append(b.acts, a)
		b.cur, b.pre = len(b.acts)-1, Act{}
	}
}

func (b *builder) giveBack(a *Act, places bool) {
	p := &b.pre
	if places {
		if p.At != nil && a.At == nil {
			a.At, p.At = p.At, nil
		} else if p.At != nil && a.To == nil {
			a.To, p.At = p.At, nil
		}
	}
	if p.To != nil && a.To == nil {
		a.To, p.To = p.To, nil
	}
	giveString(&a.Hand, &p.Hand)
	giveString(&a.Lead, &p.Lead)
	giveString(&a.EndHand, &p.EndHand)
	giveFloat(&a.SizeM, &p.SizeM)
	giveFloat(&a.Seconds, &p.Seconds)
	giveFloat(&a.Degrees, &p.Degrees)
	giveFloat(&a.Frac, &p.Frac)
	if a.Count == 0 && len(a.List) == 0 {
		a.Count, a.CountTo, a.Unit, a.List = p.Count, p.CountTo, p.Unit, p.List
		p.Count, p.CountTo, p.Unit, p.List = 0, 0, "", nil
	}
	if a.Every == 0 {
		a.Every, p.Every = p.Every, 0
	}
	for q := range p.Quals {
		a.addQual(q)
	}
	p.Quals = nil
}

func giveString(to, from *string) {
	if *to == "" {
		*to, *from = *from, ""
	}
}

func giveFloat(to, from *float64) {
	if *to == 0 {
		*to, *from = *from, 0
	}
}

func (a *Act) addQual(q string) {
	if a.Quals == nil {
		a.Quals = map[string]bool{}
	}
	a.Quals[q] = true
}

// head starts a new act with everything that waited for it.
func (b *builder) head(kind string, t tok) *Act {
	a := b.pre
	b.pre = Act{}
	a.Kind, a.Pos, a.Width = kind, b.pos(t), t.end-t.col
	a.Then = b.then && len(b.acts) > 0
	if len(b.loops) > 0 {
		a.Loop = b.loops[0]
		b.loopActs[len(b.acts)] = b.loops
	}
	b.acts = append(b.acts, a)
	b.cur, b.apart, b.comma, b.then, b.from = len(b.acts)-1, false, false, false, false
	return &b.acts[b.cur]
}

// act starts the act of a head word, or joins it to the act before where both name one thing.
func (b *builder) act(t tok) {
	if t.val == "loop" && b.loopNumbered() {
		b.bareUnit(t)
		return
	}
	b.loneForm()
	if b.cur >= 0 {
		c := &b.acts[b.cur]
		switch {
		case b.inner && sameFigure(c.Kind, t.val) && b.pre.At == nil:
			b.giveBack(c, true) // "circle left 8 m (volte)"
			b.apart = false
			return
		case c.Kind == "turn" && (t.val == "centre line" || t.val == "quarter line") && b.pre.At == nil:
			c.Kind, b.apart = t.val, false
			return
		case c.Kind == "stretch" && t.val == "stretch" && b.pre.At == nil: // "take the rein and stretch"
			b.giveBack(c, true)
			return
		case c.Kind == "zig-zag" && t.val == "half-pass", c.Kind == "half-pass" && t.val == "zig-zag":
			c.Kind, b.apart = "zig-zag", false
			b.giveBack(c, true)
			return
		case c.Kind == "loop" && t.val == "serpentine" && !b.apart:
			c.Kind = "serpentine"
			return
		case sameCircle(c.Kind, t) && b.pre.At == nil && b.pre.Hand == "" && (b.pre.SizeM == 0 || c.SizeM == 0):
			b.giveBack(c, true)
			return
		case c.Kind == "serpentine" && (t.val == "loop" || t.val == "half circle") && b.pre.At == nil,
			c.Kind == "half circle" && t.val == "circle" && !b.apart,
			c.Kind == "corner return" && (t.val == "circle" || t.val == "half circle" || t.val == "volte" || t.val == "return") && b.pre.At == nil,
			c.Kind == "figure of eight" && (t.val == "circle" || t.val == "volte") && b.pre.At == nil && b.pre.Hand == "",
			c.Kind == "enter" && t.val == "centre line" && c.At != nil && b.pre.At == nil && c.At.Letters != nil,
			c.Kind == t.val && !b.apart && t.val != "turn":
			b.giveBack(c, true)
			return
		}
	}
	if c := b.cur; c >= 0 && len(b.loops) > 0 && t.val == "loop" && b.pre.SizeM == 0 {
		return // "the second loop"
	}
	if t.val == "halt and salute" {
		b.head("halt", t)
		b.head("salute", t)
		return
	}
	b.head(t.val, t)
}

// sameCircle reports a second word for the circle already named: "on the circle, once round".
func sameCircle(kind string, t tok) bool {
	if kind != "circle" && kind != "volte" && kind != "half circle" {
		return false
	}
	return t.val == "follow" || t.val == "circle" && (t.text == "on the circle" || t.text == "on a circle")
}

// qual notes a qualifier.
func (b *builder) qual(t tok) {
	switch t.val {
	case "then":
		b.loneForm()
		b.settle()
		b.then, b.apart, b.comma = true, true, false
	case "develop":
		b.loneForm()
		if t.text == "transition from" {
			b.from = true
		}
		b.settle()
		b.apart, b.comma = true, false
	case "finish":
		b.target().addQual("finish")
	case "true":
		if len(b.loops) > 0 {
			b.head("next loop", t)
			return
		}
		b.pace(tok{cat: "pace", val: "canter", text: t.text, col: t.col, end: t.end})
	case "spiral":
		b.spiral(t)
	case "each crossing":
		b.eachCrossing()
	case "each change":
		b.target().addQual(t.val)
		b.backToZigZag()
	default:
		b.target().addQual(t.val)
	}
}

// backToZigZag goes on describing the zig-zag after its flying changes are named.
func (b *builder) backToZigZag() {
	if b.cur < 1 || b.acts[b.cur].Kind == "zig-zag" {
		return
	}
	for i := b.cur - 1; i >= 0; i-- {
		if b.acts[i].Kind == "zig-zag" {
			b.cur = i
			return
		}
	}
}

// eachCrossing makes "over the centre line ... each time" of the place already named.
func (b *builder) eachCrossing() {
	for _, p := range []*Place{b.target().At, b.target().To, b.pre.At} {
		if p != nil && p.Kind == Over && p.Line != "" {
			p.Kind = EachCross
		}
	}
}

// every reads "every third stride"; said of nothing else it is said of flying changes ("9 one
// tempis").
func (b *builder) every(t tok) {
	if a := b.target(); a == &b.pre && b.pre.Count > 1 && !b.headNext() {
		b.head("flying change", t)
	}
	b.target().Every = int(t.num)
}

// hand notes left or right; after "and" it asks the figure once more to the other side.
func (b *builder) hand(t tok) {
	a := b.target()
	if a.Quals["finish"] {
		a.EndHand = t.val
		delete(a.Quals, "finish")
		return
	}
	if b.apart && b.cur >= 0 && b.acts[b.cur].Hand != "" && b.acts[b.cur].Hand != t.val && repeatable[b.acts[b.cur].Kind] && !b.headNext() {
		c := b.acts[b.cur]
		c.Hand, c.Then, c.At, c.Pos = t.val, true, nil, b.pos(t)
		b.acts = append(b.acts, c)
		b.cur, b.apart = len(b.acts)-1, false
		return
	}
	if a == &b.pre || a.Hand == "" {
		a.Hand = t.val
		b.widen(a, t)
		return
	}
	if a.Hand != t.val {
		b.pre.Hand, b.apart = t.val, true
	}
}

var repeatable = map[string]bool{"circle": true, "volte": true, "half circle": true, "pirouette": true,
	"half pirouette": true, "quarter pirouette": true, "turn on the haunches": true, "half-pass": true}

func (b *builder) widen(a *Act, t tok) {
	if a != &b.pre {
		a.Width = max(a.Width, t.end-a.Column)
	}
}

// lead notes a canter lead; "canter left" names pace and lead at once.
func (b *builder) lead(t tok) {
	if t.text == "canter left" || t.text == "canter right" || t.text == "left canter" || t.text == "right canter" {
		old := b.from // "transition from canter left to trot": the old pace
		b.pace(tok{cat: "pace", val: "canter", text: t.text, col: t.col, end: t.end})
		if !old && b.cur >= 0 {
			b.acts[b.cur].Lead = t.val
		}
		return
	}
	a := b.target()
	if a == &b.pre && b.cur >= 0 && !b.headNext() {
		a = &b.acts[b.cur]
	}
	a.Lead = t.val
	b.widen(a, t)
}

// headNext reports whether a head word follows before the next separator.
func (b *builder) headNext() bool {
	for _, t := range b.toks[b.i:] {
		switch t.cat {
		case "act", "pace", "variety", "form":
			return true
		case "sep", "prep", "join", "open":
			return false
		}
	}
	return false
}

// unknowns reports the words that are not in the vocabulary: an error when they may carry
// the meaning, a warning when the rest of the line was understood without them.
func (b *builder) unknowns() {
	for _, t := range b.bad {
		near := b.near(lower(t.text))
		p := Problem{Pos: b.pos(t), Severity: Warning, Message: fmt.Sprintf("%q is not understood and was left out", t.text)}
		if len(t.text) == 1 && t.text >= "A" && t.text <= "Z" {
			p.Severity, p.Suggestion = Error, "letters: A K V E S H C M R B P F, D L X I G"
			p.Message = fmt.Sprintf("no arena has a letter %s", t.text)
		} else if b.v.words[lower(t.text)] {
			p.Suggestion = "see the phrases it belongs to in the sheet language"
			p.Message = fmt.Sprintf("%q is not understood here and was left out", t.text)
		} else if near != "" {
			p.Severity, p.Suggestion = Error, fmt.Sprintf("did you mean %q?", near)
			p.Message = fmt.Sprintf("%q is not a word of the sheet language", t.text)
		} else if len(b.acts) == 0 || len(b.acts) == 1 && b.acts[0].Kind == "ride" {
			p.Severity = Error
			p.Message = fmt.Sprintf("%q is not understood; allowed: a figure, pace, halt, turn or transition", t.text)
		}
		b.probs = append(b.probs, p)
	}
}
