package prepare

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// suited chooses the values of an exercise's parameters for this lesson, with a reason for each that
// is not the usual one: the letter or figure of the movement where marks were lost, worth most
// first; else, for a size, the easier one for a horse that is young, unfit or below the exercise's
// level and the harder one for a horse two levels above it; else the usual value.
func suited(in LessonInput, e Exercise, needs []Need) (params map[string]string, reasons []string) {
	for _, p := range e.Params {
		v, why := suitedValue(in, e, p, needs)
		if v == p.Values[0] && why == "" {
			continue
		}
		if params == nil {
			params = map[string]string{}
		}
		params[p.Name] = v
		reasons = append(reasons, why)
	}
	return params, reasons
}

func suitedValue(in LessonInput, e Exercise, p Param, needs []Need) (value, why string) {
	for _, n := range needs {
		if v := named(p, n); v != "" {
			return v, fmt.Sprintf("%s, as in movement %d, where the marks were lost", inWords(p.Name, v), n.Movement)
		}
	}
	sizes, ok := numbersOf(p.Values)
	if !ok || p.Name != "size" {
		return p.Values[0], ""
	}
	largest, smallest := p.Values[at(sizes, slices.Max(sizes))], p.Values[at(sizes, slices.Min(sizes))]
	level := lessonLevel(in)
	switch easy := in.Horse.AgeYears > 0 && in.Horse.AgeYears < 6 || lower(in.Horse.Fitness) == "unfit"; {
	case easy && largest != p.Values[0]:
		return largest, inWords(p.Name, largest) + ": the easier size, for a young or unfit horse"
	case easy:
	case level < LevelOf(e.Level) && largest != p.Values[0]:
		return largest, inWords(p.Name, largest) + ": the easier size, since the exercise is above this horse's level"
	case level >= LevelOf(e.Level)+2 && smallest != p.Values[0] && in.Horse.May("small circles"):
		return smallest, inWords(p.Name, smallest) + ": the harder size, since this horse is two levels above the exercise"
	}
	return p.Values[0], ""
}

// named is the first value that a movement names: one of its letters (on the other rein its mirror
// image), or its figure in metres or steps. "" when it names none.
func named(p Param, n Need) string {
	for _, v := range p.Values {
		if _, err := strconv.ParseFloat(v, 64); err == nil {
			if saysFigure(n.Text, v, p.Name) {
				return v
			}
			continue
		}
		if saysLetter(n.Letters, v) || n.Rein != "left" && saysLetter(n.Letters, mirror(v)) {
			return v
		}
	}
	return ""
}

func saysLetter(letters, v string) bool {
	return slices.Contains(strings.FieldsFunc(letters, func(r rune) bool { return r < 'A' || r > 'Z' }), v)
}

var figureUnits = map[string]string{"size": `\s*(?:m\b|metres?\b|meters?\b)`, "steps": `(?:\s*(?:-|to)\s*\d+)?\s*steps?\b`}

func saysFigure(text, v, name string) bool {
	unit, ok := figureUnits[name]
	if !ok {
		return false
	}
	found, err := regexp.MatchString(`(?i)\b`+regexp.QuoteMeta(v)+unit, text)
	return err == nil && found
}

func numbersOf(values []string) ([]float64, bool) {
	var out []float64
	for _, v := range values {
		x, err := strconv.ParseFloat(v, 64)
		if err != nil {
			return nil, false
		}
		out = append(out, x)
	}
	return out, len(out) > 0
}

func at(list []float64, v float64) int { return slices.Index(list, v) }

func inWords(name, v string) string {
	switch name {
	case "size":
		return v + " m"
	case "steps":
		return v + " steps"
	}
	return "at " + v
}
