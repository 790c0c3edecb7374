package sheet

import "fmt"

// share is what is said of one half-pass of a zig-zag, or of all that nothing else is said of.
type share struct {
	nth   int // from 1; -1 the last; 0 all others
	many  int // of "the 3 following"
	value int
	unit  string
}

// series gathers what a zig-zag says of its single half-passes ("first 3 strides, the others 6,
// the last 3"; "3, 6, 6 and 3 strides") into one list, before the words are read.
func (b *builder) series() {
	head := -1
	for i, t := range b.toks {
		if isHalfPass(t) {
			head = i
			break
		}
	}
	if head < 0 {
		return
	}
	shares, used := b.shares(head)
	hand := b.firstHand(head)
	if len(shares) == 0 && hand < 0 {
		return
	}
	if used == nil {
		used = map[int]bool{}
	}
	used[hand] = true
	var out []tok
	for i, t := range b.toks {
		counted := len(shares) > 0 && i > head && t.cat == "num" && i+1 < len(b.toks) && isHalfPass(b.toks[i+1])
		if used[i] || counted || len(shares) > 0 && i > head && isHalfPass(t) {
			continue
		}
		if i == head {
			t.val = "zig-zag"
			out = append(out, t)
			if hand >= 0 {
				out = append(out, b.toks[hand])
			}
			if len(shares) > 0 {
				out = append(out, b.listOf(shares, b.countBefore(head), t)...)
			}
			continue
		}
		out = append(out, t)
	}
	b.toks = out
}

func isHalfPass(t tok) bool { return t.cat == "act" && (t.val == "half-pass" || t.val == "zig-zag") }

// firstHand is the index of the side that "the first (half-pass) to the left" names, -1 for none.
func (b *builder) firstHand(head int) int {
	for i := head; i < len(b.toks); i++ {
		if b.toks[i].cat != "nth" || b.toks[i].val != "1" {
			continue
		}
		for j := i + 1; j < len(b.toks); j++ {
			switch t := b.toks[j]; {
			case t.cat == "hand":
				return j
			case t.cat == "skip", t.cat == "page", t.cat == "prep", isHalfPass(t):
				continue
			}
			break
		}
	}
	return -1
}

// countBefore is the number of half-passes said before the head word, 0 when none is.
func (b *builder) countBefore(head int) int {
	for i := head - 1; i >= 0 && i >= head-3; i-- {
		if b.toks[i].cat == "num" {
			return int(b.toks[i].num)
		}
	}
	for i := head; i+1 < len(b.toks); i++ { // "zig-zag, 5 half-passes"
		if b.toks[i].cat == "num" && b.toks[i+1].cat == "act" && b.toks[i+1].val == "half-pass" {
			return int(b.toks[i].num)
		}
	}
	return 0
}

// shares reads the parts of the series and which tokens they use up.
func (b *builder) shares(head int) (out []share, used map[int]bool) {
	used = map[int]bool{}
	rest := false
	for i := 0; i < len(b.toks); i++ {
		t := b.toks[i]
		if t.cat != "nth" && t.cat != "rest" {
			continue
		}
		s := share{}
		if t.cat == "nth" {
			s.nth = int(word{text: t.val}.number())
			if t.val == "-1" {
				s.nth = -1
			}
		} else if i > 0 && b.toks[i-1].cat == "num" {
			s.many = int(b.toks[i-1].num)
		}
		j := b.shareNumber(i + 1)
		if j < 0 {
			continue
		}
		s.value = int(b.toks[j].num)
		used[i], used[j] = true, true
		if s.many > 0 {
			used[i-1] = true
		}
		if j+1 < len(b.toks) && b.toks[j+1].cat == "unit" {
			s.unit, used[j+1] = b.toks[j+1].val, true
		}
		rest = rest || t.cat == "rest"
		out = append(out, s)
	}
	if rest && out[0].nth != 1 {
		out, used = b.plainFirst(head, out, used)
	}
	if len(out) < 2 {
		return nil, nil
	}
	return out, used
}

// plainFirst finds the first number of "3 strides, the others 6".
func (b *builder) plainFirst(head int, shares []share, used map[int]bool) ([]share, map[int]bool) {
	for i := head + 1; i+1 < len(b.toks) && !used[i]; i++ {
		if t := b.toks[i]; t.cat == "num" && b.toks[i+1].cat == "unit" && b.toks[i+1].val == "strides" {
			used[i], used[i+1] = true, true
			return append([]share{{nth: 1, value: int(t.num), unit: "strides"}}, shares...), used
		}
	}
	return shares, used
}

// shareNumber is the index of the number said of a part of the series, -1 when there is none.
func (b *builder) shareNumber(i int) int {
	for ; i < len(b.toks); i++ {
		t := b.toks[i]
		switch {
		case t.cat == "num" && t.num == 1 && i+1 < len(b.toks) && b.toks[i+1].cat == "num": // "the last one 3"
		case t.cat == "num" && len(t.list) == 0:
			if i+1 < len(b.toks) && b.toks[i+1].cat == "rest" {
				return -1
			}
			return i
		case t.cat == "skip" || t.cat == "page" || t.cat == "hand" || t.cat == "join" || t.cat == "prep" ||
			t.cat == "nth" || isHalfPass(t) || t.cat == "sep" && t.val != ";":
		default:
			return -1
		}
	}
	return -1
}

// listOf makes the tokens of the series: strides as a list, metres as the width of the outer ones.
func (b *builder) listOf(shares []share, n int, head tok) []tok {
	last, others, many := false, 0, 0
	for _, s := range shares {
		last = last || s.nth == -1
		if s.nth == 0 {
			others, many = s.value, s.many
		}
	}
	if n == 0 && many > 0 {
		n = 1 + many + int(boolTo(last))
	}
	if n == 0 {
		n = max(3, len(shares))
		b.probs = append(b.probs, Problem{Pos: b.pos(head), Severity: Note, Message: fmt.Sprintf("the number of half-passes is not given; %d are planned", n)})
	}
	n = min(n, 12)
	list := make([]int, n)
	for i := range list {
		list[i] = others
	}
	for _, s := range shares {
		switch {
		case s.nth > 0 && s.nth <= n:
			list[s.nth-1] = s.value
		case s.nth == -1:
			list[n-1] = s.value
		}
	}
	for i := range list {
		if list[i] == 0 && i > 0 {
			list[i] = list[i-1]
		}
	}
	at := tok{cat: "num", col: head.col, end: head.end, text: head.text}
	if shares[0].unit == "m" {
		at.num, at.to = float64(list[0]), float64(list[0])
		return []tok{at, {cat: "unit", val: "m", col: head.col, end: head.end}}
	}
	at.list = list
	return []tok{at}
}

func boolTo(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
