package track

import (
	_ "embed"
	"encoding/json"
	"fmt"
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

var roleNames = map[string]role{"time": roleTime, "lat": roleLat, "lon": roleLon, "x": roleX, "y": roleY,
	"heading": roleHeading, "tag": roleTag, "ax": roleAX, "ay": roleAY, "az": roleAZ, "gx": roleGX, "gy": roleGY, "gz": roleGZ}

// header is one column as its name tells it.
type header struct {
	raw    string
	role   role
	unit   string  // suffix found, "" when the name gives none
	factor float64 // to SI, 1 when the name gives none
	prefix string  // what stood before a name that is known without it
}

type columnTable struct {
	names map[string]header
	units map[string]float64
}

var columns = loadColumns()

func loadColumns() columnTable {
	var f struct {
		Units []struct {
			Suffix string
			Factor float64
		}
		Columns []struct {
			Role, Unit string
			Names      []string
		}
	}
	if err := json.Unmarshal(columnsJSON, &f); err != nil {
		panic(fmt.Sprintf("track: embedded columns.json: %v", err)) // impossible state: checked by test
	}
	t := columnTable{names: map[string]header{}, units: map[string]float64{}}
	for _, u := range f.Units {
		t.units[u.Suffix] = u.Factor
	}
	for _, c := range f.Columns {
		for _, n := range c.Names {
			h := header{role: roleNames[c.Role], unit: c.Unit, factor: 1}
			if c.Unit != "" {
				h.factor = t.units[c.Unit]
			}
			t.names[n] = h
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
	if f, known := t.units[unit]; known {
		h.unit, h.factor = unit, f
	}
	return h, true
}
