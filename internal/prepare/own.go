package prepare

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// ReadExercises reads a trainer's own exercises: a JSON list in the form of the embedded
// files. Each must be complete, name known words, and compile in every instance; problems
// carry the line of the file. Exercises with an error are left out, the others are returned.
func ReadExercises(file string, data []byte) ([]Exercise, []sheet.Problem) {
	r := horseReader{file: file, data: data}
	var raws []json.RawMessage
	if err := json.Unmarshal(data, &raws); err != nil {
		r.decodeError(err)
		return nil, r.problems
	}
	var out []Exercise
	from := 0
	for _, raw := range raws {
		at := from + bytes.Index(data[from:], raw)
		from = at + len(raw)
		one := horseReader{file: file, data: data}
		e, ok := one.exercise(raw, at)
		r.problems = append(r.problems, one.problems...)
		if ok && !sheet.HasErrors(one.problems) {
			out = append(out, e)
		}
	}
	return out, r.problems
}

func (r *horseReader) exercise(raw json.RawMessage, at int) (Exercise, bool) {
	var keys map[string]json.RawMessage
	if err := json.Unmarshal(raw, &keys); err != nil {
		r.at(at, "an exercise is a set of keys in braces", "")
		return Exercise{}, false
	}
	allowed := keysOf(reflect.TypeFor[Exercise]())
	for _, k := range sortedKeys(keys) {
		if !containsFold(allowed, k) {
			r.at(at+max(0, bytes.Index(raw, []byte(`"`+k+`"`))), fmt.Sprintf("unknown key %q; allowed: %s", k, strings.Join(allowed, ", ")), nearest(k, allowed))
		}
	}
	var e Exercise
	if err := json.Unmarshal(raw, &e); err != nil {
		if t, ok := err.(*json.UnmarshalTypeError); ok {
			r.at(at+int(t.Offset), fmt.Sprintf("%q takes a %s, not a %s", t.Field, plainType(t.Type), t.Value), "")
		} else {
			r.at(at, err.Error(), "")
		}
		return Exercise{}, false
	}
	e.Own, e.WholeTest = true, false
	if e.Group == "" || e.Group == "loosening" {
		e.Group = "own"
	}
	r.checkExercise(e, at)
	return e, true
}

func (r *horseReader) checkExercise(e Exercise, at int) {
	say := func(format string, args ...any) {
		r.at(at, fmt.Sprintf("exercise %q: ", e.ID)+fmt.Sprintf(format, args...), "")
	}
	if e.ID == "" || e.Title == "" || e.Purpose == "" || e.Feel == "" || e.See == "" || len(e.Sheet) == 0 {
		say("id, title, purpose, feel, see and sheet may not be empty")
		return
	}
	if _, taken := ExerciseByID(e.ID); taken {
		say("the id is taken by an exercise that comes with Ringcraft")
	}
	if e.Load < 1 || e.Load > 5 || !(e.Minutes >= 1 && e.Minutes <= 10) || !(e.MinAge >= 0 && e.MinAge <= 20) {
		say("load %d, minutes %g, min_age %g; allowed: 1 to 5, 1 to 10, 0 to 20", e.Load, e.Minutes, e.MinAge)
	}
	r.oneOf(at, "level", e.Level, Levels)
	for _, p := range e.Paces {
		r.oneOf(at, "pace", p, []string{"walk", "trot", "canter"})
	}
	for _, n := range e.Needs {
		r.oneOf(at, "needs", n, forbidden)
	}
	var faults []string
	for _, f := range terms.FaultIDs() {
		faults = append(faults, string(f))
	}
	for _, f := range e.Serves.Faults {
		r.oneOf(at, "fault", string(f), faults)
	}
	for _, c := range e.Serves.Causes {
		r.oneOf(at, "cause", c, diagnose.CauseNames())
	}
	if len(e.Paces) == 0 || len(e.Serves.Faults)+len(e.Serves.Causes)+len(e.Serves.Kinds) == 0 {
		say("paces and at least one fault, cause or kind in serves are needed")
	}
	r.checkInstances(e, at)
}

func (r *horseReader) oneOf(at int, key, value string, allowed []string) {
	if containsFold(allowed, value) {
		return
	}
	list := strings.Join(allowed, ", ")
	if len(allowed) > 20 {
		list = "a fault of the vocabulary"
	}
	r.at(at, fmt.Sprintf("%s %q is not known; allowed: %s", key, value, list), nearest(value, allowed))
}

// mostInstances keeps a trainer's file with many parameters from being compiled for minutes.
const mostInstances = 64

// checkInstances compiles every instance; an error of the sheet language is told once.
func (r *horseReader) checkInstances(e Exercise, at int) {
	instances := 4
	for _, p := range e.Params {
		if instances *= max(1, len(p.Values)); p.Name == "" || len(p.Values) == 0 || instances > mostInstances {
			r.at(at, fmt.Sprintf("exercise %q: every parameter needs a name and values, and all together at most %d instances", e.ID, mostInstances), "")
			return
		}
	}
	for _, c := range e.Choices() {
		p := rideplan.CompileText(e.ID, e.SheetText(c), rideplan.Options{})
		for _, problem := range p.Problems {
			if problem.Severity == sheet.Error {
				r.at(at, fmt.Sprintf("exercise %q on the %s rein in 20 x %g, line %d of its sheet: %s", e.ID, c.Rein, c.Length, problem.Line-2, problem.Message), problem.Suggestion)
				return
			}
		}
	}
}
