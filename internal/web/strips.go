package web

import (
	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// The strips of a ride are drawn on the ride's own clock, under the bands of the movements as ridden.

func stripSize() draw.StripOptions { return draw.StripOptions{Width: 150, Height: 44} }

// instants are a ride as shown, for its strips.
func instants(rev *logbook.Review) []report.Instant {
	out := make([]report.Instant, len(rev.Line))
	for i, p := range rev.Line {
		out[i] = report.Instant{T: p.T, PlanM: p.PlanM, Speed: p.Speed, Gap: p.Gap}
		out[i].X, out[i].Y = p.X, p.Y
	}
	return out
}

// speedStrip lays the ridden speed over the planned one; nil without a recording.
func speedStrip(rev *logbook.Review) *draw.Scene {
	if len(rev.Line) < 2 {
		return nil
	}
	return report.SpeedStrip(rev.Plan, rev.Doc, instants(rev), stripSize())
}

// tempoStrip lays the tempo as ridden, with its doubt, over that of the plan; nil where none was
// counted. It is broken where it is not known.
func tempoStrip(rev *logbook.Review) *draw.Scene {
	if len(rev.Line) < 2 || len(rev.Tempo.Points) == 0 {
		return nil
	}
	ridden := draw.Series{Label: "ridden", Ridden: true}
	for _, p := range rev.Tempo.Points {
		ridden.Values = append(ridden.Values, draw.Value{T: p.T, V: p.PerMinute, SD: p.Doubt})
	}
	return report.TempoStrip(rev.Plan, rev.Doc, instants(rev), logbook.TempoOf(rev.Pair.Horse), ridden, stripSize())
}

// tempoWords says why there is no tempo; "" when there is one.
func tempoWords(rev *logbook.Review) string {
	switch {
	case len(rev.Tempo.Points) > 0:
		return ""
	case rev.Tempo.Motion:
		return "Motion was recorded, but no steady strides could be counted in it: the tempo is not known."
	}
	return "No motion recorded: the tempo is not known. What would show it is said below; such a file can be added to this ride."
}

// stripWords explains the strips.
func stripWords(tempo bool) string {
	if tempo {
		return "Above metres a second, below strides a minute, on the clock of the ride. Broken line: what the plan asks of this horse at the place where they were. Unbroken: as ridden; the band is the doubt, and there is no line where nothing was recorded or no steady strides were counted."
	}
	return "Metres a second on the clock of the ride. Broken line: what the plan asks of this horse at the place where they were. Unbroken: as ridden; no line where nothing was recorded."
}
