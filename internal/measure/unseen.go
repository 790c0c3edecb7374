package measure

import (
	_ "embed"
	"encoding/json"
	"fmt"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

//go:embed unseen.json
var unseenJSON []byte

// unseenOf is what a recording cannot show of a kind of figure, and why.
type unseenOf struct {
	Kind terms.Kind `json:"kind"`
	What string     `json:"what"`
	Why  string     `json:"why"`
}

var unseenKinds = loadUnseen()

func loadUnseen() []unseenOf {
	var file struct {
		Kinds []unseenOf `json:"kinds"`
	}
	if err := json.Unmarshal(unseenJSON, &file); err != nil {
		panic(fmt.Sprintf("measure: embedded unseen.json: %v", err)) // impossible state: checked by test
	}
	return file.Kinds
}

// unseen says what the recording cannot show of a figure.
func (r *ride) unseen(b *book, f *rideplan.Figure) {
	for _, u := range unseenKinds {
		if u.Kind == f.Kind {
			at := float64(f.StartM+f.EndM) / 2
			b.list = append(b.list, Measure{What: b.name(u.What, f.At), Verdict: CannotTell, LimitedBy: u.Why, AtM: ptr(at)})
		}
	}
}
