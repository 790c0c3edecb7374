package web

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"slices"

	"ringcraft/internal/access"
	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// eyeRoutes are the addresses of the trainer's eye against the judges'.
func eyeRoutes() []Route {
	return []Route{{"GET", "/eye", access.TrainerDo, nil, (*server).eye}}
}

// eyeView is the trainer's eye over the season.
type eyeView struct {
	page
	Eye   logbook.Eye
	Kinds []eyeLine // where to look harder first, then by how far off
	Reach float64   // of the bars, marks
}

// eyeLine is one kind of movement.
type eyeLine struct {
	logbook.EyeKind
	Words string
	Bar   *draw.Scene
}

// few reports whether the data are few: one or two rides share one horse, day and judge, however
// many movements they have.
func (v eyeView) few() bool { return v.Eye.Pairs < 40 || len(v.Eye.Rides) < 3 }

func (s *server) eye(w http.ResponseWriter, r *http.Request) error {
	e, err := s.book.EyeOf(r.Context())
	if err != nil {
		return err
	}
	v := eyeView{page: s.newPage(r, "yard", "Whose eye"), Eye: e, Reach: 1}
	v.Back = &link{"/", "Yard"}
	for _, n := range e.Near {
		v.Invented = v.Invented || n.Pair.Invented()
	}
	for _, ride := range e.Rides {
		v.Invented = v.Invented || ride.Pair.Invented()
	}
	for _, k := range e.Kinds {
		v.Reach = max(v.Reach, math.Ceil(2*max(math.Abs(k.Low), math.Abs(k.High)))/2)
	}
	for _, k := range e.Kinds {
		v.Kinds = append(v.Kinds, eyeLine{k, eyeWords(k), eyeBar(k, v.Reach)})
	}
	slices.SortStableFunc(v.Kinds, func(a, b eyeLine) int {
		if a.LookHarder != b.LookHarder {
			if a.LookHarder {
				return -1
			}
			return 1
		}
		return cmp.Compare(math.Abs(b.Offset), math.Abs(a.Offset))
	})
	return s.render(w, r, http.StatusOK, eyePage(v))
}

// leanWords says the lean over all kinds as a sentence.
func leanWords(e logbook.Eye) string {
	between := fmt.Sprintf("95 %% between %s and %s", report.Signed(e.Low, 1), report.Signed(e.High, 1))
	if e.Low <= 0 && e.High >= 0 {
		return fmt.Sprintf("no lean can be told from chance (%s marks, %s).", report.Signed(e.Offset, 1), between)
	}
	return fmt.Sprintf("you are %s of a mark %s than the judges (%s).", report.MarkWords(math.Abs(e.Offset)), leaning(e.Offset), between)
}

func leaning(offset float64) string {
	if offset < 0 {
		return "stricter"
	}
	return "more generous"
}

// eyeWords says a kind in a line.
func eyeWords(k logbook.EyeKind) string {
	out := fmt.Sprintf("%s (%s to %s)", report.Signed(k.Offset, 1), report.Signed(k.Low, 1), report.Signed(k.High, 1))
	if k.Low > 0 || k.High < 0 {
		out += ", " + leaning(k.Offset)
	} else {
		out += ", not told from chance"
	}
	return out + fmt.Sprintf("; single marks differ by %s; %s", report.MarkWords(k.Spread), plural(k.Pairs, "movement", "movements"))
}

// eyeBar draws an offset: the upright line is the judges, the mark the trainer, the whisker where the
// truth lies nineteen times in twenty.
func eyeBar(k logbook.EyeKind, reach float64) *draw.Scene {
	const w, h, y = 90.0, 9.0, 4.5
	x := func(v float64) float64 { return w/2 + (w/2-2)*min(max(v/reach, -1), 1) }
	box := func(l, r, top, bottom float64) [][]draw.Pt {
		return [][]draw.Pt{{{X: l, Y: top}, {X: r, Y: top}, {X: r, Y: bottom}, {X: l, Y: bottom}}}
	}
	s := &draw.Scene{W: w, H: h, Title: string(k.Kind) + ": " + eyeWords(k)}
	s.Add(draw.Path{Style: draw.Style{Class: "shade", Fill: draw.InkShade}, Lines: box(2, w-2, 1, h-1), Closed: true},
		draw.Path{Style: draw.Style{Class: "edge", Stroke: draw.InkMain, Width: 0.5}, Lines: [][]draw.Pt{{{X: w / 2, Y: 0.4}, {X: w / 2, Y: h - 0.4}}}},
		draw.Path{Style: draw.Style{Class: "ridden", Stroke: draw.InkRidden, Width: 0.6}, Lines: [][]draw.Pt{{{X: x(k.Low), Y: y}, {X: x(k.High), Y: y}}}},
		draw.Path{Style: draw.Style{Class: "ridden", Stroke: draw.InkRidden, Width: 1.8}, Lines: [][]draw.Pt{{{X: x(k.Offset), Y: 1.8}, {X: x(k.Offset), Y: h - 1.8}}}})
	return s
}

// harder are the kinds to look harder at.
func (v eyeView) harder() []eyeLine {
	var out []eyeLine
	for _, k := range v.Kinds {
		if k.LookHarder {
			out = append(out, k)
		}
	}
	return out
}

// proneWords lists what to look for.
func proneWords(k eyeLine) string {
	out := k.Because
	for i, f := range k.Prone {
		if i == 0 {
			out += ". Look for: "
		} else {
			out += ", "
		}
		out += string(f)
	}
	return out + "."
}

// nearWords says how far two rides' marks lie apart and what marking alone makes of that.
func nearWords(n logbook.EyeNear) string {
	d := n.Trainer - n.Judging
	out := fmt.Sprintf("Over %s %s, give or take %.1f from marking alone; how much the rides themselves differ is not known", plural(n.Movements, "movement", "movements"), report.Signed(d, 1), n.SD)
	if math.Abs(d) <= 2*n.SD {
		return out + ", so nothing can be told."
	}
	return out + "."
}
