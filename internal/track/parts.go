package track

import "math"

// longPause is the longest pause within one recording, in seconds. A file with more holds several
// rides: a receiver that was left on, a logger that appends, a clock that jumped.
const longPause = 1800

// longestPart keeps the part of a file with long pauses that has most positions, and says which.
func (r *reading) longestPart() {
	from, to, parts := 0, 0, 0
	for i, j := 0, 0; i < len(r.rows); i = j {
		for j = i + 1; j < len(r.rows) && r.rows[j].t-r.rows[j-1].t <= longPause; j++ {
		}
		parts++
		if j-i > to-from {
			from, to = i, j
		}
	}
	if parts < 2 {
		return
	}
	all := len(r.rows)
	if all-(to-from) < MinFixes && r.rows[all-1].t-r.rows[0].t > MaxSpan {
		return // no other ride but a few wrong times: settle refuses the span
	}
	r.rows = r.rows[from:to]
	first, last := r.rows[0].t, r.rows[len(r.rows)-1].t
	r.note("the file holds %d parts with more than half an hour between them; the longest was read, %d of %d positions from %s to %s; cut the file to have another",
		parts, len(r.rows), all, r.clock(first), r.clock(last))
	kept := r.motion[:0]
	for _, m := range r.motion {
		if float64(m.T) >= first-longPause && float64(m.T) <= last+longPause {
			kept = append(kept, m)
		}
	}
	r.motion = kept
}

// nowhere drops positions at exactly latitude and longitude nought, which receivers without a fix write.
func (r *reading) nowhere() {
	if r.frame != FrameGeo {
		return
	}
	kept := r.rows[:0]
	for _, w := range r.rows {
		if math.Abs(w.a) > 1e-9 || math.Abs(w.b) > 1e-9 {
			kept = append(kept, w)
		}
	}
	if n := len(r.rows) - len(kept); n > 0 {
		r.note("%d positions at latitude 0, longitude 0 were left out: a receiver without a fix writes that", n)
	}
	r.rows = kept
}
