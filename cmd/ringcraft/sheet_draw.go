package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
)

type sheetDrawCmd struct {
	File     string `arg:"" help:"The sheet, as plain text."`
	Out      string `short:"o" required:"" help:"OUT.svg, OUT.pdf or OUT.png. A sheet with errors is drawn as far as it was understood, with a banner that says so, and the exit code is 1." placeholder:"OUT"`
	As       string `enum:"whole,stages,movements,learning,marking" default:"whole" help:"whole: the test on one page (PDF) or in one arena (SVG, PNG); stages: cut into arenas that do not ride over themselves; movements: one drawing each; learning: a set to learn it from (PDF); marking: the sheet with room for marks (PDF)."`
	Movement int    `help:"Draw only this movement, by number." placeholder:"N"`
	Horse    string `help:"The horse's own figures." placeholder:"F.json"`
	Mono     bool   `help:"Black and white."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// drawing writes one picture in one format.
type drawing func(io.Writer) error

// Run draws the sheet.
func (o *sheetDrawCmd) Run(c *console) error {
	plan, err := compileFile(o.File, o.Horse)
	if err != nil {
		return err
	}
	c.tellBriefly(o.File, plan.Problems)
	if o.Movement != 0 && plan.MovementByNumber(o.Movement) == nil {
		return usageError{fmt.Sprintf("--movement %d: the sheet has no such movement; allowed: %s", o.Movement, numbers(plan))}
	}
	o.tellLetters(c, plan)
	d, err := o.drawing(plan)
	if err != nil {
		return err
	}
	if err := writeFile(o.Out, d); err != nil {
		return err
	}
	c.written(o.Out)
	if o.JSON {
		if err := printJSON(c.Out, map[string]any{"schema": "ringcraft.drawing/1", "file": o.Out, "as": o.As, "movement": o.Movement, "problems": report.BuildSheet(plan).Problems}); err != nil {
			return err
		}
	}
	return failed(plan.Problems)
}

// pngWidth is wide enough to print the arena at 300 dots an inch on a sheet of A4.
const pngWidth = 2000

func (o *sheetDrawCmd) drawing(plan *rideplan.Plan) (drawing, error) {
	format := strings.ToLower(filepath.Ext(o.Out))
	switch o.As {
	case "learning", "marking":
		if format != ".pdf" {
			return nil, usageError{fmt.Sprintf("--as %s is written as PDF only; allowed: -o OUT.pdf", o.As)}
		}
		if o.As == "learning" {
			return func(w io.Writer) error { return report.FoldSheetsPDF(w, plan) }, nil
		}
		return func(w io.Writer) error { return report.MarkSheetPDF(w, plan) }, nil
	}
	if format == ".pdf" && o.As == "whole" && o.Movement == 0 && !o.Mono {
		return func(w io.Writer) error { return report.OnePagePDF(w, plan) }, nil
	}
	scene := o.scene(plan)
	switch format {
	case ".svg":
		return scene.SVG, nil
	case ".pdf":
		return scene.PDF, nil
	case ".png":
		return func(w io.Writer) error { return scene.PNG(w, pngWidth) }, nil
	}
	return nil, usageError{fmt.Sprintf("-o %s: the ending says the format; allowed: .svg, .pdf, .png", o.Out)}
}

func (o *sheetDrawCmd) scene(plan *rideplan.Plan) *draw.Scene {
	var s *draw.Scene
	switch o.As {
	case "movements":
		s = draw.Multiples(plan, draw.MultiplesOptions{})
	case "stages":
		s = draw.StagesScene(plan, draw.MultiplesOptions{})
	default:
		s = draw.Plan(plan, draw.Options{Movement: o.Movement})
	}
	s = draw.Banner(s, report.FaultWords(plan))
	if o.Mono {
		s = s.Mono()
	}
	return s
}

// tellLetters warns of letters that will be boxes.
func (o *sheetDrawCmd) tellLetters(c *console, plan *rideplan.Plan) {
	if strings.ToLower(filepath.Ext(o.Out)) == ".svg" {
		return
	}
	if words := report.MissingLetters(plan); words != "" {
		fmt.Fprintf(c.Err, "%s: warning: %s\n", o.File, words)
	}
}

func numbers(p *rideplan.Plan) string {
	var out []string
	for _, m := range p.Movements {
		out = append(out, fmt.Sprint(m.Number))
	}
	return strings.Join(out, ", ")
}
