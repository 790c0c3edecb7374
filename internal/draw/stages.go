package draw

import (
	"fmt"
	"math"

	"ringcraft/internal/rideplan"
)

// Stage is a run of movements that can be drawn in one arena without riding over itself
// more than it must: the i-th to the j-th movement of a plan, both counted from 0.
type Stage struct{ First, Last int }

// Words names a stage by the numbers of its movements.
func (s Stage) Words(p *rideplan.Plan) string {
	if s.First == s.Last {
		return fmt.Sprintf("movement %d", p.Movements[s.First].Number)
	}
	return fmt.Sprintf("movements %d to %d", p.Movements[s.First].Number, p.Movements[s.Last].Number)
}

// Costs of a cut of a test into stages, in metres of line ridden twice in one arena.
const (
	stageEach  = 26  // a further picture
	stageMore  = 2.6 // for the square of the movements after the first of a stage: a picture that says little is read quickly
	stageNear  = 1.2 // metres within which two lines hide each other
	stageCross = 0.9 // cosine between two lines from which they run together rather than cross
	stageLong  = 24  // movements a stage may have at most, which bounds the work of endless sheets
)

// Stages cuts a test into at most so many stages (0: as many as it needs) so that as little
// as possible of the line is ridden twice in one picture. The best cut is found, not the first.
func Stages(p *rideplan.Plan, most int) []Stage {
	n := len(p.Movements)
	if n == 0 {
		return nil
	}
	long := stageLong
	if most > 0 {
		long = max(long, 2*((n+most-1)/most))
	}
	if most <= 0 || most > n {
		most = n
	}
	return cutStages(stageCosts(p, long), n, most)
}

// cutStages finds the cheapest way to cut n movements into at most most stages; cost[i][k] is
// that of a stage from i with k movements more.
func cutStages(cost [][]float64, n, most int) []Stage {
	best := make([][]float64, most+1) // [stages used][movements covered]
	from := make([][]int, most+1)
	for k := range best {
		best[k], from[k] = make([]float64, n+1), make([]int, n+1)
		for j := range best[k] {
			best[k][j] = math.Inf(1)
		}
	}
	best[0][0] = 0
	for k := 1; k <= most; k++ {
		for i := 0; i < n; i++ {
			for l, c := range cost[i] {
				if v := best[k-1][i] + c; v < best[k][i+l+1] {
					best[k][i+l+1], from[k][i+l+1] = v, i
				}
			}
		}
	}
	used := 1
	for k := 2; k <= most; k++ {
		if best[k][n] < best[used][n] {
			used = k
		}
	}
	out := make([]Stage, used)
	for k, j := used, n; k > 0; k-- {
		out[k-1] = Stage{from[k][j], j - 1}
		j = from[k][j]
	}
	return out
}

// stageCosts are the costs of every stage of at most long movements.
func stageCosts(p *rideplan.Plan, long int) [][]float64 {
	again := riddenAgain(p)
	out := make([][]float64, len(p.Movements))
	for i := range out {
		sum := 0.0
		for j := i; j < min(i+long, len(p.Movements)); j++ {
			for before, metres := range again[j] {
				if j-before >= i {
					sum += metres
				}
			}
			out[i] = append(out[i], stageEach+sum+stageMore*float64((j-i)*(j-i)))
		}
	}
	return out
}

// riddenAgain says for every movement how many metres of it run over ground last ridden in
// the same movement ([0]), the one before ([1]) and so on.
func riddenAgain(p *rideplan.Plan) [][]float64 {
	out := make([][]float64, len(p.Movements))
	if p.Board == nil || len(p.Samples) < 2 {
		return out
	}
	index := map[int]int{}
	for i := range p.Movements {
		index[p.Movements[i].Number] = i
	}
	st, c := stations(p.Samples), newCells(p.Board)
	for i := range st {
		me, ok := index[st[i].movement]
		if !ok {
			continue
		}
		x, y := c.at(st[i].p)
		if last := c.lastNear(st, i, x, y); last >= 0 {
			before := me - index[st[last].movement]
			for len(out[me]) <= before {
				out[me] = append(out[me], 0)
			}
			if before >= 0 {
				out[me][before] += laneStep
			}
		}
		at := y*c.wide + x
		c.in[at] = append(c.in[at], int32(i))
	}
	return out
}

// lastNear is the last station before i that runs along the same ground, -1 for none.
func (c *cells) lastNear(st []station, i, x, y int) int {
	last := -1
	for row := y - 1; row <= y+1; row++ {
		for _, in := range c.in[row*c.wide+x-1 : row*c.wide+x+2] {
			for k := len(in) - 1; k >= 0 && int(in[k]) > last; k-- {
				a, b := &st[i], &st[in[k]]
				if a.m-b.m >= laneApart && math.Hypot(a.p.X-b.p.X, a.p.Y-b.p.Y) < stageNear && math.Abs(a.d.Dot(b.d)) > stageCross {
					last = int(in[k])
					break
				}
			}
		}
	}
	return last
}

// StagesScene draws a test as its stages side by side, in riding order, numbers as headings.
func StagesScene(p *rideplan.Plan, o MultiplesOptions) *Scene {
	if o.Columns <= 0 {
		o.Columns = 3
	}
	var cells []Options
	for _, st := range Stages(p, 0) {
		cells = append(cells, Options{Stage: &st})
	}
	return sideBySide(p, o, cells, ", stage by stage", func(c Options) string { return c.Stage.Words(p) })
}
