package rideplan

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// Speed along the line.
//
// Each stretch has the speed of its pace, lowered for lateral work and on bends (v*v/r stays
// under a limit). Changes take room: one pass forwards limits how fast speed may rise, one
// backwards how fast it may fall, so v*v changes by at most 2*a*ds. At a change of pace the
// middle of the change of speed is put at the letter: that is what a watch or a recorder sees.

const gridStep = 0.2 // metres between speed points

// station is a point of the speed grid, or a stop.
type station struct {
	s     float64 // final metres
	piece int     // the piece that begins here or goes on
	v     float64
	t     gait.Seconds
	stop  bool // the horse stands here for the hold of the piece
}

// timeline is the line with its times.
type timeline struct {
	line     *rounded
	pieces   []elem
	stations []station
	cap      []float64 // speed limit from station i to i+1
	up, down []float64 // m/s^2 allowed from station i to i+1
	t0, t1   []gait.Seconds
	m0, m1   []float64 // final metres of each piece
	total    gait.Seconds
}

type speeds struct {
	horse gait.Profile
	lvl   level
}

// of returns the speed asked of a piece on a straight.
func (k speeds) of(e elem) float64 {
	f, _ := k.horse.Figures(e.variety)
	v := float64(f.Speed)
	if _, own := k.horse.Varieties[e.variety]; !own {
		v *= k.lvl.speedFactor(f.Pace)
	}
	if e.lat != nil {
		v *= lateralFactor(e.lat.kind, f.Pace)
	}
	return v
}

// lateralFactor slows lateral work: shoulder-in and half-pass in trot run at 2.8-3.3 m/s
// against 3.2 collected, leg-yield at 3.3-3.6 against 3.6 working (working values, the table
// of movements without a good published speed).
func lateralFactor(kind string, p gait.Pace) float64 {
	switch {
	case p == gait.Walk:
		return 0.92
	case kind == "leg-yield":
		return 0.96
	}
	return 0.95
}

func buildTimeline(pieces []elem, line *rounded, k speeds) *timeline {
	tl := &timeline{line: line, pieces: pieces}
	tl.grid()
	tl.limits(k)
	tl.centreChanges()
	tl.profile()
	tl.clock()
	return tl
}

// grid lays stations at every border of pieces and every gridStep between.
func (tl *timeline) grid() {
	n := len(tl.pieces)
	tl.m0, tl.m1 = make([]float64, n), make([]float64, n)
	for i, e := range tl.pieces {
		a, b := tl.line.metre(e.s0), tl.line.metre(e.s0+e.length)
		tl.m0[i], tl.m1[i] = a, b
		if e.spot {
			tl.stations = append(tl.stations, station{s: a, piece: i, stop: true})
			continue
		}
		steps := max(1, int(math.Ceil((b-a)/gridStep)))
		for j := 0; j < steps; j++ {
			tl.stations = append(tl.stations, station{s: a + (b-a)*float64(j)/float64(steps), piece: i})
		}
	}
	if n > 0 {
		tl.stations = append(tl.stations, station{s: tl.m1[n-1], piece: n - 1})
	}
}

// limits gives every grid interval its speed limit and the changes of speed allowed in it.
func (tl *timeline) limits(k speeds) {
	n := len(tl.stations)
	tl.cap, tl.up, tl.down = make([]float64, n), make([]float64, n), make([]float64, n)
	w := newWalker(tl.line.path)
	grip := value("lateral_mps2")
	for i := 0; i+1 < n; i++ {
		st := tl.stations[i]
		if st.stop {
			continue
		}
		e := tl.pieces[st.piece]
		v := k.of(e)
		mid := (st.s + tl.stations[i+1].s) / 2
		if c := math.Abs(w.at(mid).Curvature); c > 1e-9 {
			v = math.Min(v, math.Sqrt(grip/c))
		}
		tl.cap[i] = v
	}
	tl.rates()
}

// rates sets how fast speed may rise after the begin of a pace and fall before its end.
func (tl *timeline) rates() {
	rate := value("within_pace_mps2")
	for i := range tl.stations {
		if i > 0 && tl.differs(i-1, i) {
			rate = tl.rate(i-1, i)
		}
		tl.up[i] = rate
	}
	rate = value("halt_mps2")
	for i := len(tl.stations) - 2; i >= 0; i-- {
		if tl.differs(i, i+1) {
			rate = tl.rate(i, i+1)
		}
		tl.down[i] = rate
	}
}

func (tl *timeline) kind(i int) gait.Variety {
	if tl.stations[i].stop {
		return gait.HaltVariety
	}
	return tl.pieces[tl.stations[i].piece].variety
}

func (tl *timeline) differs(i, j int) bool { return tl.kind(i) != tl.kind(j) }

func (tl *timeline) rate(i, j int) float64 {
	a, b := tl.kind(i), tl.kind(j)
	switch {
	case a == gait.HaltVariety || b == gait.HaltVariety:
		return value("halt_mps2")
	case a.PaceOf() == b.PaceOf():
		return value("within_pace_mps2")
	}
	return value("between_paces_mps2")
}

// centreChanges moves each step of the limit so that the middle of the change of speed falls
// on the border of the two paces.
func (tl *timeline) centreChanges() {
	base := append([]float64(nil), tl.cap...)
	for i := 1; i+1 < len(tl.stations); i++ {
		if tl.stations[i].stop || tl.stations[i-1].stop || !tl.differs(i-1, i) {
			continue
		}
		v1, v2 := base[i-1], base[i]
		if tl.kind(i-1) == gait.Piaffe || tl.kind(i) == gait.Piaffe {
			continue // all its steps are on the spot: the change lies before and after it
		}
		vm, a := (v1+v2)/2, tl.rate(i-1, i)
		if v2 > v1 {
			tl.spread(i-1, -1, (vm*vm-v1*v1)/(2*a), base, v2, a)
		} else {
			tl.spread(i, 1, (vm*vm-v2*v2)/(2*a), base, v1, a)
		}
	}
}

// spread lifts the limit to v over d metres from interval i on, backwards or forwards, as
// long as the pace there stays the same.
func (tl *timeline) spread(i, step int, d float64, base []float64, v, a float64) {
	kind, start := tl.kind(i), tl.stations[i].s
	if step < 0 {
		start = tl.stations[i+1].s
	}
	for ; i >= 0 && i+1 < len(tl.stations) && !tl.stations[i].stop && tl.kind(i) == kind; i += step {
		mid := (tl.stations[i].s + tl.stations[i+1].s) / 2
		if math.Abs(mid-start) > d {
			return
		}
		tl.cap[i] = math.Max(tl.cap[i], math.Min(v, base[i]*1.8))
		if step < 0 {
			tl.up[i] = a
		} else {
			tl.down[i] = a
		}
	}
}

// profile solves the speeds at the stations.
func (tl *timeline) profile() {
	st := tl.stations
	n := len(st)
	for i := range st {
		v := math.Inf(1)
		if i > 0 && !st[i-1].stop {
			v = tl.cap[i-1]
		}
		if i+1 < n && !st[i].stop {
			v = math.Min(v, tl.cap[i])
		}
		if st[i].stop || i > 0 && st[i-1].stop || math.IsInf(v, 1) || i > 0 && tl.cusp(i) {
			v = 0
		}
		st[i].v = v
	}
	for i := 1; i < n; i++ {
		ds := st[i].s - st[i-1].s
		st[i].v = math.Min(st[i].v, math.Sqrt(st[i-1].v*st[i-1].v+2*tl.up[i-1]*ds))
	}
	for i := n - 2; i >= 0; i-- {
		ds := st[i+1].s - st[i].s
		st[i].v = math.Min(st[i].v, math.Sqrt(st[i+1].v*st[i+1].v+2*tl.down[i]*ds))
	}
}

// cusp reports whether the line reverses at station i without a stop of its own.
func (tl *timeline) cusp(i int) bool {
	return tl.pieces[tl.stations[i-1].piece].back != tl.pieces[tl.stations[i].piece].back
}

// clock integrates time.
func (tl *timeline) clock() {
	n := len(tl.pieces)
	tl.t0, tl.t1 = make([]gait.Seconds, n), make([]gait.Seconds, n)
	t := gait.Seconds(0)
	seen := -1
	for i := range tl.stations {
		st := &tl.stations[i]
		st.t = t
		if st.piece != seen {
			if seen >= 0 {
				tl.t1[seen] = t
			}
			seen = st.piece
			tl.t0[seen] = t
		}
		if i+1 == len(tl.stations) {
			break
		}
		if st.stop {
			t += tl.pieces[st.piece].hold
			continue
		}
		if ds, v := tl.stations[i+1].s-st.s, st.v+tl.stations[i+1].v; ds > 0 {
			t += gait.Seconds(2 * ds / math.Max(v, 0.05))
		}
	}
	if seen >= 0 {
		tl.t1[seen] = t
	}
	tl.total = t
}

// at returns the time and the final metre of a mark.
func (tl *timeline) at(m mark) (gait.Seconds, float64) {
	s := tl.line.metre(m.s)
	if m.n > 0 && m.n < len(tl.pieces) && math.Abs(tl.pieces[m.n].s0-m.s) < 1e-6 {
		return tl.t0[m.n], s
	}
	if m.n >= len(tl.pieces) && m.n > 0 {
		return tl.total, s
	}
	return tl.timeAt(s), s
}

// timeAt returns the first time at final metre s.
func (tl *timeline) timeAt(s float64) gait.Seconds {
	st := tl.stations
	i := sort.Search(len(st), func(i int) bool { return st[i].s >= s-1e-9 })
	switch {
	case len(st) == 0:
		return 0
	case i >= len(st):
		return tl.total
	case i == 0 || st[i].s <= s+1e-9:
		return st[i].t
	}
	f := (s - st[i-1].s) / (st[i].s - st[i-1].s)
	return st[i-1].t + gait.Seconds(f)*(st[i].t-st[i-1].t)
}

// walker reads poses along a path at rising metres in linear time.
type walker struct {
	path arena.Path
	i    int
	base float64
}

func newWalker(p arena.Path) *walker { return &walker{path: p} }

func (w *walker) at(s float64) arena.Pose {
	for w.i < len(w.path)-1 && s > w.base+float64(w.path[w.i].Length)+1e-12 {
		w.base += float64(w.path[w.i].Length)
		w.i++
	}
	if len(w.path) == 0 {
		return arena.Pose{}
	}
	g := w.path[w.i]
	return g.At(arena.Metres(math.Max(0, math.Min(s-w.base, float64(g.Length)))))
}
