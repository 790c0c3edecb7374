package draw

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// look writes a picture where RINGCRAFT_LOOK names a folder, for people to look at.
func look(t *testing.T, name string, s *Scene) {
	dir := os.Getenv("RINGCRAFT_LOOK")
	if dir == "" {
		return
	}
	var svg, pdf, png bytes.Buffer
	for _, err := range []error{s.SVG(&svg), s.PDF(&pdf), s.PNG(&png, 1000)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for ext, b := range map[string][]byte{".svg": svg.Bytes(), ".pdf": pdf.Bytes(), ".png": png.Bytes()} {
		if err := os.WriteFile(filepath.Join(dir, name+ext), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestLookAtPlan(t *testing.T) {
	p := willow()
	look(t, "whole", Plan(p, Options{Title: p.Name, Legend: true, Width: 110}))
	look(t, "mono", Plan(p, Options{Title: p.Name, Legend: true, Mono: true}))
	look(t, "legend", Legend(0))
	look(t, "m2", Plan(p, Options{Movement: 2, Width: 60, Legend: true}))
}

func TestLookAtStrips(t *testing.T) {
	p := willow()
	look(t, "strip", Strip(p, StripOptions{Title: "Where there is too little time"}))
	look(t, "stripmono", Strip(p, StripOptions{Mono: true, Highlight: 3}))
	asked := SpeedAsked(p)
	rid := Series{Label: "ridden", Ridden: true}
	for _, v := range asked.Values {
		rid.Values = append(rid.Values, Value{v.T, v.V * 0.96, 0.15})
	}
	look(t, "speed", Over(p, "speed", "m/s", []Series{asked, rid}, StripOptions{}))
	look(t, "multiples", Multiples(p, MultiplesOptions{}))
	look(t, "trend", Trend("Halts", "marks", []TrendPoint{{"2 Oct", 5.5, .4}, {"9 Oct", 6, .4}, {"20 Oct", 6.5, .5}}, 0))
	o := &Overlay{Label: "ridden"}
	for i, s := range p.Samples {
		if i%3 == 0 {
			q := s.Point
			q.X += 0.6
			o.Points = append(o.Points, OverlayPoint{Point: q, HalfWidth: 0.35, T: float64(s.T), Movement: s.Movement})
		}
	}
	look(t, "ridden", Plan(p, Options{Ridden: o, Legend: true, Marks: []Mark{{Point: p.Samples[300].Point, Kind: "fault", Label: "late"}, {Point: p.Samples[800].Point, Kind: "good", Label: "on the spot"}}}))
}
