package remarks

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// Wording is a remark as a rider reads it: what was seen, where, what to do. The trainer
// edits it before it is sent.
type Wording struct {
	Movement int    `json:"movement"` // 0 when it belongs to none
	Seen     string `json:"seen"`
	Where    string `json:"where"`
	Do       string `json:"do"`
}

// Text is the wording in one line: "Movement 3, A: circle too large. Turn from ...".
func (w Wording) Text() string {
	s := w.Seen
	if w.Where != "" {
		s = w.Where + ": " + s
	}
	s = upperFirst(s) + "."
	if w.Do != "" {
		s += " " + upperFirst(w.Do) + "."
	}
	return s
}

// ShortWording makes the wording of a remark from the vocabulary. Where no word was found
// the remark's own text stands as what was seen, so that nothing said is lost.
func ShortWording(r Remark, plan *rideplan.Plan) Wording {
	w := Wording{Movement: r.Movement, Where: where(r.Movement, plan)}
	var seen, do []string
	for _, f := range r.Praise {
		if f != "good" || len(r.Praise) == 1 {
			seen = append(seen, string(f))
		}
	}
	for i, f := range r.Faults {
		seen = append(seen, string(f))
		if word, ok := terms.FaultByID(f); ok && i < 2 { // two things to do are as many as a rider keeps
			do = append(do, word.Fix)
		}
	}
	for _, a := range r.Aids {
		if len(do) < 2 {
			do = append(do, string(a))
		}
	}
	for _, c := range r.Causes {
		seen = append(seen, "because of "+string(c))
	}
	w.Seen, w.Do = strings.Join(seen, ", "), strings.Join(do, "; ")
	if len(seen) == 0 && len(r.Aids) == 0 {
		w.Seen = strings.Join(strings.Fields(r.Text), " ")
	} else if len(seen) == 0 {
		w.Seen = "for next time"
	}
	return w
}

func where(movement int, plan *rideplan.Plan) string {
	if plan == nil || movement == 0 {
		return ""
	}
	m := plan.MovementByNumber(movement)
	if m == nil {
		return ""
	}
	if l := strings.TrimSpace(m.Letters); l != "" {
		return fmt.Sprintf("movement %d, %s", movement, l)
	}
	return fmt.Sprintf("movement %d", movement)
}

func upperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}
