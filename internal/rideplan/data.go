package rideplan

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"strings"

	"ringcraft/internal/gait"
)

//go:embed levels.json
var levelsJSON []byte

//go:embed timing.json
var timingJSON []byte

// level is what is usual at a level of sheet.
type level struct {
	Name    string
	Words   []string
	Trot    string
	Canter  string
	Corner  float64               `json:"corner_m"` // radius of a corner in working paces, metres
	Factors map[gait.Pace]float64 // on the usual speeds of a pace; 1 when absent
	Source  string
}

type sourced struct {
	Value  float64
	Source string
}

var levels = mustLevels()
var timing = mustTiming()

func mustLevels() []level {
	var l []level
	if err := json.Unmarshal(levelsJSON, &l); err != nil {
		panic(fmt.Sprintf("rideplan: embedded levels.json: %v", err)) // impossible state: checked by test
	}
	return l
}

func mustTiming() map[string]sourced {
	var m map[string]sourced
	if err := json.Unmarshal(timingJSON, &m); err != nil {
		panic(fmt.Sprintf("rideplan: embedded timing.json: %v", err)) // impossible state: checked by test
	}
	return m
}

// value returns a figure of timing.json.
func value(name string) float64 {
	s, ok := timing[name]
	if !ok {
		panic("rideplan: timing.json lacks " + name) // impossible state: checked by test
	}
	return s.Value
}

// levelByName finds the level whose words occur in the header, the longest word first.
func levelByName(header string) (level, bool) {
	h := strings.ToLower(header)
	best, n := level{}, 0
	for _, l := range levels {
		for _, w := range append([]string{l.Name}, l.Words...) {
			if len(w) > n && strings.Contains(h, w) {
				best, n = l, len(w)
			}
		}
	}
	return best, n > 0
}

// levelOf names the level a sheet's own movements show when no header says it.
func levelOf(f *fileFacts) level {
	i := 1
	switch {
	case f.tempis || f.piaffe || f.pirouetteCanter || f.flying && f.halfPass:
		i = 4
	case f.collected || f.flying:
		i = 3
	case f.lateral || f.medium:
		i = 2
	case !f.canter:
		i = 0
	}
	return levels[i]
}

// fileFacts are the signs of level in a sheet.
type fileFacts struct {
	canter, medium, lateral, collected, flying, halfPass, tempis, piaffe, pirouetteCanter bool
}

// speedFactor is how much faster than the table the level rides v.
func (l level) speedFactor(p gait.Pace) float64 {
	if f, ok := l.Factors[p]; ok {
		return f
	}
	return 1
}

// cornerRadius is the radius at which a horse in v takes a corner at this level, metres.
func (l level) cornerRadius(v gait.Variety) float64 {
	f, _ := gait.Lookup(v)
	switch f.Form {
	case "collected", "passage", "piaffe":
		return 3
	case "medium", "extended", "lengthened":
		if f.Pace == gait.Walk {
			return 3
		}
		return 5
	}
	if f.Pace == gait.Walk || f.Pace == gait.Halt {
		return 3
	}
	return l.Corner
}

// smallest is the smallest circle a horse can be asked in v, metres of diameter.
func smallest(v gait.Variety) float64 {
	f, _ := gait.Lookup(v)
	switch {
	case f.Pace == gait.Walk || f.Pace == gait.Halt:
		return 4
	case f.Form == "medium":
		return 12
	case f.Form == "extended":
		return 16
	case f.Form == "lengthened":
		return 10
	}
	return 5.5
}
