package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// sheetPaper sends one of the printed forms of a sheet, or its line as picture or table.
func (s *server) sheetPaper(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.book.Sheet(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	media, write := sheetForm(s.book.PlanOf(sh.Name, sh.Text, ""), r.PathValue("file"))
	if write == nil {
		return logbook.Errorf(logbook.NotFound, "there is no paper %q; there are whole.pdf, fold.pdf, marks.pdf, call.pdf, line.svg, line.png and line.csv", r.PathValue("file"))
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return fmt.Errorf("paper of sheet %s: %w", sh.ID, err)
	}
	return send(w, r, http.StatusOK, media, b.Bytes())
}

// sheetForm picks what writes a file; nil where there is none of that name.
func sheetForm(plan *logbook.Plan, file string) (media string, write func(io.Writer) error) {
	scene := func() *draw.Scene {
		return draw.Plan(plan, draw.Options{Title: plan.Name, Legend: true, Width: 110})
	}
	switch file {
	case "whole.pdf":
		return "application/pdf", func(w io.Writer) error { return report.OnePagePDF(w, plan) }
	case "fold.pdf":
		return "application/pdf", func(w io.Writer) error { return report.FoldSheetsPDF(w, plan) }
	case "marks.pdf":
		return "application/pdf", func(w io.Writer) error { return report.MarkSheetPDF(w, plan) }
	case "call.pdf":
		return "application/pdf", func(w io.Writer) error { return report.CallPDF(w, scriptOf(plan, nil)) }
	case "line.csv":
		return "text/csv; charset=utf-8", func(w io.Writer) error { return report.WriteLine(w, plan) }
	case "line.svg":
		return "image/svg+xml", func(w io.Writer) error { return scene().SVG(w) }
	case "line.png":
		return "image/png", func(w io.Writer) error { return scene().PNG(w, 1200) }
	}
	return "", nil
}
