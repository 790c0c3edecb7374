package diagnose

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"ringcraft/internal/measure"
	"ringcraft/internal/terms"
)

// TrendPoint is one ride's value. SD is its standard deviation from noise alone, 0 unknown.
type TrendPoint struct {
	Day   float64 `json:"day"`
	Value float64 `json:"value"`
	SD    float64 `json:"sd"`
}

// TrendLine is a straight line through the rides with its 95 % interval.
type TrendLine struct {
	What     string       `json:"what"`     // kind, fault or cause
	Of       string       `json:"of"`       // "kind", "fault" or "cause"
	Points   []TrendPoint `json:"points"`   // by day
	PerWeek  *float64     `json:"per_week"` // change a week; nil with fewer than three rides
	Low      *float64     `json:"low"`      // 95 % interval of PerWeek
	High     *float64     `json:"high"`
	Verdict  string       `json:"verdict"`
	Words    string       `json:"words"`
	Latest   *float64     `json:"latest"` // where the line stands at the last ride
	LatestSD *float64     `json:"latest_sd"`
}

// Trend fits a line by weighted least squares. higherIsBetter says how to read its slope.
// The scatter about the line is estimated when it exceeds the stated noise, never less.
func Trend(of, what string, points []TrendPoint, higherIsBetter bool) TrendLine {
	ps := append([]TrendPoint(nil), points...)
	sort.SliceStable(ps, func(i, j int) bool { return ps[i].Day < ps[j].Day })
	out := TrendLine{Of: of, What: what, Points: ps, Verdict: measure.CannotTell}
	f, ok := fitLine(ps)
	if !ok {
		out.Words = fmt.Sprintf("%s: %d rides on different days are too few for a trend; three are needed", what, len(ps))
		return out
	}
	week, half := 7*f.slope, 7*f.t*f.slopeSD
	low, high := week-half, week+half
	out.PerWeek, out.Low, out.High = ptr(round(week, 4)), ptr(round(low, 4)), ptr(round(high, 4))
	out.Latest, out.LatestSD = ptr(round(f.at(ps[len(ps)-1].Day), 3)), ptr(round(f.sdAt(ps[len(ps)-1].Day), 3))
	out.Verdict = trendVerdict(low, high, higherIsBetter)
	out.Words = fmt.Sprintf("%s: %s; %+.2f a week, 95 %% between %+.2f and %+.2f, over %d rides", what, out.Verdict, week, low, high, len(ps))
	return out
}

func trendVerdict(low, high float64, higherIsBetter bool) string {
	up, down := low > 0, high < 0
	if !higherIsBetter {
		up, down = down, up
	}
	switch {
	case up:
		return Better
	case down:
		return Worse
	}
	return NoiseOnly
}

func ptr(v float64) *float64 { return &v }

// line is a fitted straight line: value = intercept + slope*(day - mid).
type line struct {
	slope, slopeSD, intercept, interceptSD, mid, t float64
}

func (l line) at(day float64) float64   { return l.intercept + l.slope*(day-l.mid) }
func (l line) sdAt(day float64) float64 { return math.Hypot(l.interceptSD, l.slopeSD*(day-l.mid)) }

// fitLine needs three points and two different days. Points of unknown noise weigh alike.
func fitLine(ps []TrendPoint) (line, bool) {
	var sw, sx, sy float64
	w := make([]float64, len(ps))
	known := true
	for _, p := range ps {
		known = known && p.SD > 0
	}
	for i, p := range ps {
		w[i] = 1
		if known {
			w[i] = 1 / (p.SD * p.SD)
		}
		sw, sx, sy = sw+w[i], sx+w[i]*p.Day, sy+w[i]*p.Value
	}
	if len(ps) < 3 {
		return line{}, false
	}
	l := line{mid: sx / sw, intercept: sy / sw}
	var sxx, sxy, chi2 float64
	for i, p := range ps {
		sxx += w[i] * (p.Day - l.mid) * (p.Day - l.mid)
		sxy += w[i] * (p.Day - l.mid) * (p.Value - l.intercept)
	}
	if !(sxx > 0) {
		return line{}, false
	}
	l.slope = sxy / sxx
	for i, p := range ps {
		r := p.Value - l.at(p.Day)
		chi2 += w[i] * r * r
	}
	dof := float64(len(ps) - 2)
	scale := chi2 / dof
	if known { // the noise is at least what is known of it
		scale = math.Max(1, scale)
	}
	l.slopeSD, l.interceptSD = math.Sqrt(scale/sxx), math.Sqrt(scale/sw)
	l.t = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(0.975)
	return l, true
}

// Trends gives a line for every kind of movement (mean mark) and every fault (share of
// movements that showed it) over the rides of one combination, sorted by name.
func Trends(rides []RideFacts) []TrendLine {
	kinds, faults := map[string][]TrendPoint{}, map[string][]TrendPoint{}
	names := faultNames(rides)
	for _, r := range rides {
		for name, p := range kindMeans(r) {
			kinds[name] = append(kinds[name], p)
		}
		for _, f := range names {
			faults[f] = append(faults[f], faultShare(r, f))
		}
	}
	out := []TrendLine{}
	prone := proneToHope(rides)
	for _, k := range sortedKeys(kinds) {
		t := Trend("kind", k, kinds[k], true)
		if prone && t.Verdict == Better {
			t.Verdict = measure.CannotTell
			t.Words = fmt.Sprintf("%s: marks rise by %+.2f a week over %d rides, but those who gave them also taught: not proof by itself", k, *t.PerWeek, len(t.Points))
		}
		out = append(out, t)
	}
	for _, f := range sortedKeys(faults) {
		out = append(out, Trend("fault", f, faults[f], false))
	}
	return out
}

// proneToHope reports whether half or more of the rides after the first were marked by the person
// who taught in between: such marks alone never make a line better, as in Compare.
func proneToHope(rides []RideFacts) bool {
	prone, marked := 0, 0
	for i := 1; i < len(rides); i++ {
		w := whoMarked(rides[i-1], rides[i])
		if w.after > 0 {
			marked++
			if w.prone {
				prone++
			}
		}
	}
	return prone > 0 && 2*prone >= marked
}

// CauseTrend gives a line for one cause's probability over the rides' diagnoses.
func CauseTrend(cause string, points []TrendPoint) TrendLine {
	return Trend("cause", cause, points, false)
}

func kindMeans(r RideFacts) map[string]TrendPoint {
	type acc struct {
		sum    float64
		n, jud int
	}
	sums := map[string]acc{}
	for _, m := range r.Movements {
		mark, ok := m.MeanMark()
		if !ok {
			continue
		}
		for _, k := range m.Kinds {
			a := sums[string(k)]
			sums[string(k)] = acc{a.sum + mark, a.n + 1, a.jud + len(m.Marks)}
		}
	}
	out := map[string]TrendPoint{}
	for k, a := range sums {
		judges := float64(a.jud) / float64(a.n)
		sd := math.Sqrt((noise.MarkSD*noise.MarkSD/float64(a.n) + noise.OffsetSD*noise.OffsetSD/100) / judges)
		out[k] = TrendPoint{Day: r.Day, Value: a.sum / float64(a.n), SD: sd}
	}
	return out
}

// faultShare is the share of movements with the fault; its doubt is that of a share with
// one movement of each outcome added, so that none of five is not certainty.
func faultShare(r RideFacts, fault string) TrendPoint {
	with, n := 0.0, float64(len(r.Movements))
	for _, m := range r.Movements {
		if hasFault(m.FaultsShown(), terms.Fault(fault)) {
			with++
		}
	}
	p := (with + 1) / (n + 2)
	return TrendPoint{Day: r.Day, Value: with / math.Max(1, n), SD: math.Sqrt(p * (1 - p) / (n + 2))}
}

func faultNames(rides []RideFacts) []string {
	seen := map[string]bool{}
	for _, r := range rides {
		for _, m := range r.Movements {
			for _, f := range m.FaultsShown() {
				seen[string(f)] = true
			}
		}
	}
	return sortedKeys(seen)
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
