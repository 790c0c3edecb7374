package logbook

import (
	"ringcraft/internal/match"
	"ringcraft/internal/remarks"
)

// listen ties the commentary to the movements. The recording's spans lead where there are
// some; taps and nominal times stand in for them.
func (r *reviewer) listen() {
	c := r.in.Commentary
	if c == nil {
		return
	}
	cues, ps := remarks.Read(c.Name, c.Data)
	r.problems(ps)
	if len(cues) == 0 || len(r.out.Plan.Movements) == 0 {
		return
	}
	placed := remarks.Place(r.out.Plan, cues, r.prior())
	r.out.Placed = &placed
}

func (r *reviewer) prior() remarks.Prior {
	spans := r.spans
	if r.out.Ridden != nil {
		spans = r.out.Ridden.Spans
	}
	p := remarks.Prior{Spans: priorSpans(spans)}
	if o := r.in.CommentaryOffsetS; o != nil {
		p.OffsetS, p.OffsetKnown = *o, true
	}
	return p
}

func priorSpans(spans []match.Span) []remarks.Span {
	var out []remarks.Span
	for _, s := range spans {
		out = append(out, remarks.Span{Movement: s.Movement, StartS: float64(s.Start), EndS: float64(s.End), SD: float64(s.SD), Source: s.Source})
	}
	return out
}
