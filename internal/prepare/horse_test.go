package prepare

import (
	"slices"
	"strings"
	"testing"

	"ringcraft/internal/sheet"
)

func TestReadHorse(t *testing.T) {
	h, ps := ReadHorse("h.json", []byte(`{"name": "Fern", "age_years": 9, "level": "novice", "fitness": "fit", "height_m": 1.65,
 "may_not": ["canter"], "anticipates": true, "recent_work": [{"days_ago": 1, "load": "hard"}], "varieties": {"working trot": {"tempo_hz": 1.3}}}`))
	if len(ps) != 0 || h.Name != "Fern" || h.May("canter") || !h.May("trot") || h.HeightM != 1.65 || h.Varieties["working trot"].TempoHz != 1.3 {
		t.Errorf("%+v %v", h, ps)
	}
	if h, ps := ReadHorse("h.json", []byte("{}")); len(ps) != 0 || h.AgeYears != 0 {
		t.Errorf("%+v %v", h, ps)
	}
}

// Each bad file gets its line, what is allowed and the nearest word.
func TestReadHorseSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		name, text string
		line       int
		says       []string
	}{
		{"key", "{\n \"age_year\": 5}", 2, []string{"age_year", "allowed:", "age_years"}},
		{"level", "{\n\n \"level\": \"novise\"}", 3, []string{"novise", "novice"}},
		{"may not", `{"may_not": ["cantering"]}`, 1, []string{"cantering", "canter"}},
		{"age", `{"age_years": -3}`, 1, []string{"-3", "0 to 45"}},
		{"type", `{"age_years": "nine"}`, 1, []string{"age_years", "number", "string"}},
		{"pace", `{"varieties": {"workin trot": {}}}`, 1, []string{"working trot"}},
		{"stride", `{"varieties": {"working trot": {"stride_m": 80}}}`, 1, []string{"80", "0 to 8"}},
		{"work", `{"recent_work": [{"days_ago": 1, "lode": "hard"}]}`, 1, []string{"lode", "load"}},
		{"broken", "{\n\"name\": }", 2, []string{"not valid JSON"}},
		{"cut short", `{"name": "Fern"`, 1, []string{"not valid JSON"}},
		{"two", `{} {}`, 1, []string{"one horse"}},
		{"list", `[1]`, 1, []string{"takes"}},
	} {
		h, ps := ReadHorse("h.json", []byte(c.text))
		if !sheet.HasErrors(ps) || h.Name != "" {
			t.Errorf("%s: accepted: %+v %v", c.name, h, ps)
			continue
		}
		got := ps[0].String() + ps[0].Suggestion
		for _, s := range c.says {
			if !strings.Contains(got, s) {
				t.Errorf("%s: %q does not say %q", c.name, got, s)
			}
		}
		if ps[0].Line != c.line || ps[0].File != "h.json" {
			t.Errorf("%s: %q is not at line %d", c.name, got, c.line)
		}
	}
}

func FuzzReadHorse(f *testing.F) {
	f.Add([]byte(`{"name": "Fern", "age_years": 9, "recent_work": [{"days_ago": 1}]}`))
	f.Add([]byte(`{"varieties": {"working trot": {"stride_m": 2.7}}, "may_not": ["canter"]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		h, ps := ReadHorse("h.json", data)
		for _, p := range ps {
			if p.Line < 1 || p.Column < 1 || p.Message == "" {
				t.Fatalf("%+v", p)
			}
		}
		if !sheet.HasErrors(ps) && (h.AgeYears < 0 || h.AgeYears > 45) {
			t.Fatalf("%+v", h)
		}
	})
}

const ownExercise = `[{"id": "three-poles", "title": "Three halts at home", "purpose": "p", "serves": {"faults": ["not square"], "causes": [], "kinds": ["halt"]},
 "feel": "f", "see": "s", "usual_faults": ["u"], "level": "novice", "min_age": 4, "load": 2, "minutes": 5, "paces": ["trot"], "one_rein": true,
 "params": [{"name": "at", "values": ["E", "K"]}],
 "sheet": ["A | Enter in working trot", "C | Track left", "{at} | Halt 4 seconds. Proceed in working trot"]}]`

func TestOwnExercises(t *testing.T) {
	es, ps := ReadExercises("own.json", []byte(ownExercise))
	if len(ps) != 0 || len(es) != 1 || !es[0].Own || len(es[0].Choices()) != 8 {
		t.Fatalf("%+v %v", es, ps)
	}
	in := LessonInput{Minutes: 45, Needs: sampleNeeds(), Horse: Horse{Fitness: "fit"}, Own: es}
	in.Needs = append(in.Needs, need(15, "now", 4, "not square", "", "halt"))
	l := plan(t, in) // an own exercise is a candidate like any other
	if !slices.Contains(exerciseIDs(l), "three-poles") && !slices.ContainsFunc(l.LeftOut, func(o LeftOut) bool { return o.Exercise == "three-poles" }) {
		t.Errorf("neither ridden nor explained: %v %+v", exerciseIDs(l), l.LeftOut)
	}
	for _, c := range []struct{ old, new, says string }{
		{`"not square"`, `"not squar"`, "not square"},
		{`"novice"`, `"novise"`, "novice"},
		{`"load": 2`, `"load": 9`, "1 to 5"},
		{`"purpose"`, `"purpos"`, "purpose"},
		{`three-poles`, `circle-20`, "taken"},
		{`Halt 4 seconds`, `Hoover 4 seconds`, "line 3"},
		{`"minutes": 5`, `"minutes": "five"`, "number"},
		{`[{`, `[3, {`, "braces"},
	} {
		bad := strings.Replace(ownExercise, c.old, c.new, 1)
		es, ps := ReadExercises("own.json", []byte(bad))
		if !sheet.HasErrors(ps) {
			t.Errorf("%s: accepted %+v", c.new, es)
			continue
		}
		said := ""
		for _, p := range ps {
			said += p.String() + "\n"
		}
		if !strings.Contains(said, c.says) || !strings.Contains(said, "own.json:") {
			t.Errorf("%s: %s does not say %q", c.new, said, c.says)
		}
	}
}

func FuzzReadExercises(f *testing.F) {
	f.Add([]byte(ownExercise))
	f.Add([]byte(`[{"id": 3}]`))
	f.Fuzz(func(t *testing.T, data []byte) {
		es, _ := ReadExercises("own.json", data)
		for _, e := range es {
			if e.ID == "" || len(e.Sheet) == 0 {
				t.Fatalf("%+v", e)
			}
		}
	})
}
