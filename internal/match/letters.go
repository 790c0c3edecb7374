package match

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/track"
)

// badFit is a root mean square residual, in metres, above which surveyed letters are
// questioned unless the file says that they are less exact than that (a level arena is laid
// out to some centimetres, a hand-held survey to a metre or two).
const badFit = 1.5

// statedAs is how many degrees of freedom a stated doubt is worth beside the residuals: few letters that
// happen to fit well are no proof that they were surveyed better (TestLettersDoubtHolds).
const statedAs = 12

// placeByLetters fits the surveyed letters to the arena.
func placeByLetters(s *Survey, plane track.Plane, n noise) (rigid, Placement, error) {
	ps := s.pairs(plane)
	r, ss := fitRigid(ps, false)
	count := float64(len(ps))
	limit := math.Max(badFit, 3*s.SD)
	if rms := math.Sqrt(ss / count); rms > limit {
		return r, Placement{}, s.question(ps, r, rms)
	}
	sd := s.SD
	if sd == 0 {
		sd = math.Hypot(n.WhiteSD/3, n.WanderSD) // a letter is stood at for a while
	}
	if free := 2*count - 3; free > 0 { // what the residuals show counts too, by its degrees of freedom
		shown := math.Sqrt(ss/free) * (1 + 1/free) // few residuals show an error only roughly
		sd = math.Max(math.Sqrt((sd*sd*statedAs+ss)/(statedAs+free)), shown)
	}
	pl := Placement{Method: "letters", Rotation: r.angle(), Shift: r.shift}
	mid, spread := spreadOf(ps)
	pl.ShiftSD = sd / math.Sqrt(count)
	pl.RotationSD = arena.Angle(sd / math.Sqrt(spread))
	pl.Pivot = mid
	for i, p := range ps {
		pl.Residuals = append(pl.Residuals, Residual{s.Letters[i].Name, float64(r.apply(p.from).Dist(p.to))})
	}
	return r, pl, nil
}

// residualSD is the error of a surveyed letter, metres per axis, that the residuals show by
// themselves; 0 where two letters leave too little to tell.
func (p Placement) residualSD() float64 {
	var ss float64
	for _, r := range p.Residuals {
		ss += r.Metres * r.Metres
	}
	free := 2*len(p.Residuals) - 3
	if free < 3 {
		return 0
	}
	return math.Sqrt(ss / float64(free))
}

// spreadOf returns the mean of the places and the sum of squared distances from it.
func spreadOf(ps []pair) (mid arena.Point, spread float64) {
	for _, p := range ps {
		mid = mid.Add(p.to.Mul(1 / float64(len(ps))))
	}
	for _, p := range ps {
		d := float64(p.to.Dist(mid))
		spread += d * d
	}
	return mid, spread
}

// question says what is wrong with letters that do not fit: mirrored, misnamed or misplaced.
func (s *Survey) question(ps []pair, r rigid, rms float64) error {
	head := fmt.Sprintf("%s: the surveyed letters do not fit a %g x %g arena (off by %.1f m)", s.File, float64(s.Board.Width), float64(s.Board.Length), rms)
	good := math.Max(badFit, 3*s.SD) / 2
	if len(ps) > 2 {
		if _, ss := fitRigid(ps, true); math.Sqrt(ss/float64(len(ps))) < good {
			return fmt.Errorf("%s: they are mirrored, left and right are changed over (K-E-H lies left seen from A, F-B-M right)", head)
		}
		if a, b, ok := s.swapped(ps, good); ok {
			return fmt.Errorf("%s: %s and %s seem to be changed over", head, a, b)
		}
		if a, b, ok := s.misnamed(ps, good); ok {
			return fmt.Errorf("%s: %s lies where %s should be", head, a, b)
		}
	}
	worst, wd := "", -1.0
	for i, p := range ps {
		if d := float64(r.apply(p.from).Dist(p.to)); d > wd {
			worst, wd = s.Letters[i].Name, d
		}
	}
	if len(ps) == 2 {
		got, want := ps[0].from.Dist(ps[1].from), ps[0].to.Dist(ps[1].to)
		return fmt.Errorf("%s: %s and %s are %.1f m apart, the arena has them %.1f m apart", head, s.Letters[0].Name, s.Letters[1].Name, float64(got), float64(want))
	}
	return fmt.Errorf("%s: %s is the furthest off, by %.1f m", head, worst, wd)
}

// swapped looks for two letters whose names were changed over.
func (s *Survey) swapped(ps []pair, good float64) (a, b string, ok bool) {
	for i := range ps {
		for j := i + 1; j < len(ps); j++ {
			try := append([]pair(nil), ps...)
			try[i].to, try[j].to = ps[j].to, ps[i].to
			if _, ss := fitRigid(try, false); math.Sqrt(ss/float64(len(ps))) < good {
				return s.Letters[i].Name, s.Letters[j].Name, true
			}
		}
	}
	return "", "", false
}

// misnamed looks for one letter that fits under another name.
func (s *Survey) misnamed(ps []pair, good float64) (have, want string, ok bool) {
	taken := map[string]bool{}
	for _, l := range s.Letters {
		taken[l.Name] = true
	}
	best := good
	for i := range ps {
		for _, name := range s.Board.Letters() {
			if taken[name] {
				continue
			}
			try := append([]pair(nil), ps...)
			try[i].to, _ = s.Board.Letter(name)
			if _, ss := fitRigid(try, false); math.Sqrt(ss/float64(len(ps))) < best {
				best = math.Sqrt(ss / float64(len(ps)))
				have, want, ok = s.Letters[i].Name, name, true
			}
		}
	}
	return have, want, ok
}

// fits reports whether survey and plan speak of the same arena.
func (s *Survey) fits(b *arena.Board) error {
	if b != nil && (b.Width != s.Board.Width || b.Length != s.Board.Length) {
		return fmt.Errorf("%s: the arena is %g x %g, the sheet is for %g x %g", s.File,
			float64(s.Board.Width), float64(s.Board.Length), float64(b.Width), float64(b.Length))
	}
	if strings.TrimSpace(s.File) == "" {
		s.File = "arena file"
	}
	return nil
}
