package sheet

import "strings"

// joinWords puts together what typing and printing have parted: dotted and slashed abbreviations
// ("w.t.", "c/l", "K.X.M."), and takes off the full stop of a shortened word ("coll."). Each
// word keeps its place.
func joinWords(v *vocabulary, in []word) []word {
	plain := true
	for _, w := range in {
		plain = plain && w.text != "." && w.text != "/"
	}
	if plain {
		return in
	}
	out := make([]word, 0, len(in))
	for i := 0; i < len(in); {
		w, n := initials(v, in[i:])
		if n == 0 {
			w, n = in[i], 1
			if v.short[w.low] && i+1 < len(in) && in[i+1].text == "." && in[i+1].glued && !(i+2 < len(in) && endsSentence(v, w, in[i+2])) {
				w.end, n = in[i+1].end, 2
			}
		}
		out = append(out, w)
		i += n
	}
	return out
}

// expand writes out shortened words that stand for several ("WCL", and "CL" before a number), and
// the fraction of a line named by its quarter ("3/4 line"). Each word keeps its place.
func expand(v *vocabulary, in []word) []word {
	var out []word
	for i := 0; i < len(in); i++ {
		w := in[i]
		long := v.long[w.low]
		if long == nil && i+1 < len(in) && in[i+1].kind == 'n' && in[i+1].glued {
			long = v.long[w.low+" #"]
		}
		if i+3 < len(in) && in[i+1].text == "/" && in[i+2].text == "4" && in[i+3].low == "line" {
			if q := map[string]string{"1": "onequarter", "3": "threequarter"}[w.text]; q != "" {
				long, w.end = []string{q}, in[i+2].end
				i += 2
			}
		}
		if long == nil {
			out = append(out, w)
			continue
		}
		for _, l := range long {
			out = append(out, word{text: l, low: l, col: w.col, end: w.end, kind: 'w'})
		}
	}
	return out
}

// endsSentence reports whether a full stop between a short word and next ends a sentence: a form
// waits for its pace, a preposition for its letter, a turn for its hand; every other word may be the last before a capital.
func endsSentence(v *vocabulary, w, next word) bool {
	if m, _ := v.longest([]string{w.low}); m.cat == "form" || m.cat == "prep" || next.text == "L" || next.text == "R" {
		return false
	}
	return next.kind == 'w' && next.text != next.low && w.text != strings.ToUpper(w.text)
}

// initials reads single letters parted by glued full stops or slashes as one word, where that
// word is known or they are letters of the arena; n is 0 when it is none.
func initials(v *vocabulary, w []word) (word, int) {
	if w[0].kind != 'w' || len(w[0].text) != 1 {
		return word{}, 0
	}
	out, n := w[0], 1
	for n+1 < len(w) && (w[n].text == "." || w[n].text == "/") && w[n].glued && w[n+1].kind == 'w' && w[n+1].glued && len(w[n+1].text) == 1 {
		out.text, out.low, out.end = out.text+w[n+1].text, out.low+w[n+1].low, w[n+1].end
		n += 2
	}
	if n == 1 {
		return word{}, 0
	}
	if n < len(w) && w[n].text == "." && w[n].glued {
		out.end = w[n].end
		n++
	}
	_, abbr := v.abbr[out.text]
	if m, k := v.longest([]string{out.low}); k == 0 && m.cat == "" && !abbr && !isLetterGroup(out.text, 9) {
		return word{}, 0
	}
	return out, n
}

// raiseLetters gives the letters column of a sheet typed in small letters its capitals; the
// words are changed only when the whole cell names places.
func raiseLetters(v *vocabulary, words []word) []word {
	out := append([]word(nil), words...)
	small := false
	for i, w := range out {
		if w.kind == 'w' && w.text == w.low && isLetterGroup(strings.ToUpper(w.low), 4) && (len(w.low) == 1 || i == 0 || isDash(out[i-1])) {
			out[i].text, small = strings.ToUpper(w.low), true
		}
	}
	if small && len(out) > 0 && placeWords(v, out) == len(out) {
		return out
	}
	return words
}
