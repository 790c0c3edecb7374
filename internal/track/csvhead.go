package track

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// linesBefore is how many lines a logger may write of itself before the header.
const linesBefore = 30

// open finds the header among the first lines and starts the table there: loggers write their name and
// settings before it.
func (c *csvReader) open() error {
	lines, starts, seen, err := c.lines.ahead()
	if err != nil {
		return err
	}
	at := 0
	for i, l := range lines {
		if headerIn(l) {
			at = i
			break
		}
	}
	first := ""
	if len(lines) > 0 {
		first = lines[at]
	}
	if at > 0 {
		c.offset = strings.Count(seen[:starts[at]], "\n")
		seen = seen[starts[at]:]
		c.r.leftOut(at, "line", "before the header")
	}
	c.cr = csv.NewReader(io.MultiReader(strings.NewReader(seen), c.lines))
	c.cr.Comma = delimiter(first)
	return nil
}

// headerIn reports whether a line is a whole header.
func headerIn(line string) bool {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.LazyQuotes, r.TrimLeadingSpace = delimiter(line), true, true
	rec, err := r.Read()
	if err != nil || len(rec) > MaxColumns {
		return false
	}
	var c csvReader
	for _, cell := range rec {
		c.heads = append(c.heads, columns.lookup(cell))
	}
	_, ok := c.choose()
	return ok
}

// ahead reads the first lines that are neither empty nor a comment, where each starts in what was read,
// and all that was read.
func (g *lineGuard) ahead() (lines []string, starts []int, seen string, err error) {
	var all, line strings.Builder
	start := 0
	buf := make([]byte, 1)
	for {
		n, err := g.Read(buf)
		if n > 0 {
			all.Write(buf)
			if buf[0] != '\n' {
				line.Write(buf)
				continue
			}
		} else if err == nil {
			continue
		}
		if err != nil && err != io.EOF {
			return nil, nil, "", err
		}
		if l := strings.TrimSpace(line.String()); l != "" && l[0] != '#' {
			lines, starts = append(lines, strings.Trim(line.String(), "\r")), append(starts, start)
		}
		if err == io.EOF || len(lines) > linesBefore || all.Len() > 2*MaxLine {
			return lines, starts, all.String(), nil
		}
		line.Reset()
		start = all.Len()
	}
}

// incomplete says what a header lacks and what its words may mean.
func (c *csvReader) incomplete(rec []string) error {
	e := &Error{Line: c.line(), Message: "the header " + clip(strings.Join(rec, string(c.cr.Comma))) + " has no time with positions or motion", Allowed: allowedColumns}
	c.assign("")
	switch {
	case !c.has(roleTime) && c.hasPlace():
		e.Message = "the header " + clip(strings.Join(rec, string(c.cr.Comma))) + " has no time"
	case c.has(roleTime) && !c.hasPlace():
		e.Message += " (the time alone was found)"
	}
	for i, h := range c.heads {
		if h.role != roleNone || i >= len(rec) {
			continue
		}
		if n := columns.nearest(h.raw); n != "" {
			e.Message += fmt.Sprintf("; does %q mean %s?", clip(h.raw), n)
			break
		}
	}
	return e
}

func (c *csvReader) hasPlace() bool {
	return c.has(roleLat, roleLon) || c.has(roleX, roleY) || c.has(roleAX, roleAY, roleAZ)
}

// unitRow takes a row of units under the header, as spreadsheets have it, and reports whether it was one.
func (c *csvReader) unitRow(rec []string) bool {
	if len(rec) != len(c.heads) {
		return false
	}
	units := make(map[int]string, len(rec)) // by column
	for i, cell := range rec {
		cell = strings.ToLower(strings.Trim(strings.TrimSpace(cell), "()[]"))
		if _, err := strconv.ParseFloat(c.point(cell), 64); err == nil {
			return false
		}
		if u, ok := columns.units[cell]; ok && u.quantity == quantities[c.heads[i].role] {
			units[i] = cell
		}
	}
	if len(units) < 2 {
		return false
	}
	for i, name := range units {
		c.heads[i].unit, c.heads[i].factor = name, columns.units[name].factor
	}
	c.clock.head = c.heads[c.col[roleTime]]
	return true
}

// secondTag finds another tag in the same rows, its columns named by another prefix.
func (c *csvReader) secondTag(first string) {
	for _, h := range c.heads {
		if h.prefix == "" || h.prefix == first {
			continue
		}
		x, y := -1, -1
		for i, o := range c.heads {
			if o.prefix == h.prefix && o.role == roleX {
				x = i
			}
			if o.prefix == h.prefix && o.role == roleY {
				y = i
			}
		}
		if x >= 0 && y >= 0 && c.timeOf(h.prefix) == c.col[roleTime] {
			c.second, c.partnerName = [2]int{x, y}, h.prefix
			break
		}
	}
	c.r.note("the columns named %s_... were read, the others left out", first)
}

// timeOf is the column of the time that goes with a prefix.
func (c *csvReader) timeOf(prefix string) int {
	at := -1
	for i, h := range c.heads {
		if h.role == roleTime && (h.prefix == prefix || h.prefix == "" && at < 0) {
			at = i
		}
	}
	return at
}

// beside keeps what a row holds besides its place: the second tag's place, and a height.
func (c *csvReader) beside(rec []string, w row) {
	if x, y := c.second[0], c.second[1]; x >= 0 && c.r.frame != FrameGeo {
		a, err1 := c.number(roleX, strings.TrimSpace(rec[x]), 1e7)
		b, err2 := c.number(roleY, strings.TrimSpace(rec[y]), 1e7)
		if err1 == nil && err2 == nil {
			c.partner = append(c.partner, row{t: w.t, a: a, b: b, line: w.line})
		}
	}
	if c.has(roleZ) && c.r.frame == FrameLocal {
		z, err := c.number(roleZ, strings.TrimSpace(rec[c.col[roleZ]]), 1e7)
		if err == nil {
			c.zs = append(c.zs, z)
		}
	}
}
