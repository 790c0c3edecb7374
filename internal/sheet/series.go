package sheet

// Words that say something of one part of a series: of a loop of a serpentine ("second loop in
// counter-canter"), of a half-pass of a zig-zag ("first 3 strides, the others 6, the last 3").

// figureFamilies are acts that a bracket may name by another word: "circle left 8 m (volte)".
var figureFamilies = map[string]int{"circle": 1, "volte": 1, "half circle": 2, "return": 2, "corner return": 2,
	"turn on the haunches": 3, "half pirouette": 3, "quarter pirouette": 3, "pirouette": 3, "turn on the forehand": 4,
	"loop": 5, "double loop": 5, "serpentine": 5, "halt": 6, "change rein": 7, "half arena": 7, "half-pass": 8, "zig-zag": 8,
	"simple change": 9, "trot change": 9, "flying change": 10, "change": 10, "change leg": 10, "stretch": 11, "travers": 12, "renvers": 13,
	"shoulder-in": 14, "rein-back": 15, "lengthen": 16, "turn across": 17, "turn": 17}

func sameFigure(a, b string) bool {
	return a == b || figureFamilies[a] != 0 && (figureFamilies[a] == figureFamilies[b] || a == "half circle" && figureFamilies[b] == 1)
}

// loopsAt reads a list of loops from token j on: "second", "1st and 3rd", "1 and 3"; next is the
// token after it. Numbers count only after the word itself ("loops 1 and 3").
func (b *builder) loopsAt(j int, numbers bool, count int) (list []int, next int) {
	for next = j; next < len(b.toks); next++ {
		t := b.toks[next]
		switch {
		case t.cat == "nth" && !numbers:
			n := int(word{text: t.val}.number())
			if t.val == "-1" {
				n = count
			} else if n == 0 {
				n = (count + 1) / 2
			}
			list = append(list, n)
		case t.cat == "num" && numbers && len(t.list) == 0:
			list = append(list, int(t.num))
		case len(list) > 0 && (t.cat == "join" || t.cat == "skip" || t.cat == "page" || t.cat == "sep" && t.val == ",") && b.listGoesOn(next+1, numbers):
		default:
			return list, next
		}
	}
	return list, next
}

func (b *builder) listGoesOn(j int, numbers bool) bool {
	for j < len(b.toks) && (b.toks[j].cat == "skip" || b.toks[j].cat == "page") {
		j++
	}
	return j < len(b.toks) && (b.toks[j].cat == "nth" && !numbers || b.toks[j].cat == "num" && numbers)
}

// serpentineHere is the serpentine of the part, nil when there is none.
func (b *builder) serpentineHere() *Act {
	for i := len(b.acts) - 1; i >= 0; i-- {
		if b.acts[i].Kind == "serpentine" {
			return &b.acts[i]
		}
	}
	return nil
}

// ordinal reads "second loop ..." of a serpentine; elsewhere it says nothing.
func (b *builder) ordinal(t tok) {
	s := b.serpentineHere()
	if s == nil {
		return
	}
	list, next := b.loopsAt(b.i-1, false, s.Count)
	if t.val == "0" { // "the middle loop" is one phrase
		b.onLoops(list, next)
		return
	}
	if next < len(b.toks) && isLoop(b.toks[next]) {
		b.onLoops(list, next+1)
		return
	}
	if len(b.loops) > 0 && next < len(b.toks) { // "first loop true canter, second counter-canter"
		b.onLoops(list, next)
	}
}

// isLoop reports the word for a loop of a serpentine.
func isLoop(t tok) bool {
	return t.cat == "unit" && t.val == "loops" || t.cat == "act" && t.val == "loop"
}

// onLoops makes the words from token i on those of the loops listed.
func (b *builder) onLoops(list []int, i int) {
	b.loneForm()
	b.settle()
	b.loops, b.i = list, i
	b.apart, b.comma = true, false
	b.then = true // a pace named now is not the whole figure's
}

// stepsOfLength are the steps that a horse's length stands for, as for the rein-back (rule text:
// one length, three to four steps).
var stepsOfLength = [2]int{3, 4}

// loopsAlone reads "two loops, 3 m" without a serpentine: loops of a long side.
func (b *builder) loopsAlone(a *Act, t tok) bool {
	if a != &b.pre || b.serpentineHere() != nil || b.cur >= 0 && !b.apart {
		return false
	}
	for _, n := range b.toks[b.i:] {
		if n.cat == "act" && (figureFamilies[n.val] == figureFamilies["loop"] || n.val == "serpentine") {
			return false
		}
	}
	kinds := map[int]string{1: "loop", 2: "double loop"}
	kind, ok := kinds[int(t.num)]
	if ok {
		b.head(kind, t)
	}
	return ok
}

// loopNumbered reports "loop 2" of a serpentine, which is no loop of 2 m.
func (b *builder) loopNumbered() bool {
	i := b.i
	return b.serpentineHere() != nil && i < len(b.toks) && b.toks[i].cat == "num" && !(i+1 < len(b.toks) && b.toks[i+1].cat == "unit")
}

// bareUnit reads "loops 1 and 3"; another unit without a number says nothing.
func (b *builder) bareUnit(t tok) {
	s := b.serpentineHere()
	if s == nil || !isLoop(t) {
		return
	}
	if list, next := b.loopsAt(b.i, true, s.Count); len(list) > 0 && list[0] <= s.Count {
		b.onLoops(list, next)
	}
}

// spreadLoops puts what is asked on single loops of a serpentine in the order it is ridden:
// each begins where the line crosses the centre line.
func (b *builder) spreadLoops() {
	at := -1
	asked := map[int][]Act{}
	last := 0
	var keep []Act
	for i, a := range b.acts {
		if a.Kind == "serpentine" && at < 0 {
			at = len(keep)
		}
		if a.Loop == 0 || at < 0 {
			keep = append(keep, a)
			continue
		}
		for _, n := range b.loopActs[i] {
			asked[n] = append(asked[n], a)
			last = max(last, n)
		}
	}
	if at < 0 || last == 0 || last > 12 {
		return
	}
	b.acts = append([]Act(nil), keep[:at+1]...)
	b.firstLoop(&b.acts[at], asked[1])
	for n := 2; n <= last; n++ {
		b.acts = append(b.acts, onLoop(n, b.acts[at], asked[n])...)
	}
	b.acts = append(b.acts, keep[at+1:]...)
}

// firstLoop gives the serpentine the pace of its first loop.
func (b *builder) firstLoop(s *Act, asked []Act) {
	for _, a := range asked {
		if a.Kind == "pace" && s.Pace == "" && s.Variety == "" && s.Form == "" {
			s.Pace, s.Form, s.Variety = a.Pace, a.Form, a.Variety
		}
		giveString(&s.Lead, &a.Lead)
	}
}

// onLoop are the acts that begin loop n; a loop of which nothing is said still has its place.
func onLoop(n int, s Act, asked []Act) []Act {
	out := append([]Act(nil), asked...)
	if len(out) == 0 {
		out = []Act{{Pos: s.Pos, Width: s.Width, Kind: "next loop"}}
	}
	for i := range out {
		out[i].Loop, out[i].Then = n, false
		if out[i].At == nil && i == 0 {
			out[i].At = &Place{Pos: out[i].Pos, Kind: Over, Line: "centre line"}
		}
	}
	return out
}
