package report

import (
	"slices"
	"strings"

	"ringcraft/internal/measure"
)

// lacking is something that a recording as a whole does not hold (measure.Measure.Lacks), and what shows it.
var lacking = []struct{ lacks, words string }{
	{measure.LacksMotion, "No motion was recorded, so strides were not counted and these cannot be told: %s. Motion at 25 readings a second or more shows them, from a phone in a pocket or a sensor at the saddle."},
	{measure.LacksGyroscope, "No gyroscope was recorded, so these cannot be told: %s. One beside the motion shows them."},
	{measure.LacksHeading, "No heading of the body was recorded, so these cannot be told: %s. Two antennas or tags on the horse, one behind the other, show it."},
}

// lacks reports what a measure without a value lacks, as an index into lacking, -1 for none.
func lacks(m measure.Measure) int {
	for i, l := range lacking {
		if m.Lacks == l.lacks {
			return i
		}
	}
	return -1
}

// NotRecorded says once for the whole ride which measures could not be made because the recording lacks
// something altogether, and what would show them; nil when it lacks nothing. Untold leaves them out.
func NotRecorded(d *ReviewDoc) []string {
	if d.Recording == nil {
		return nil
	}
	names := make([][]string, len(lacking))
	for i := range d.Movements {
		for _, m := range d.Movements[i].Measures {
			if k := lacks(m); k >= 0 {
				name := kindOf(m.What)
				if name == "transition place" { // the others are measured from positions
					name = "place of a change between trot and canter"
				}
				if !slices.Contains(names[k], name) {
					names[k] = append(names[k], name)
				}
			}
		}
	}
	var out []string
	for i, l := range lacking {
		if len(names[i]) > 0 {
			out = append(out, strings.Replace(l.words, "%s", strings.Join(names[i], ", "), 1))
		}
	}
	return out
}

// kindOf is a measure's name without the letter or number that tells it from others of its kind.
func kindOf(what string) string {
	if i := strings.LastIndex(what, " "); i > 0 && strings.ToUpper(what[i:]) == what[i:] {
		return what[:i]
	}
	return what
}

// Untold are the measures of a movement that cannot be told although the recording could show such a
// thing, with a number or without.
func Untold(ms []measure.Measure) []measure.Measure {
	var out []measure.Measure
	for _, m := range ms {
		if (m.Value == nil || m.Verdict == measure.CannotTell) && lacks(m) < 0 {
			out = append(out, m)
		}
	}
	return out
}

// Told are the measures of a movement with a verdict.
func Told(ms []measure.Measure) []measure.Measure {
	var out []measure.Measure
	for _, m := range ms {
		if m.Value != nil && m.Verdict != measure.CannotTell {
			out = append(out, m)
		}
	}
	return out
}

// Names lists the names of measures: "circle place, corner depth F".
func Names(ms []measure.Measure) string {
	var out []string
	for _, m := range ms {
		out = append(out, m.What)
	}
	return strings.Join(out, ", ")
}

// untoldWords are the measures that cannot be told by their reason: "circle place, halt place (the
// recorder's slow wander)".
func untoldWords(ms []measure.Measure) string {
	var reasons []string
	names := map[string][]string{}
	for _, m := range Untold(ms) {
		if names[m.LimitedBy] == nil {
			reasons = append(reasons, m.LimitedBy)
		}
		names[m.LimitedBy] = append(names[m.LimitedBy], m.What)
	}
	var out []string
	for _, why := range reasons {
		words := strings.Join(names[why], ", ")
		if why != "" {
			words += " (" + why + ")"
		}
		out = append(out, words)
	}
	return strings.Join(out, "; ")
}
