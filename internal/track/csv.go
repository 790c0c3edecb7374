package track

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

const allowedColumns = "t_s,x_m,y_m[,heading_deg], or time,lat,lon, or time with acc_x,acc_y,acc_z[,gyro_x,gyro_y,gyro_z], or id,x,y,time"

// csvReader reads position and motion tables; comma, semicolon, tab or bar between the cells.
type csvReader struct {
	cr    *csv.Reader
	lines *lineGuard
	comma bool // decimal comma possible
	heads []header
	col   [roleCount]int // column of each role, -1 when absent
	clock clockReader
	rows  []row
	tags  []int32 // per row, index into names
	names []string
	index map[string]int32
	// the second tag of a file with several: on the same horse it shows the heading
	partner     []row
	partnerName string
	second      [2]int // columns of x and y of a second tag in the same row, -1 when there is none
	zs          []float64
	offset      int // lines before the header
	motion      []Motion
	mline       []int // line of each motion sample
	empty       int   // rows without a position
	r           *reading
}

func readCSV(r io.Reader, o ImportOptions) (*reading, error) {
	c := &csvReader{lines: &lineGuard{r: r}, second: [2]int{-1, -1}, index: map[string]int32{}, r: &reading{format: "csv"}}
	if err := c.open(); err != nil {
		return nil, err
	}
	c.cr.Comment = '#'
	c.cr.FieldsPerRecord, c.cr.LazyQuotes, c.cr.ReuseRecord, c.cr.TrimLeadingSpace = -1, true, true, c.cr.Comma != '\t'
	c.comma = c.cr.Comma != ','
	if err := c.readAll(); err != nil {
		return nil, c.positioned(err)
	}
	return c.finish(o)
}

// delimiter picks what parts the cells from the first line.
func delimiter(line string) rune {
	for _, d := range []rune{';', '\t', '|', ','} {
		if strings.ContainsRune(line, d) {
			return d
		}
	}
	if strings.ContainsRune(strings.TrimSpace(line), ' ') {
		return ' '
	}
	return ','
}

func (c *csvReader) readAll() error {
	rec, err := c.cr.Read()
	if err == io.EOF {
		return &Error{Message: "the file has no lines", Allowed: allowedFormats}
	}
	if err != nil {
		return err
	}
	if len(rec) > MaxColumns {
		return tooMany("columns", MaxColumns)
	}
	if allNumbers(rec) {
		return c.headless(rec)
	}
	if err := c.header(rec); err != nil {
		return err
	}
	for first := true; ; first = false {
		rec, err := c.cr.Read()
		if err == io.EOF {
			return nil
		}
		if err == nil && first && c.unitRow(rec) {
			continue
		}
		if err == nil {
			err = c.row(rec)
		}
		if err != nil {
			return err
		}
	}
}

func allNumbers(rec []string) bool {
	for _, s := range rec {
		if _, err := strconv.ParseFloat(strings.TrimSpace(s), 64); err != nil {
			return false
		}
	}
	return true
}

// header finds the roles of the columns. Where several sources share a file (UWB_X, OTHER_X) the
// first complete one is read.
func (c *csvReader) header(rec []string) error {
	for _, cell := range rec {
		c.heads = append(c.heads, columns.lookup(strings.Clone(cell)))
	}
	if prefix, ok := c.choose(); !ok {
		return c.incomplete(rec)
	} else if prefix != "" {
		c.secondTag(prefix)
	}
	for _, r := range []role{roleX, roleY, roleLat, roleLon} {
		if c.col[r] >= 0 && c.heads[c.col[r]].odd != "" {
			h := c.heads[c.col[r]]
			return &Error{Column: clip(h.raw), Message: fmt.Sprintf("%q is no unit of %s that is known", clip(h.odd), quantities[r]), Allowed: columns.unitsFor(quantities[r])}
		}
	}
	c.settleFrame()
	return nil
}

// choose assigns the columns without a prefix, or else those of the first prefix that has all that is needed.
func (c *csvReader) choose() (prefix string, ok bool) {
	if c.assign(""); c.complete() {
		return "", true
	}
	for _, h := range c.heads {
		if h.prefix == "" {
			continue
		}
		if c.assign(h.prefix); c.complete() {
			return h.prefix, true
		}
	}
	return "", false
}

func (c *csvReader) assign(prefix string) {
	for i := range c.col {
		c.col[i] = -1
	}
	for i, h := range c.heads {
		if h.role != roleNone && h.prefix == prefix && c.col[h.role] < 0 {
			c.col[h.role] = i
		}
	}
	for i, h := range c.heads { // several tags in one row share its time
		if h.role == roleTime && h.prefix == "" && c.col[roleTime] < 0 {
			c.col[roleTime] = i
		}
	}
}

func (c *csvReader) has(rs ...role) bool {
	for _, r := range rs {
		if c.col[r] < 0 {
			return false
		}
	}
	return true
}

func (c *csvReader) complete() bool {
	return c.has(roleTime) && (c.has(roleLat, roleLon) || c.has(roleX, roleY) || c.has(roleAX, roleAY, roleAZ))
}

func (c *csvReader) settleFrame() {
	c.clock.head = c.heads[c.col[roleTime]]
	c.r.hasGyro = c.has(roleAX, roleAY, roleAZ, roleGX, roleGY, roleGZ)
	raw := func(r role) string { return strings.ToLower(strings.TrimSpace(c.heads[c.col[r]].raw)) }
	switch {
	case c.has(roleLat, roleLon):
		c.r.frame = FrameGeo
	case c.has(roleX, roleY) && raw(roleTime) == "t_s" && raw(roleX) == "x_m" && raw(roleY) == "y_m":
		c.r.frame, c.r.keepClock = FrameArena, true
	default:
		c.r.frame = FrameLocal
	}
}

func (c *csvReader) row(rec []string) error {
	if len(rec) == 1 && strings.TrimSpace(rec[0]) == "" {
		return nil
	}
	if err := c.width(rec); err != nil {
		return err
	}
	line, _ := c.cr.FieldPos(0)
	line += c.offset
	cell := strings.TrimSpace(rec[c.col[roleTime]])
	if c.has(roleDate) {
		cell = strings.TrimSpace(rec[c.col[roleDate]]) + " " + cell
	}
	t, err := c.clock.read(cell)
	if err != nil {
		return err
	}
	if c.has(roleAX, roleAY, roleAZ) {
		if err := c.motionRow(rec, t, line); err != nil {
			return c.at(err, t)
		}
	}
	if c.has(roleLat, roleLon) || c.has(roleX, roleY) {
		return c.at(c.fixRow(rec, t, line), t)
	}
	return nil
}

func (c *csvReader) width(rec []string) error {
	for len(rec) > len(c.heads) && strings.TrimSpace(rec[len(rec)-1]) == "" {
		rec = rec[:len(rec)-1]
	}
	if len(rec) != len(c.heads) {
		return &Error{Message: fmt.Sprintf("the row has %d columns", len(rec)), Allowed: fmt.Sprintf("%d columns as in the header", len(c.heads))}
	}
	return nil
}

func (c *csvReader) fixRow(rec []string, t float64, line int) error {
	if len(c.rows) >= MaxFixes {
		return tooMany("positions", MaxFixes)
	}
	ra, rb := roleX, roleY
	if c.r.frame == FrameGeo {
		ra, rb = roleLat, roleLon
	}
	ca, cb := strings.TrimSpace(rec[c.col[ra]]), strings.TrimSpace(rec[c.col[rb]])
	if ca == "" && cb == "" && (c.r.frame != FrameArena || c.has(roleAX, roleAY, roleAZ)) {
		c.empty++
		return nil
	}
	w := row{t: t, line: line}
	var err error
	if w.a, err = c.coordinate(ra, ca); err != nil {
		return err
	}
	if w.b, err = c.coordinate(rb, cb); err != nil {
		return err
	}
	if err := c.heading(rec, &w); err != nil {
		return err
	}
	c.rows = append(c.rows, w)
	c.tag(rec)
	c.beside(rec, w)
	return nil
}

func (c *csvReader) coordinate(r role, cell string) (float64, error) {
	switch r {
	case roleLat:
		return degrees(c.heads[c.col[r]].raw, c.point(cell), 90)
	case roleLon:
		return degrees(c.heads[c.col[r]].raw, c.point(cell), 180)
	}
	return c.number(r, cell, 1e7)
}

func (c *csvReader) heading(rec []string, w *row) error {
	if !c.has(roleHeading) {
		return nil
	}
	cell := strings.TrimSpace(rec[c.col[roleHeading]])
	if cell == "" {
		return nil
	}
	v, err := c.number(roleHeading, cell, 1e5)
	if err != nil {
		return err
	}
	w.h, w.hasH = v, true // unit and direction are settled when all are known
	return nil
}

func (c *csvReader) tag(rec []string) {
	if !c.has(roleTag) {
		return
	}
	name := strings.TrimSpace(rec[c.col[roleTag]])
	i, ok := c.index[name]
	if !ok {
		name = strings.Clone(name)
		i = int32(len(c.names))
		c.index[name] = i
		c.names = append(c.names, name)
	}
	c.tags = append(c.tags, i)
}

func (c *csvReader) motionRow(rec []string, t float64, line int) error {
	if strings.TrimSpace(rec[c.col[roleAX]]) == "" {
		return nil
	}
	if len(c.motion) >= MaxMotion {
		return tooMany("motion samples", MaxMotion)
	}
	m := Motion{T: Seconds(t)}
	into := [...]*float64{&m.AccX, &m.AccY, &m.AccZ, &m.GyrX, &m.GyrY, &m.GyrZ}
	for i, p := range into {
		r := roleAX + role(i)
		if r >= roleGX && !c.r.hasGyro {
			break
		}
		v, err := c.number(r, strings.TrimSpace(rec[c.col[r]]), 1e6)
		if err != nil {
			return err
		}
		*p = v
	}
	c.motion = append(c.motion, m)
	c.mline = append(c.mline, line)
	return nil
}

// number reads one finite cell and turns it to SI with the unit of its header.
func (c *csvReader) number(r role, cell string, most float64) (float64, error) {
	h := c.heads[c.col[r]]
	v, err := strconv.ParseFloat(c.point(cell), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		what := fmt.Sprintf("%q is not a number", clip(cell))
		if cell == "" {
			what = "the cell is empty"
		}
		return 0, &Error{Column: h.raw, Message: what, Allowed: "a finite number, for instance 3.25"}
	}
	if math.Abs(v) > most {
		return 0, &Error{Column: h.raw, Message: clip(cell) + " is out of range", Allowed: fmt.Sprintf("-%g to %g", most, most)}
	}
	return v * h.factor, nil
}

func (c *csvReader) point(cell string) string {
	if c.comma && strings.IndexByte(cell, ',') >= 0 {
		return strings.Replace(cell, ",", ".", 1)
	}
	return cell
}

func (c *csvReader) at(err error, t float64) error {
	var e *Error
	if errors.As(err, &e) && e.At == "" {
		e.At = c.clock.name(t)
	}
	return err
}

func (c *csvReader) positioned(err error) error {
	var e *Error
	if errors.As(err, &e) {
		if e.Line == 0 {
			e.Line = c.line()
		}
		return e
	}
	var p *csv.ParseError
	if errors.As(err, &p) {
		return &Error{Line: p.Line + c.offset, Message: clip(p.Err.Error()), Allowed: "cells parted by a comma, semicolon or tab", Cause: err}
	}
	return &Error{Line: c.line(), Message: "could not be read: " + err.Error(), Cause: err}
}

func (c *csvReader) line() int {
	defer func() { _ = recover() }() // FieldPos panics when no record was read yet
	l, _ := c.cr.FieldPos(0)
	return l + c.offset
}

// lineGuard refuses lines beyond MaxLine before a reader has to hold them.
type lineGuard struct {
	r    io.Reader
	n    int
	line int
}

// Read hands bytes on and counts the length of lines; it implements io.Reader.
func (g *lineGuard) Read(p []byte) (int, error) {
	n, err := g.r.Read(p)
	for _, b := range p[:n] {
		g.n++
		if b == '\n' || b == '\r' {
			g.line++
			g.n = 0
		} else if g.n > MaxLine {
			return 0, &Error{Line: g.line + 1, Message: "the line is too long", Allowed: fmt.Sprintf("at most %d bytes", MaxLine)}
		}
	}
	return n, err
}
