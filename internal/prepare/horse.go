package prepare

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
)

// Horse is what planning must know of one horse; the file of `--horse`. The zero value is a
// sound, grown, fit horse at novice level.
type Horse struct {
	gait.Profile
	AgeYears    float64      `json:"age_years,omitempty"`
	Level       string       `json:"level,omitempty"`   // a level of Levels
	Fitness     string       `json:"fitness,omitempty"` // unfit, fair or fit
	RecentWork  []RecentWork `json:"recent_work,omitempty"`
	Anticipates bool         `json:"anticipates,omitempty"` // learns the test by heart and acts before the aid
	MayNot      []string     `json:"may_not,omitempty"`     // canter, trot, sitting trot, lateral work, collected work, rein-back ...
	Unsound     bool         `json:"unsound,omitempty"`     // no work until a vet has said so
	Notes       []string     `json:"notes,omitempty"`       // injuries and reminders, shown as they are
}

// RecentWork is one earlier day.
type RecentWork struct {
	DaysAgo    int     `json:"days_ago"`
	Minutes    float64 `json:"minutes,omitempty"`
	Load       string  `json:"load,omitempty"` // easy, moderate or hard
	WholeTests int     `json:"whole_tests,omitempty"`
}

// Levels are the levels that exercises and horses are graded by, easiest first.
var Levels = []string{"introductory", "preliminary", "novice", "elementary", "medium", "advanced medium", "advanced"}

var (
	fitnesses = []string{"unfit", "fair", "fit"}
	loads     = []string{"easy", "moderate", "hard"}
	// forbidden are the things a horse may be kept from, as MayNot names them.
	forbidden = []string{"canter", "trot", "sitting trot", "lateral work", "collected work", "rein-back", "small circles", "flying changes", "lengthening", "whole test"}
)

// LevelOf is the grade of a level name, novice when it is not stated or not known.
func LevelOf(name string) int {
	for i, l := range Levels {
		if strings.EqualFold(l, strings.TrimSpace(name)) {
			return i
		}
	}
	return 2
}

// May reports whether the horse may do what MayNot would name.
func (h Horse) May(what string) bool {
	for _, m := range h.MayNot {
		if strings.EqualFold(m, what) {
			return false
		}
	}
	return true
}

// ReadHorse reads the horse file. Unknown keys, wrong types and values out of range are
// problems with their line and the nearest word; nothing is guessed.
func ReadHorse(file string, data []byte) (Horse, []sheet.Problem) {
	var h Horse
	r := horseReader{file: file, data: data}
	dec := json.NewDecoder(bytes.NewReader(data))
	if err := dec.Decode(&h); err != nil {
		r.decodeError(err)
		return Horse{}, r.problems
	}
	if dec.More() {
		r.at(int(dec.InputOffset()), "text after the end of the horse; one horse a file", "")
	}
	r.unknownKeys()
	r.check(h)
	if sheet.HasErrors(r.problems) {
		return Horse{}, r.problems
	}
	return h, r.problems
}

type horseReader struct {
	file     string
	data     []byte
	problems []sheet.Problem
}

func (r *horseReader) at(offset int, message, suggestion string) {
	offset = max(0, min(offset, len(r.data)))
	before := r.data[:offset]
	line := 1 + bytes.Count(before, []byte("\n"))
	column := 1 + len([]rune(string(before[bytes.LastIndexByte(before, '\n')+1:])))
	r.problems = append(r.problems, sheet.Problem{File: r.file, Pos: sheet.Pos{Line: line, Column: column}, Severity: sheet.Error, Message: message, Suggestion: suggestion})
}

func (r *horseReader) decodeError(err error) {
	switch e := err.(type) {
	case *json.SyntaxError:
		r.at(int(e.Offset), "not valid JSON: "+e.Error(), "")
	case *json.UnmarshalTypeError:
		r.at(int(e.Offset), fmt.Sprintf("%q takes a %s, not a %s", e.Field, plainType(e.Type), e.Value), "")
	default:
		r.at(len(r.data), "not valid JSON: "+err.Error(), "")
	}
}

func plainType(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Float64, reflect.Int:
		return "number"
	case reflect.Bool:
		return "true or false"
	case reflect.Slice:
		return "list"
	case reflect.Struct, reflect.Map:
		return "set of keys"
	}
	return "text"
}

// unknownKeys reports top-level keys that a horse does not have, and those of recent work.
func (r *horseReader) unknownKeys() {
	var top map[string]json.RawMessage
	if json.Unmarshal(r.data, &top) != nil {
		return
	}
	r.keys(top, keysOf(reflect.TypeFor[Horse]()))
	var work []map[string]json.RawMessage
	if json.Unmarshal(top["recent_work"], &work) == nil {
		for _, w := range work {
			r.keys(w, keysOf(reflect.TypeFor[RecentWork]()))
		}
	}
}

func (r *horseReader) keys(got map[string]json.RawMessage, allowed []string) {
	for _, k := range sortedKeys(got) {
		if !containsFold(allowed, k) {
			r.at(r.find(k), fmt.Sprintf("unknown key %q; allowed: %s", k, strings.Join(allowed, ", ")), nearest(k, allowed))
		}
	}
}

func keysOf(t reflect.Type) []string {
	var out []string
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous {
			out = append(out, keysOf(f.Type)...)
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		out = append(out, name)
	}
	return out
}

// find is the offset of a key's or value's first quoted appearance.
func (r *horseReader) find(word string) int {
	quoted, _ := json.Marshal(word)
	return max(0, bytes.Index(r.data, quoted))
}

func (r *horseReader) check(h Horse) {
	r.word("level", h.Level, Levels)
	r.word("fitness", h.Fitness, fitnesses)
	for _, m := range h.MayNot {
		r.word("may_not", m, forbidden)
	}
	r.number("age_years", h.AgeYears, 0, 45)
	r.number("height_m", h.HeightM, 0, 2.2)
	r.number("nose_to_body_m", h.NoseToBodyM, 0, 4)
	for _, w := range h.RecentWork {
		r.word("load", w.Load, loads)
		r.number("days_ago", float64(w.DaysAgo), 0, 365)
		r.number("minutes", w.Minutes, 0, 300)
		r.number("whole_tests", float64(w.WholeTests), 0, 10)
	}
	for _, v := range sortedKeys(h.Varieties) {
		if _, ok := gait.Lookup(v); !ok {
			names := varietyNames()
			r.at(r.find(string(v)), fmt.Sprintf("unknown pace %q; allowed: %s", v, strings.Join(names, ", ")), nearest(string(v), names))
		}
		f := h.Varieties[v]
		r.number("stride_m", f.StrideM, 0, 8)
		r.number("tempo_hz", f.TempoHz, 0, 4)
	}
}

func varietyNames() []string {
	var out []string
	for _, v := range gait.Varieties() {
		out = append(out, string(v))
	}
	return out
}

func (r *horseReader) word(key, value string, allowed []string) {
	if value != "" && !containsFold(allowed, value) {
		r.at(r.find(value), fmt.Sprintf("%s %q is not known; allowed: %s", key, value, strings.Join(allowed, ", ")), nearest(value, allowed))
	}
}

func (r *horseReader) number(key string, v, lo, hi float64) {
	if !(v >= lo && v <= hi) {
		r.at(r.find(key), fmt.Sprintf("%s is %g; allowed: %g to %g", key, v, lo, hi), "")
	}
}

func containsFold(list []string, s string) bool {
	for _, x := range list {
		if strings.EqualFold(x, s) {
			return true
		}
	}
	return false
}
