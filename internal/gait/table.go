package gait

import (
	_ "embed"
	"encoding/json"
	"fmt"
)

//go:embed varieties.json
var varietiesJSON []byte

// Figures are the usual numbers of one variety, with where they come from.
type Figures struct {
	Name    Variety `json:"name"`
	Pace    Pace    `json:"pace"`
	Form    string  `json:"form"`      // collected, working, ...; empty for halt and rein-back
	Speed   Speed   `json:"speed_mps"` // m/s along the line
	StrideM float64 `json:"stride_m"`  // metres per stride
	Source  string  `json:"source"`
}

// Duration returns the seconds of one stride, 0 for halt.
func (f Figures) Duration() Seconds {
	if f.Speed == 0 {
		return 0
	}
	return Seconds(f.StrideM / float64(f.Speed))
}

var table, order = loadTable()

func loadTable() (map[Variety]Figures, []Variety) {
	var list []Figures
	if err := json.Unmarshal(varietiesJSON, &list); err != nil {
		panic(fmt.Sprintf("gait: embedded varieties.json: %v", err)) // impossible state: checked by test
	}
	m := make(map[Variety]Figures, len(list))
	var names []Variety
	for _, f := range list {
		m[f.Name] = f
		names = append(names, f.Name)
	}
	return m, names
}

// Lookup returns the usual figures of v.
func Lookup(v Variety) (Figures, bool) {
	f, ok := table[v]
	return f, ok
}

// Varieties lists the known varieties in the order of the data file.
func Varieties() []Variety { return append([]Variety(nil), order...) }

// PaceOf returns the pace of v, or "" when v is unknown.
func (v Variety) PaceOf() Pace { return table[v].Pace }
