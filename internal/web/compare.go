package web

import (
	"net/http"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// compareView is two rides of one sheet, movement by movement.
type compareView struct {
	page
	Before, After *logbook.Review
	Summary       []string
	Caution       []string
	Total         totalView
	Measured      string
	MeasuredClass string
	Moved, Same   []logbook.MovementChange // beyond noise, and the rest
	Drawings      [2]*draw.Scene
	Unseen        string // what marks given unseen say, "" while there are too few
	UnseenClass   string
	CanUnseen     bool // both rides have a recording to mark from
}

type totalView struct {
	Before, After, Change string
	Verdict, Reason       string
	Class                 string
}

func (s *server) compare(w http.ResponseWriter, r *http.Request) error {
	c, err := s.book.CompareOf(r.Context(), r.PathValue("one"), r.PathValue("other"))
	if err != nil {
		return err
	}
	v := compareView{page: s.newPage(r, "yard", "Was it better?"), Before: c.Before, After: c.After, Summary: c.Comparison.Summary}
	for _, words := range c.Comparison.Caution {
		v.Caution = append(v.Caution, strings.ReplaceAll(words, " (relative_change)", "")) // the key is for readers of the JSON
	}
	v.Invented = c.Before.Pair.Invented() || c.After.Pair.Invented()
	v.Simulated = c.Comparison.Simulated
	v.Back = &link{"/combinations/" + c.After.Pair.ID, c.After.Pair.Title()}
	v.Measured, v.MeasuredClass = c.Comparison.Measured.Reason, verdictClass(c.Comparison.Measured.Verdict)
	v.Total = totalOf(c)
	v.sayOnce(c.Comparison.Measured.Verdict, c.Comparison.Measured.Reason)
	for _, m := range c.Comparison.Movements {
		if m.Verdict == "better" || m.Verdict == "worse" {
			v.Moved = append(v.Moved, m)
		} else {
			v.Same = append(v.Same, m)
		}
	}
	v.CanUnseen = len(c.Before.Line) > 0 && len(c.After.Line) > 0
	again, err := s.book.CompareUnseen(r.Context(), c)
	if err != nil {
		return err
	}
	if again != nil {
		v.Unseen, v.UnseenClass = again.Total.Verdict+": "+again.Total.Reason, verdictClass(again.Total.Verdict)
	}
	for i, rev := range []*logbook.Review{c.Before, c.After} {
		v.Drawings[i] = draw.Plan(rev.Plan, draw.Options{Width: 60, NoNumbers: true, Ridden: riddenLine(rev.Line)})
	}
	return s.render(w, r, http.StatusOK, comparePage(v))
}

// sayOnce leaves the sentence of the measures to the first place that says it.
func (v *compareView) sayOnce(verdict, reason string) {
	if reason == "" {
		return
	}
	v.Total.Reason = strings.TrimSuffix(v.Total.Reason, ": "+reason)
	if len(v.Summary) > 0 && strings.Contains(v.Summary[0], reason) {
		v.Measured = verdict
	}
}

func totalOf(c *logbook.Compared) totalView {
	t := c.Comparison.Total
	v := totalView{Before: percentWords(c.Before.Doc.Total), After: percentWords(c.After.Doc.Total), Verdict: t.Verdict, Reason: t.Reason, Class: verdictClass(t.Verdict)}
	if t.Change != nil {
		v.Change = report.Signed(*t.Change, 2) + " %"
		if t.Sigma != nil {
			v.Change += ", give or take " + report.MarkWords(*t.Sigma)
		}
	}
	return v
}

// markChangeWords says how the mark changed and by how much marks change by chance.
func markChangeWords(m logbook.MovementChange) string {
	if m.MarkChange == nil {
		return ""
	}
	out := "mark " + report.Signed(*m.MarkChange, 1)
	if m.MarkSigma != nil {
		out += ", give or take " + report.MarkWords(*m.MarkSigma)
	}
	return out
}

// beforeAfter writes both values of a measure.
func beforeAfter(m logbook.MeasureChange) string {
	value := func(v *float64) string {
		if v == nil {
			return "cannot tell"
		}
		return report.Spoken(*v, m.Unit, nil)
	}
	out := value(m.Before) + " → " + value(m.After)
	if m.Asked != nil {
		out += " (asked " + report.Spoken(*m.Asked, m.Unit, nil) + ")"
	}
	return out
}

// changeWords is the change with its doubt.
func changeWords(m logbook.MeasureChange) string {
	if m.Change == nil {
		return ""
	}
	return report.Spoken(*m.Change, m.Unit, m.Sigma)
}

// dateOf is the day of the earlier (0) or later ride.
func dateOf(v compareView, i int) string {
	if i == 0 {
		return v.Before.Ride.Date.Short()
	}
	return v.After.Ride.Date.Short()
}

// changesToldApart splits the measures of a movement into those that can be compared and not.
func changesToldApart(ms []logbook.MeasureChange) (told, untold []logbook.MeasureChange) {
	for _, m := range ms {
		if m.Verdict == "cannot tell" {
			untold = append(untold, m)
		} else {
			told = append(told, m)
		}
	}
	return told, untold
}

// changeBar draws a change as a way from a ring (before) to a full mark (after), with what was
// asked as the upright line in the middle and the doubt of the change as a band at the after.
func changeBar(m logbook.MeasureChange) *draw.Scene {
	if m.Before == nil || m.After == nil || m.Asked == nil || m.Sigma == nil {
		return nil
	}
	const w, h, y = 60.0, 9.0, 4.5
	b, a, sd := *m.Before-*m.Asked, *m.After-*m.Asked, *m.Sigma
	reach := 1.15 * max(abs(b)+sd, abs(a)+sd, 1e-9)
	x := func(v float64) float64 { return w/2 + (w/2-2)*min(max(v/reach, -1), 1) }
	box := func(l, r, top, bottom float64) [][]draw.Pt {
		return [][]draw.Pt{{{X: l, Y: top}, {X: r, Y: top}, {X: r, Y: bottom}, {X: l, Y: bottom}}}
	}
	s := &draw.Scene{W: w, H: h, Title: m.What + ": " + beforeAfter(m)}
	s.Add(draw.Path{Style: draw.Style{Class: "shade", Fill: draw.InkShade}, Lines: box(2, w-2, 1, h-1), Closed: true},
		draw.Path{Style: draw.Style{Class: "doubt", Fill: draw.InkDoubt}, Lines: box(x(a-sd), x(a+sd), 2.2, h-2.2), Closed: true},
		draw.Path{Style: draw.Style{Class: "edge", Stroke: draw.InkMain, Width: 0.5}, Lines: [][]draw.Pt{{{X: w / 2, Y: 0.4}, {X: w / 2, Y: h - 0.4}}}},
		draw.Path{Style: draw.Style{Class: "ridden", Stroke: draw.InkRidden, Width: 0.5}, Lines: [][]draw.Pt{{{X: x(b), Y: y}, {X: x(a), Y: y}}}},
		draw.Path{Style: draw.Style{Class: "paper", Fill: draw.Paper, Stroke: draw.InkRidden, Width: 0.5}, Lines: box(x(b)-1.1, x(b)+1.1, y-1.6, y+1.6), Closed: true},
		draw.Path{Style: draw.Style{Class: "ridden", Stroke: draw.InkRidden, Width: 1.8}, Lines: [][]draw.Pt{{{X: x(a), Y: 1.8}, {X: x(a), Y: h - 1.8}}}})
	return s
}
