package prepare

import (
	"embed"
	"encoding/json"
	"fmt"
	"strings"
	"sync"

	"ringcraft/internal/terms"
)

//go:embed exercises/*.json
var exerciseFiles embed.FS

// Exercise is one thing to ride, written in the sheet language for the left rein; the right
// rein is its mirror image. Figures without a source are common practice.
type Exercise struct {
	ID          string   `json:"id"`
	Group       string   `json:"group"` // name of its file
	Title       string   `json:"title"`
	Purpose     string   `json:"purpose"`
	Serves      Serves   `json:"serves"`
	Feel        string   `json:"feel"` // what the rider should feel
	See         string   `json:"see"`  // what the trainer should see
	UsualFaults []string `json:"usual_faults"`
	Easier      string   `json:"easier,omitempty"` // id of the easier version
	Harder      string   `json:"harder,omitempty"`
	Level       string   `json:"level"`             // of Levels
	MinAge      float64  `json:"min_age"`           // years
	Load        int      `json:"load"`              // 1 easy to 5 hard on the horse
	Minutes     float64  `json:"minutes"`           // usual, both reins and short breathers included
	Paces       []string `json:"paces"`             // walk, trot, canter
	Needs       []string `json:"needs,omitempty"`   // what MayNot may forbid besides the paces
	OneRein     bool     `json:"one_rein"`          // ridden on one rein at a time; else both reins are in it
	Loosening   bool     `json:"loosening"`         // fit for the warm-up
	WholeTest   bool     `json:"whole_test"`        // a run of the test itself
	Params      []Param  `json:"params,omitempty"`  // what can be varied
	Sheet       []string `json:"sheet"`             // lines "letters | wording" with {param}, for the left rein
	Sheet60     []string `json:"sheet60,omitempty"` // in the long arena, where it differs
	Source      string   `json:"source,omitempty"`  // empty: common practice
	Own         bool     `json:"own,omitempty"`     // added by the trainer
}

// Serves says what an exercise is for.
type Serves struct {
	Faults []terms.Fault `json:"faults"`
	Causes []string      `json:"causes"` // of the diagnosis
	Kinds  []terms.Kind  `json:"kinds"`
}

// Param is one thing that can be varied; the first value is the usual one.
type Param struct {
	Name   string   `json:"name"`
	Values []string `json:"values"`
}

// Choice is one instance of an exercise: rein ("left", "right"; "both" when it holds both),
// arena length in metres (40 or 60) and parameter values; missing ones are the usual ones.
type Choice struct {
	Rein   string
	Length float64
	Params map[string]string
}

// Exercises returns all exercises that come with Ringcraft, by group and then as filed.
// Callers must not change them.
func Exercises() []Exercise { return builtIn() }

var builtIn = sync.OnceValue(func() []Exercise {
	entries, err := exerciseFiles.ReadDir("exercises")
	if err != nil {
		panic("prepare: " + err.Error()) // embedded
	}
	var out []Exercise
	for _, e := range entries {
		data, err := exerciseFiles.ReadFile("exercises/" + e.Name())
		if err == nil {
			var list []Exercise
			list, err = decodeExercises(data)
			for i := range list {
				list[i].Group = strings.TrimSuffix(e.Name(), ".json")
			}
			out = append(out, list...)
		}
		if err != nil {
			panic("prepare: exercises/" + e.Name() + ": " + err.Error()) // caught by the tests
		}
	}
	return out
})

func decodeExercises(data []byte) ([]Exercise, error) {
	var list []Exercise
	dec := json.NewDecoder(strings.NewReader(string(data)))
	dec.DisallowUnknownFields()
	err := dec.Decode(&list)
	return list, err
}

// ExerciseByID looks among the built-in exercises.
func ExerciseByID(id string) (Exercise, bool) {
	for _, e := range Exercises() {
		if e.ID == id {
			return e, true
		}
	}
	return Exercise{}, false
}

// Reins lists how the exercise can be ridden: left and right, or both at once.
func (e Exercise) Reins() []string {
	if e.OneRein {
		return []string{"left", "right"}
	}
	return []string{"both"}
}

// Choices lists every instance for every rein and arena.
func (e Exercise) Choices() []Choice {
	sets := []map[string]string{{}}
	for _, p := range e.Params {
		var next []map[string]string
		for _, s := range sets {
			for _, v := range p.Values {
				c := map[string]string{p.Name: v}
				for k, x := range s {
					c[k] = x
				}
				next = append(next, c)
			}
		}
		sets = next
	}
	var out []Choice
	for _, rein := range e.Reins() {
		for _, length := range []float64{40, 60} {
			for _, s := range sets {
				out = append(out, Choice{rein, length, s})
			}
		}
	}
	return out
}

// SheetText writes one instance as a whole sheet, ready for `sheet read`.
func (e Exercise) SheetText(c Choice) string {
	lines := e.Sheet
	if c.Length >= 60 && len(e.Sheet60) > 0 {
		lines = e.Sheet60
	}
	var b strings.Builder
	fmt.Fprintf(&b, "name: %s\n", e.titleFor(c))
	fmt.Fprintf(&b, "arena: 20 x %g\n", c.Length)
	for i, l := range lines {
		l = e.fill(l, c)
		if c.Rein == "right" {
			l = mirror(l)
		}
		letters, text, _ := strings.Cut(l, "|")
		fmt.Fprintf(&b, "%d | %s | %s\n", i+1, strings.TrimSpace(letters), strings.TrimSpace(text))
	}
	return b.String()
}

func (e Exercise) titleFor(c Choice) string {
	title := e.fill(e.Title, c)
	if c.Rein == "left" || c.Rein == "right" {
		title += ", " + c.Rein + " rein"
	}
	return title
}

func (e Exercise) fill(s string, c Choice) string {
	for _, p := range e.Params {
		v, ok := c.Params[p.Name]
		if !ok {
			v = p.Values[0]
		}
		s = strings.ReplaceAll(s, "{"+p.Name+"}", v)
	}
	return s
}

// mirrored pairs the letters and words that change places when a line is ridden on the
// other rein. Letters on the centre line stay.
var mirrored = map[string]string{
	"K": "F", "F": "K", "V": "P", "P": "V", "E": "B", "B": "E", "S": "R", "R": "S", "H": "M", "M": "H",
	"left": "right", "right": "left", "Left": "Right", "Right": "Left",
}

// mirror turns a line for the left rein into the right rein's. Runs of capital letters are
// letters of the arena ("KXM" becomes "FXH").
func mirror(line string) string {
	var b strings.Builder
	for i := 0; i < len(line); {
		j := i
		for j < len(line) && isLetter(line[j]) {
			j++
		}
		if j == i {
			b.WriteByte(line[i])
			i++
			continue
		}
		b.WriteString(mirrorWord(line[i:j]))
		i = j
	}
	return b.String()
}

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

func mirrorWord(w string) string {
	if m, ok := mirrored[w]; ok {
		return m
	}
	if w != strings.ToUpper(w) {
		return w
	}
	var b strings.Builder
	for _, r := range w {
		if m, ok := mirrored[string(r)]; ok {
			b.WriteString(m)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}
