package track

import "math"

// way is how a file may count headings.
type way struct {
	factor  float64 // to radians
	compass bool    // clockwise from +y; else anticlockwise from +x
}

func (v way) radians(h float64) float64 {
	if h *= v.factor; v.compass {
		h = math.Pi/2 - h
	}
	return math.Remainder(h, 2*math.Pi)
}

func (v way) String() string {
	unit, turn := "degrees", "anticlockwise from the x axis"
	if v.factor == 1 {
		unit = "radians"
	}
	if v.compass {
		turn = "clockwise from north or the y axis, as a compass"
	}
	return unit + " " + turn
}

// how often a heading must be within a right angle's two thirds of the way of travel to be believed.
const (
	headingNear   = 60 * degree
	headingAgrees = 0.5 // of the moving rows: the usual way of counting is kept above this
	headingSurely = 0.8 // of the moving rows: another way is taken above this
	headingRows   = 20  // fewest moving rows to judge by
)

// settleHeadings turns the headings to radians in the frame. The usual way of counting (compass degrees
// for latitude and longitude, degrees anticlockwise from +x else) is kept unless the way of travel speaks
// clearly for another one: horses go mostly where they look. What fits no way is left out; both are said.
func (c *csvReader) settleHeadings() {
	if !c.has(roleHeading) || len(c.r.rows) == 0 {
		return
	}
	ways := c.waysOfCounting()
	best, share, rows := 0, 0.0, 0
	for i, v := range ways {
		s, n := c.agree(v)
		if rows = n; i == 0 && (s >= headingAgrees || n < headingRows) {
			share = s
			break
		}
		if s > share {
			best, share = i, s
		}
	}
	told := c.heads[c.col[roleHeading]].unit != ""
	switch v := ways[best]; {
	case rows >= headingRows && share < headingAgrees && whiteOf(c.r.rows) < 0.5:
		c.r.note("the headings point where the horse went in only %.0f %% of the rows, however they are counted, and were left out; wanted are %s", 100*share, ways[0])
		for i := range c.r.rows {
			c.r.rows[i].hasH = false
		}
		return
	case best > 0 && share < headingSurely:
		best = 0
	case best > 0 || !told || c.r.frame == FrameGeo:
		c.r.note("headings are taken as %s", v)
	}
	for i := range c.r.rows {
		c.r.rows[i].h = ways[best].radians(c.r.rows[i].h)
	}
}

// waysOfCounting lists how the headings may be counted, the usual way first.
func (c *csvReader) waysOfCounting() []way {
	geo := c.r.frame == FrameGeo
	if c.heads[c.col[roleHeading]].unit != "" { // the cells are radians already
		return []way{{1, geo}, {1, !geo}}
	}
	return []way{{degree, geo}, {degree, !geo}, {1, geo}, {1, !geo}}
}

// agree is the share of moving rows whose heading lies near the way of travel, and their number.
func (c *csvReader) agree(v way) (share float64, n int) {
	const around = 1.5 // s before and after
	rows := c.r.rows
	east, north := 1.0, 1.0
	if c.r.frame == FrameGeo {
		p := NewPlane(LatLon{rows[0].a, rows[0].b})
		east, north = p.perLonD, p.perLatDeg
	}
	near := 0
	for i, j, k := 0, 0, 0; i < len(rows); i++ {
		for rows[i].t-rows[j].t > around {
			j++
		}
		for k+1 < len(rows) && rows[k+1].t-rows[i].t <= around {
			k++
		}
		dx, dy := rows[k].a-rows[j].a, rows[k].b-rows[j].b
		if c.r.frame == FrameGeo {
			dx, dy = dy*east, dx*north
		}
		if !rows[i].hasH || k <= j || math.Hypot(dx, dy) < 1.2 || math.Hypot(dx, dy) < 0.7*(rows[k].t-rows[j].t) {
			continue
		}
		n++
		if math.Abs(math.Remainder(v.radians(rows[i].h)-math.Atan2(dy, dx), 2*math.Pi)) < headingNear {
			near++
		}
	}
	if n == 0 {
		return 0, 0
	}
	return float64(near) / float64(n), n
}

// accelerationAfterAll recognises an accelerometer whose columns are called x, y and z: more than 20
// rows a second, and of the size of gravity, or swinging about nought on all three axes.
func (c *csvReader) accelerationAfterAll() error {
	r := c.r
	if r.frame != FrameLocal || len(c.motion) > 0 || len(c.zs) != len(r.rows) || len(r.rows) < MinMotion || c.heads[c.col[roleX]].unit != "" {
		return nil
	}
	if rate := float64(len(r.rows)-1) / (r.rows[len(r.rows)-1].t - r.rows[0].t); !(rate > 20) {
		return nil
	}
	heavy, mean, sq := 0, [3]float64{}, [3]float64{}
	for i, w := range r.rows {
		v := [3]float64{w.a, w.b, c.zs[i]}
		for a := range v {
			mean[a] += v[a] / float64(len(r.rows))
			sq[a] += v[a] * v[a] / float64(len(r.rows))
		}
		if g := math.Hypot(math.Hypot(v[0], v[1]), v[2]); g > 5 && g < 20 || g > 0.5 && g < 2 {
			heavy++
		}
	}
	swings := true
	for a := range mean {
		swings = swings && math.Abs(mean[a]) < 0.2*math.Sqrt(sq[a])
	}
	if !swings && heavy*10 < len(r.rows)*9 {
		return nil
	}
	if len(r.rows) > MaxMotion {
		return tooMany("motion samples", MaxMotion)
	}
	for i, w := range r.rows {
		r.motion = append(r.motion, Motion{T: Seconds(w.t), AccX: w.a, AccY: w.b, AccZ: c.zs[i]})
	}
	c.motion, r.rows = r.motion, nil
	c.col[roleAX], c.col[roleAY], c.col[roleAZ] = c.col[roleX], c.col[roleY], c.col[roleZ]
	r.note("the columns x, y and z are not places (%s): they were taken as acceleration; name them acc_x, acc_y, acc_z to settle it",
		map[bool]string{true: "they swing about nought", false: "they have the size of gravity"}[swings])
	return nil
}
