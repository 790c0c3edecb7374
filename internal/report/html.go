package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"ringcraft/internal/draw"
)

//go:embed page.html
var pageHTML string

//go:embed report.css
var reportCSS string

var htmlPages = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"clock":      func(s *float64) string { return duration(*s) },
		"mark":       func(v float64) string { return decimals(v, 1) },
		"measure":    MeasureWords,
		"percent":    func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) },
		"join":       func(s []string) string { return strings.Join(s, "; ") },
		"words":      changeWords,
		"parts":      partWords,
		"placed":     RiddenWords,
		"lost":       WorthSaying,
		"told":       Told,
		"untold":     untoldWords,
		"lacks":      NotRecorded,
		"departures": DepartureRows,
		"paces":      func(d *ReviewDoc) []PaceRow { rows, _ := PaceRows(d); return rows },
		"findout":    func() string { return FindOut },
	}).Parse(pageHTML)) // embedded; the tests execute every template
})

// htmlHead is what every page needs.
type htmlHead struct {
	Title string
	CSS   template.CSS
}

func head(title string) htmlHead {
	return htmlHead{Title: title, CSS: template.CSS(draw.CSS + reportCSS)} // our own files
}

// picture is a scene as HTML: draw escapes every word in it.
func picture(s *draw.Scene) template.HTML {
	var b strings.Builder
	_ = s.SVG(&b) // a strings.Builder does not fail
	return template.HTML(b.String())
}

type shareRow struct {
	Bar   template.HTML
	Words string
}

type homeworkView struct {
	Homework
	Drawing template.HTML
}

// ReviewHTML writes the whole review as one page that needs nothing from outside.
func ReviewHTML(w io.Writer, in Paper) error {
	s := Summarise(in.Doc)
	v := struct {
		htmlHead
		Doc                   *ReviewDoc
		Facts                 string
		Summary               Summary
		Drawing, Strip, Speed template.HTML
		Bars                  []shareRow
		Homework              []homeworkView
	}{htmlHead: head(in.Doc.Sheet), Doc: in.Doc, Facts: in.facts(), Summary: s}
	v.Drawing = picture(draw.Plan(in.Plan, draw.Options{Width: 100, Legend: true, Ridden: RiddenOverlay(in.Ridden), Marks: PlaceMarks(in.Doc, in.Plan)}))
	v.Strip = picture(draw.Strip(in.Plan, draw.StripOptions{}))
	if in.Ridden != nil {
		v.Speed = picture(SpeedStrip(in.Plan, in.Doc, Instants(in.Ridden), draw.StripOptions{}))
	}
	total := 0.0
	for _, x := range s.Where {
		total += x.Marks
	}
	for i, x := range s.Where {
		if total > 0 {
			v.Bars = append(v.Bars, shareRow{picture(draw.ShareBar(90, 6, x.Marks/total, i)),
				fmt.Sprintf("%s: %s marks, %s %%", x.Words, decimals(x.Marks, 1), decimals(x.Percent, 1))})
		}
	}
	for _, h := range in.Homework {
		v.Homework = append(v.Homework, homeworkView{h, planPicture(h.Plan)})
	}
	return htmlPages().ExecuteTemplate(w, "review", v)
}
