package sheet

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// word is a raw token of a line: a word, a number or a mark, with its place in characters.
type word struct {
	text     string // as typed
	low      string // lower case
	col, end int    // from 1; end is the column after the last character
	kind     byte   // 'w' word, 'n' number, 'p' punctuation
	glued    bool   // no blank between this and the token before
}

// scanWords splits a line into words. Hyphens come out as punctuation, so that "half-pass"
// and "half pass" are the same words; numbers part from letters ("10m").
func scanWords(line string, col int) []word {
	var out []word
	r := []rune(line)
	for i := 0; i < len(r); {
		c := r[i]
		if unicode.IsSpace(c) || c == '\uFEFF' {
			i++
			continue
		}
		j, kind := i+1, byte('p')
		switch {
		case unicode.IsDigit(c):
			j, kind = numberEnd(r, i), 'n'
		case unicode.IsLetter(c) || unicode.IsMark(c):
			for j < len(r) && (unicode.IsLetter(r[j]) || unicode.IsMark(r[j])) {
				j++
			}
			kind = 'w'
		}
		t := string(r[i:j])
		w := word{t, strings.ToLower(t), col + i, col + j, kind, i > 0 && !unicode.IsSpace(r[i-1])}
		if t == "&" || t == "+" {
			w.low, w.kind = "and", 'w'
		}
		if n := len(out); n > 0 && w.glued && isOrdinal(out[n-1], w) {
			p := &out[n-1]
			p.text, p.low, p.end, p.kind = p.text+t, p.low+w.low, w.end, 'w'
		} else {
			out = append(out, w)
		}
		i = j
	}
	return out
}

// isOrdinal reports whether number and suffix form "2nd", "4th" and the like.
func isOrdinal(num, suffix word) bool {
	s := suffix.low
	return num.kind == 'n' && (s == "st" || s == "nd" || s == "rd" || s == "th")
}

func numberEnd(r []rune, i int) int {
	j := i + 1
	for j < len(r) && unicode.IsDigit(r[j]) {
		j++
	}
	if j+1 < len(r) && (r[j] == '.' || r[j] == ',') && unicode.IsDigit(r[j+1]) {
		j += 2
		for j < len(r) && unicode.IsDigit(r[j]) {
			j++
		}
	}
	return j
}

func (w word) number() float64 {
	v, err := strconv.ParseFloat(strings.Replace(w.text, ",", ".", 1), 64)
	if err != nil {
		return 0
	}
	return v
}

// arenaLetters are the letters of both arenas.
const arenaLetters = "AKVESHCMRBPFDLXIG"

func isLetterGroup(s string, maxLen int) bool {
	n := utf8.RuneCountInString(s)
	if n == 0 || n > maxLen {
		return false
	}
	for _, c := range s {
		if !strings.ContainsRune(arenaLetters, c) {
			return false
		}
	}
	return true
}

// letterWord reports whether w can be read as arena letters: capitals, or three or more
// small letters with an x in them ("kxm").
func letterWord(w word, v *vocabulary) bool {
	if w.kind != 'w' {
		return false
	}
	if len(w.text) == 1 {
		return isLetterGroup(w.text, 1)
	}
	if isLetterGroup(w.text, 9) {
		return !v.words[w.low] || len(w.text) == 2 && !isPlainWord(w.low)
	}
	return len(w.low) >= 3 && len(w.low) <= 5 && strings.Contains(w.low, "x") &&
		isLetterGroup(strings.ToUpper(w.low), 5) && !v.words[w.low]
}

// isPlainWord lists the two-letter words of the trade's English made of arena letters only.
func isPlainWord(s string) bool { return s == "be" || s == "si" || s == "he" || s == "cl" || s == "is" }

// splitLines cuts text at any line ending (LF, CRLF, CR) without losing empty lines.
func splitLines(text []byte) []string {
	s := strings.ToValidUTF8(string(text), "\uFFFD")
	s = strings.TrimPrefix(s, "\uFEFF")
	s = strings.ReplaceAll(s, "\r\n", "\n")
	s = strings.ReplaceAll(s, "\r", "\n")
	s = strings.ReplaceAll(s, "\u2028", "\n")
	return strings.Split(s, "\n")
}
