package web

import (
	"net/http"

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
	Moves         []logbook.MovementChange
	Drawings      [2]*draw.Scene
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
	v := compareView{page: s.newPage(r, "yard", "Was it better?"), Before: c.Before, After: c.After, Summary: c.Comparison.Summary, Caution: c.Comparison.Caution, Moves: c.Comparison.Movements}
	v.Invented = c.Before.Pair.Invented() || c.After.Pair.Invented()
	v.Simulated = c.Comparison.Simulated
	v.Back = &link{"/combinations/" + c.After.Pair.ID, c.After.Pair.Title()}
	v.Measured, v.MeasuredClass = c.Comparison.Measured.Reason, verdictClass(c.Comparison.Measured.Verdict)
	v.Total = totalOf(c)
	for i, rev := range []*logbook.Review{c.Before, c.After} {
		v.Drawings[i] = draw.Plan(rev.Plan, draw.Options{Width: 60, NoNumbers: true, Ridden: riddenLine(rev.Line)})
	}
	return s.render(w, r, http.StatusOK, comparePage(v))
}

func totalOf(c *logbook.Compared) totalView {
	t := c.Comparison.Total
	v := totalView{Before: percentWords(c.Before.Doc.Total), After: percentWords(c.After.Doc.Total), Verdict: t.Verdict, Reason: t.Reason, Class: verdictClass(t.Verdict)}
	if t.Change != nil {
		v.Change = report.Signed(*t.Change, 2) + " %"
		if t.Sigma != nil {
			v.Change += ", give or take " + report.Signed(*t.Sigma, 1)
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
		out += ", give or take " + report.Signed(*m.MarkSigma, 1)
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
