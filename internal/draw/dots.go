package draw

// dots are points of a picture in squares, so that those near a place are found at once.
type dots struct {
	side       float64
	cols, rows int
	in         [][]Pt
}

func newDots(w, h, side float64) *dots {
	d := &dots{side: side, cols: max(1, int(w/side)+1), rows: max(1, int(h/side)+1)}
	d.in = make([][]Pt, d.cols*d.rows)
	return d
}

// at is the square of a point; points outside share the squares at the edge.
func (d *dots) at(p Pt) (x, y int) {
	return min(max(int(p.X/d.side), 0), d.cols-1), min(max(int(p.Y/d.side), 0), d.rows-1)
}

func (d *dots) add(p Pt) {
	x, y := d.at(p)
	d.in[y*d.cols+x] = append(d.in[y*d.cols+x], p)
}

// within counts the points closer to c than r, which is at most a side.
func (d *dots) within(c Pt, r float64) int {
	x, y := d.at(c)
	n := 0
	for j := max(y-1, 0); j <= min(y+1, d.rows-1); j++ {
		for i := max(x-1, 0); i <= min(x+1, d.cols-1); i++ {
			for _, p := range d.in[j*d.cols+i] {
				if dx, dy := c.X-p.X, c.Y-p.Y; dx*dx+dy*dy < r*r {
					n++
				}
			}
		}
	}
	return n
}
