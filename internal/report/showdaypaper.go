package report

import (
	"fmt"
	"html/template"
	"io"
	"strings"
	"time"

	"ringcraft/internal/draw"
	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
)

// ShowDayPDF writes the show day on paper: the clock from the first thing to the last at the
// left, the test at the right, then what to touch and what to leave alone. facts names rider,
// horse and place; plan may be nil.
func ShowDayPDF(w io.Writer, d prepare.ShowDay, plan *rideplan.Plan, facts string) error {
	p := newPages("Show day, start at "+d.Start, facts)
	p.title("Start at "+d.Start, facts)
	for _, l := range append(append([]string{}, d.Warnings...), d.Cautions...) {
		p.careful(3.4, l)
	}
	textW := p.width() - 24
	var pic *draw.Scene
	top := p.y
	if plan != nil && len(plan.Samples) > 0 {
		pic = draw.Plan(plan, draw.Options{Width: 56})
		textW -= pic.W + 4
		pic.Onto(p.f, pageW-edge-pic.W, top+2, 1)
	}
	for _, ph := range d.Phases {
		showPhase(p, ph, textW)
	}
	if pic != nil {
		p.y = max(p.y, top+pic.H+4)
	}
	p.list("The entry", d.Entry)
	p.list("Touch", d.Touch)
	p.list("Leave alone", d.Leave)
	p.list("Little time to prepare", showPressure(d))
	p.list("Rules", nonEmpty(d.Devices, d.Calling))
	return p.finish(w)
}

func showPhase(p *pages, ph prepare.ShowPhase, w float64) {
	h := 7.0
	for _, l := range ph.Do {
		h += float64(len(draw.Wrap(l, 3.2, w, false))) * 3.2 * 1.35
	}
	p.need(h)
	p.strokes(0.2, []draw.Pt{{X: edge, Y: p.y}, {X: edge + 22 + w, Y: p.y}})
	size := 5.2
	if len(ph.Clock) > 6 {
		size = 2.7
	}
	p.line(edge, p.y+1.5, size, true, ph.Clock)
	y := foldText(p, edge+22, p.y+1.5, p.bottom(), w, 4.2, true, fmt.Sprintf("%s, %.0f min", ph.Title, (ph.ToS-ph.FromS)/60))
	for _, l := range ph.Do {
		y = foldText(p, edge+22, y+0.3, p.bottom(), w, 3.2, false, l)
	}
	p.y = max(p.y+h, y+1.5)
}

// list writes a heading with its items, nothing when there are none.
func (p *pages) list(title string, items []string) {
	if len(items) == 0 {
		return
	}
	p.heading(title, 8)
	for _, l := range items {
		p.bullet("–", 3.4, l)
	}
}

func showPressure(d prepare.ShowDay) []string {
	var out []string
	for _, x := range d.Pressure {
		out = append(out, fmt.Sprintf("%d, %s near %s at %s: %s. %s", x.Movement, x.What, x.Letter, duration(x.AtS), NeedsAndHas(x.Needs, x.Has), x.Prepare))
	}
	return out
}

func nonEmpty(ss ...string) []string {
	var out []string
	for _, s := range ss {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// ShowDayHTML writes the show day as one page that needs nothing from outside.
func ShowDayHTML(w io.Writer, d prepare.ShowDay, plan *rideplan.Plan, facts string) error {
	type part struct {
		Title string
		Items []string
	}
	v := struct {
		htmlHead
		Day     prepare.ShowDay
		Facts   string
		Drawing template.HTML
		Parts   []part
	}{htmlHead: head("Show day, start at " + d.Start), Day: d, Facts: facts, Drawing: planPicture(plan)}
	for _, q := range []part{{"The entry", d.Entry}, {"Touch", d.Touch}, {"Leave alone", d.Leave}, {"Little time to prepare", showPressure(d)}, {"Rules", nonEmpty(d.Devices, d.Calling)}} {
		if len(q.Items) > 0 {
			v.Parts = append(v.Parts, q)
		}
	}
	return htmlPages().ExecuteTemplate(w, "showday", v)
}

// ShowDayEvents makes one calendar entry a phase. start is when the test begins, with the
// show's zone; uid names the show, so that a later export replaces these entries; title is
// put before each phase.
func ShowDayEvents(d prepare.ShowDay, start time.Time, uid, title, place string) []CalendarEvent {
	var out []CalendarEvent
	for i, ph := range d.Phases {
		from := start.Add(time.Duration(ph.FromS * float64(time.Second)))
		to := start.Add(time.Duration(ph.ToS * float64(time.Second)))
		e := CalendarEvent{UID: fmt.Sprintf("%s-%d@ringcraft", uid, i+1), Start: from, End: to, Summary: strings.TrimPrefix(title+": "+ph.Title, ": "),
			Description: strings.Join(ph.Do, "\n"), Place: place}
		if i == 0 {
			e.AlarmMinutes = 30
		}
		out = append(out, e)
	}
	return out
}
