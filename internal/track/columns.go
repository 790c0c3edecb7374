package track

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

//go:embed columns.json
var columnsJSON []byte

// role is what a CSV column means.
type role int

const (
	roleNone role = iota
	roleTime
	roleLat
	roleLon
	roleX
	roleY
	roleZ
	roleDate
	roleHeading
	roleTag
	roleAX
	roleAY
	roleAZ
	roleGX
	roleGY
	roleGZ
	roleCount
)

var roleNames = map[string]role{"time": roleTime, "lat": roleLat, "lon": roleLon, "x": roleX, "y": roleY, "z": roleZ, "date": roleDate,
	"heading": roleHeading, "tag": roleTag, "ax": roleAX, "ay": roleAY, "az": roleAZ, "gx": roleGX, "gy": roleGY, "gz": roleGZ}

// header is one column as its name tells it.
type header struct {
	raw    string
	role   role
	unit   string  // suffix found, "" when the name gives none
	factor float64 // to SI, 1 when the name gives none
	prefix string  // what stood before a name that is known without it
	odd    string  // unit that the name gives and nobody knows, or one of another quantity
}

type columnTable struct {
	names map[string]header
	units map[string]unitOf
	order []string // names of columns in the order of the file
}

// unitOf is a unit's quantity and its factor to SI.
type unitOf struct {
	quantity string
	factor   float64
}

// quantities of the columns that have one; what is not here has no unit.
var quantities = map[role]string{roleTime: "time", roleX: "length", roleY: "length", roleZ: "length", roleLat: "angle", roleLon: "angle", roleHeading: "angle",
	roleAX: "acceleration", roleAY: "acceleration", roleAZ: "acceleration", roleGX: "turn rate", roleGY: "turn rate", roleGZ: "turn rate"}

var columns = loadColumns()

func loadColumns() columnTable {
	var f struct {
		Units []struct {
			Suffix, Quantity string
			Factor           float64
		}
		Columns []struct {
			Role, Unit string
			Names      []string
		}
	}
	if err := json.Unmarshal(columnsJSON, &f); err != nil {
		panic(fmt.Sprintf("track: embedded columns.json: %v", err)) // impossible state: checked by test
	}
	t := columnTable{names: map[string]header{}, units: map[string]unitOf{}}
	for _, u := range f.Units {
		t.units[u.Suffix] = unitOf{u.Quantity, u.Factor}
	}
	for _, c := range f.Columns {
		for _, n := range c.Names {
			h := header{role: roleNames[c.Role], unit: c.Unit, factor: 1}
			if c.Unit != "" {
				h.factor = t.units[c.Unit].factor
			}
			t.names[n] = h
			t.order = append(t.order, n)
		}
	}
	return t
}

// lookup reads one header cell, for instance "t_s", "Acceleration x (m/s^2)" or "UWB_X".
func (t columnTable) lookup(cell string) header {
	name := strings.ToLower(strings.TrimSpace(cell))
	unit := ""
	if i := strings.IndexAny(name, "(["); i > 0 {
		unit = strings.TrimSpace(strings.TrimRight(name[i+1:], ")] "))
		name = strings.TrimSpace(name[:i])
	}
	name = strings.NewReplacer(" ", "_", "-", "_", ".", "_").Replace(name)
	h, ok := t.find(name, unit)
	if !ok {
		if i := strings.IndexByte(name, '_'); i > 0 {
			if h, ok = t.find(name[i+1:], unit); ok {
				h.prefix = name[:i]
			}
		}
	}
	h.raw = cell
	return h
}

func (t columnTable) find(name, unit string) (header, bool) {
	h, ok := t.names[name]
	if !ok && unit == "" {
		if i := strings.LastIndexByte(name, '_'); i > 0 {
			if _, known := t.units[name[i+1:]]; known {
				unit = name[i+1:]
				h, ok = t.names[name[:i]]
			}
		}
	}
	if !ok {
		return header{factor: 1}, false
	}
	switch u, known := t.units[unit]; {
	case known && u.quantity == quantities[h.role]:
		h.unit, h.factor = unit, u.factor
	case unit != "":
		h.odd = unit
	}
	return h, true
}

// unitsFor lists the units of a quantity, for messages.
func (t columnTable) unitsFor(quantity string) string {
	var out []string
	for u, q := range t.units {
		if q.quantity == quantity {
			out = append(out, u)
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// nearest returns the column name that a misspelt one most likely means, "" when none is near.
func (t columnTable) nearest(name string) string {
	name = strings.ToLower(strings.TrimSpace(name))
	best, at := 1+len(name)/3, ""
	for _, n := range t.order {
		if d := edits(name, n); d < best && len(n) > 1 {
			best, at = d, n
		}
	}
	return at
}

// edits is the least number of letters to change, add or leave out to turn a into b.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		last := row[0]
		row[0] = i + 1
		for j := range len(b) {
			d := last
			if a[i] != b[j] {
				d++
			}
			last = row[j+1]
			row[j+1] = min(d, last+1, row[j]+1)
		}
	}
	return row[len(b)]
}
