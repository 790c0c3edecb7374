package track

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// finish chooses the tag, settles units that no header gave and hands the rows on.
func (c *csvReader) finish(o ImportOptions) (*reading, error) {
	if err := c.chooseTag(o.Tag); err != nil {
		return nil, err
	}
	r := c.r
	r.rows, r.motion = c.rows, c.motion
	if c.empty > 0 {
		r.leftOut(c.empty, "row", "without a position")
	}
	if len(c.motion) > 0 {
		c.heldPositions()
		for i := 1; i < len(r.motion); i++ {
			if r.motion[i].T < r.motion[i-1].T {
				return nil, &Error{Line: c.mline[i], At: c.clock.name(float64(r.motion[i].T)), Message: "time runs backwards", Allowed: "each time later than the one before"}
			}
		}
	}
	if r.frame != FrameArena {
		c.settleClock()
		if err := c.accelerationAfterAll(); err != nil {
			return nil, err
		}
		c.settleLength()
	}
	c.settleHeadings()
	if len(c.partner) > 0 && r.frame != FrameGeo {
		r.pairHeading(c.partner, c.partnerName)
	}
	c.settleMotionUnits()
	return r, nil
}

// chooseTag keeps one tag of several and says which others there were.
func (c *csvReader) chooseTag(want string) error {
	if len(c.names) == 0 {
		if want != "" {
			return &Error{Message: "no tags in the file, so none is called " + clip(want), Allowed: "no tag"}
		}
		return nil
	}
	count := make([]int, len(c.names))
	for _, t := range c.tags {
		count[t]++
	}
	pick := -1
	for i := range count {
		if want == c.names[i] || want == "" && (pick < 0 || count[i] > count[pick]) {
			pick = i
		}
	}
	if pick < 0 {
		return &Error{Message: "no tag is called " + clip(want), Allowed: listed(c.names)}
	}
	c.partTags(count, pick)
	if len(c.names) > 1 {
		var others []string
		for i, n := range c.names {
			if i != pick {
				others = append(others, n)
			}
		}
		c.r.note("tag %s was read (%d rows); left out: %s", clip(c.names[pick]), count[pick], listed(others))
	}
	return nil
}

// partTags keeps the rows of the tag picked, and those of the next most frequent one beside them.
func (c *csvReader) partTags(count []int, pick int) {
	second := -1
	for i := range count {
		if i != pick && (second < 0 || count[i] > count[second]) {
			second = i
		}
	}
	kept := make([]row, 0, count[pick])
	for i, w := range c.rows {
		switch int(c.tags[i]) {
		case pick:
			kept = append(kept, w)
		case second:
			c.partner = append(c.partner, w)
		}
	}
	if second >= 0 {
		c.partnerName = c.names[second]
	}
	c.rows = kept
}

func listed(names []string) string {
	const most = 12
	short := make([]string, 0, most)
	for i, n := range names {
		if i == most {
			short = append(short, fmt.Sprintf("and %d more", len(names)-most))
			break
		}
		short = append(short, clip(n))
	}
	return strings.Join(short, ", ")
}

// heldPositions drops positions that merely repeat the last one on the rows of a faster motion
// sensor. Only rows beside motion are thinned: in a plain track a repeated position is a halt.
func (c *csvReader) heldPositions() {
	if len(c.rows) < len(c.motion) {
		return
	}
	var out []row
	for i, w := range c.rows {
		if i == 0 || w.a != c.rows[i-1].a || w.b != c.rows[i-1].b || w.h != c.rows[i-1].h || w.t-out[len(out)-1].t >= 1/c.heldFactor() {
			out = append(out, w)
		}
	}
	if n := len(c.rows) - len(out); n > 0 {
		c.r.leftOut(n, "position", "held over from the row before")
	}
	c.r.rows = out
}

// heldFactor is one second in the file's time unit, inverted.
func (c *csvReader) heldFactor() float64 {
	if c.clock.text || c.clock.head.unit != "" {
		return 1
	}
	s, _ := timeScale(c.steps())
	return s
}

func (c *csvReader) steps() []float64 {
	var d []float64
	for i := 1; i < len(c.r.rows); i++ {
		if s := c.r.rows[i].t - c.r.rows[i-1].t; s > 0 {
			d = append(d, s)
		}
	}
	if len(d) == 0 {
		for i := 1; i < len(c.r.motion); i++ {
			if s := float64(c.r.motion[i].T - c.r.motion[i-1].T); s > 0 {
				d = append(d, s)
			}
		}
	}
	return d
}

func (c *csvReader) settleClock() {
	r := c.r
	if c.clock.text {
		r.unix = !c.clock.daytime
		return
	}
	scale := 1.0
	if c.clock.head.unit == "" {
		var name string
		if scale, name = timeScale(c.steps()); scale != 1 {
			which := fmt.Sprintf("the time column %q", clip(c.clock.head.raw))
			if c.clock.unnamed {
				which = "the first column, taken as time,"
			}
			r.note("%s gives no unit and was taken as %s", which, name)
		}
	}
	for _, rows := range [][]row{r.rows, c.partner} {
		for i := range rows {
			rows[i].t *= scale
		}
	}
	for i := range r.motion {
		r.motion[i].T *= Seconds(scale)
	}
	switch {
	case len(r.rows) > 0:
		r.unix = epoch(r.rows[0].t)
	case len(r.motion) > 0:
		r.unix = epoch(float64(r.motion[0].T))
	}
}

// settleLength guesses metres, centimetres or millimetres where no header says: from how fast the
// tag moves (a horse or a person on foot, about 2 m/s), from its scatter (about 0.08 m for radio
// tags), and because whole numbers alone are never metres. The guess is said in the notes.
func (c *csvReader) settleLength() {
	r := c.r
	if r.frame != FrameLocal || len(r.rows) < 2 || c.heads[c.col[roleX]].unit != "" {
		return
	}
	v, scatter, whole := typicalSpeed(r.rows), whiteOf(r.rows), wholeNumbers(r.rows)
	best, name, cost := 1.0, "metres", math.Inf(1)
	for _, u := range []struct {
		f    float64
		name string
	}{{1, "metres"}, {1e-2, "centimetres"}, {1e-3, "millimetres"}} {
		k := square(math.Log(max(v*u.f, 1e-6)/2)/0.9) + square(math.Log(max(scatter*u.f, 0.01)/0.08)/1.1)
		if k < cost && !(whole && u.f == 1) {
			best, name, cost = u.f, u.name, k
		}
	}
	for _, rows := range [][]row{r.rows, c.partner} {
		for i := range rows {
			rows[i].a *= best
			rows[i].b *= best
		}
	}
	r.note("the x and y columns give no unit and were taken as %s (typical speed then %.1f m/s, scatter %.2f m); name them x_m, x_cm or x_mm to settle it", name, v*best, scatter*best)
}

func square(v float64) float64 { return v * v }

func wholeNumbers(rows []row) bool {
	for _, w := range rows {
		if w.a != math.Trunc(w.a) || w.b != math.Trunc(w.b) {
			return false
		}
	}
	return true
}

func whiteOf(rows []row) float64 {
	f := make([]Fix, len(rows))
	for i, w := range rows {
		f[i] = Fix{T: Seconds(w.t), P: Local{w.a, w.b}}
	}
	sd, _ := WhiteNoise(f)
	return sd
}

// typicalSpeed is the upper quartile of the speed over spans of 2 s or more, in file units a second.
func typicalSpeed(rows []row) float64 {
	var v []float64
	for i, j := 0, 0; j < len(rows); j++ {
		for rows[j].t-rows[i].t >= 2 {
			v = append(v, math.Hypot(rows[j].a-rows[i].a, rows[j].b-rows[i].b)/(rows[j].t-rows[i].t))
			i++
		}
	}
	if len(v) == 0 {
		return 0
	}
	sort.Float64s(v)
	return v[len(v)*3/4]
}

// settleMotionUnits guesses g or m/s2 from the size of gravity and rad/s or deg/s from the size
// of the turns where the headers give no unit.
func (c *csvReader) settleMotionUnits() {
	r := c.r
	if len(r.motion) == 0 {
		return
	}
	if c.heads[c.col[roleAX]].unit == "" {
		c.scaleAcceleration()
	}
	if r.hasGyro && c.heads[c.col[roleGX]].unit == "" {
		size := make([]float64, len(r.motion))
		for i, m := range r.motion {
			size[i] = math.Hypot(math.Hypot(m.GyrX, m.GyrY), m.GyrZ)
		}
		sort.Float64s(size)
		if top := size[len(size)*99/100]; top > 12 { // 12 rad/s is two turns a second
			for i := range r.motion {
				m := &r.motion[i]
				m.GyrX, m.GyrY, m.GyrZ = m.GyrX*degree, m.GyrY*degree, m.GyrZ*degree
			}
			r.note("the turn rates give no unit and were taken as degrees a second")
		} else {
			r.note("the turn rates give no unit and were taken as radians a second")
		}
	}
}

func (c *csvReader) scaleAcceleration() {
	r := c.r
	size := make([]float64, len(r.motion))
	for i, m := range r.motion {
		size[i] = math.Hypot(math.Hypot(m.AccX, m.AccY), m.AccZ)
	}
	sort.Float64s(size)
	mid, f, name := size[len(size)/2], 1.0, "m/s2"
	switch {
	case mid > 0.5 && mid < 2:
		f, name = standardGravity, "g"
	case mid > 500 && mid < 2000:
		f, name = standardGravity/1000, "thousandths of g"
	case mid < 5 || mid > 20:
		r.note("the size of the acceleration (%.2g) is not that of gravity; its unit is taken as m/s2 and may be wrong", mid)
	}
	if f != 1 {
		for i := range r.motion {
			m := &r.motion[i]
			m.AccX, m.AccY, m.AccZ = m.AccX*f, m.AccY*f, m.AccZ*f
		}
		r.note("the accelerations give no unit and were taken as %s", name)
	}
}

// standardGravity in m/s2 (CGPM 1901).
const standardGravity = 9.80665

// headless reads a table without a header. Only one kind is safe to guess: a rising time followed
// by three columns whose size is that of gravity. first is the first record.
func (c *csvReader) headless(first []string) error {
	if len(first) < 4 {
		return &Error{Line: 1, Message: "the first line holds numbers, not column names", Allowed: allowedColumns}
	}
	c.heads = make([]header, len(first))
	for i := range c.heads {
		c.heads[i] = header{raw: fmt.Sprintf("%d", i+1), factor: 1}
	}
	for i := range c.col {
		c.col[i] = -1
	}
	c.col[roleTime], c.col[roleAX], c.col[roleAY], c.col[roleAZ] = 0, 1, 2, 3
	c.clock.head, c.clock.unnamed = c.heads[0], true
	c.r.frame = FrameLocal
	for rec := first; ; {
		if err := c.row(rec); err != nil {
			return err
		}
		var err error
		if rec, err = c.cr.Read(); err != nil {
			return c.headlessEnd(err)
		}
	}
}

func (c *csvReader) headlessEnd(err error) error {
	if err.Error() != "EOF" {
		return err
	}
	near := 0
	for _, m := range c.motion {
		if g := math.Hypot(math.Hypot(m.AccX, m.AccY), m.AccZ); g > 3 && g < 30 || g > 0.3 && g < 3 {
			near++
		}
	}
	if near*10 < len(c.motion)*9 {
		return &Error{Line: 1, Message: "the file has no column names and its numbers do not look like an accelerometer", Allowed: allowedColumns}
	}
	c.r.note("no column names: the first column was taken as time, the next three as acceleration")
	return nil
}
