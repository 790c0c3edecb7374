package diagnose

import (
	"fmt"
	"math"
	"sort"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// share is one part of the distance from ten before it is fitted to the mark given:
// a prior mean and spread, and the limits of what it can be.
type share struct {
	mean, sd, hi float64
	loss         Loss
}

// splitMark divides the distance from ten among the shares: the most likely split when each
// share is normal about its prior and the parts must add up to the distance (Lagrange; the
// sum grows with the multiplier, so bisection finds it). Every part stays between 0 and its
// limit; at least one share must be without limit.
func splitMark(distance float64, shares []share) []float64 {
	at := func(lambda float64) ([]float64, float64) {
		parts, sum := make([]float64, len(shares)), 0.0
		for i, s := range shares {
			parts[i] = clamp(s.mean+lambda*s.sd*s.sd, 0, s.hi)
			sum += parts[i]
		}
		return parts, sum
	}
	lo, hi := -1e4, 1e4
	for range 200 {
		mid := (lo + hi) / 2
		if _, sum := at(mid); sum < distance {
			lo = mid
		} else {
			hi = mid
		}
	}
	parts, _ := at((lo + hi) / 2)
	return parts
}

// ledgerOf splits one movement's mark. Without a mark nothing is known to be lost: faults
// carry the usual cost as an estimate.
func ledgerOf(m rideplan.Movement, mean *float64, found []finding, ceiling float64, ceilingWords string) (MovementLedger, []string) {
	out := MovementLedger{Number: m.Number, Mean: mean, Ceiling: ceiling, Ceilings: ceilingWords, Lost: []Loss{}}
	shares, notes := faultShares(m, found, ceiling, mean)
	if mean == nil {
		for _, s := range shares {
			s.loss.Estimate = round(s.mean, 2)
			out.Lost = append(out.Lost, s.loss)
		}
		return out, notes
	}
	shares = append(shares,
		share{mean: 10 - ceiling, sd: ceilings.SD, hi: 10 - ceiling, loss: Loss{Reason: ceilingReason(ceilingWords), Reach: Ceiling, Evidence: []string{ceilingWords}}},
		share{mean: 0, sd: reasonsFile.NoiseSD, hi: math.Inf(1), loss: Loss{Reason: "unexplained: neither seen nor measured", Reach: Schooling}})
	parts := splitMark(10-*mean, shares)
	out.Lost = roundedLosses(10-*mean, shares, parts)
	return out, notes
}

func faultShares(m rideplan.Movement, found []finding, ceiling float64, mean *float64) ([]share, []string) {
	var out []share
	var notes []string
	for _, f := range found {
		c := costOf(f.fault)
		cost, source := c.Cost*f.times, c.Source
		if usual, ok := capFor(f, m.Kinds()); ok {
			cost, source = math.Max(cost, ceiling-usual.Cap), usual.Source
			if mean != nil && *mean > usual.Cap+0.5 {
				notes = append(notes, fmt.Sprintf("movement %d: %s usually limits the mark to %.1f, but %.1f was given: it was mild, or it was not seen (%s)", m.Number, usual.Words, usual.Cap, *mean, usual.Source))
				cost = c.Cost * f.times
			}
		}
		mu := cost * f.sure
		out = append(out, share{mean: mu, sd: 0.5*cost + 0.1, hi: math.Inf(1),
			loss: Loss{Reason: string(f.fault), Fault: f.fault, Reach: c.Reach, Evidence: f.evidence, Source: source}})
	}
	return out, notes
}

// roundedLosses rounds the parts to hundredths and gives the remainder to the largest, so
// that they add up to the distance exactly; the ceiling never takes more than its limit.
// Parts of nothing are left out, except faults: a fault that cost nothing is worth knowing.
func roundedLosses(distance float64, shares []share, parts []float64) []Loss {
	out := []Loss{}
	rest := distance
	for i, s := range shares {
		l := s.loss
		l.Marks = round(parts[i], 2)
		if l.Marks == 0 && l.Fault == "" {
			continue
		}
		rest -= l.Marks
		out = append(out, l)
	}
	if k := largest(out, rest > 0); k >= 0 {
		out[k].Marks = round(out[k].Marks+rest, 9)
	}
	return out
}

// largest is the index of the largest loss, preferring any other to the ceiling when
// spareCeiling is set; -1 without losses.
func largest(ls []Loss, spareCeiling bool) int {
	best := -1
	for i, l := range ls {
		spare := best >= 0 && spareCeiling && ls[best].Reach == Ceiling
		if best < 0 || spare || (l.Marks > ls[best].Marks && !(spareCeiling && l.Reach == Ceiling)) {
			best = i
		}
	}
	return best
}

// gapS tells how many seconds lie between the end of one movement and the start of
// another, on the plan's clock.
func gapS(p *rideplan.Plan, from, to int) float64 {
	a, b := p.MovementByNumber(from), p.MovementByNumber(to)
	if a == nil || b == nil {
		return math.Inf(1)
	}
	return float64(b.StartS - a.EndS)
}

// markChains charges losses to the movement where they began: a fault that a chain of
// reasons.json ties to a fault of the movement before, soon enough after it.
func markChains(p *rideplan.Plan, ledger []MovementLedger) {
	for i := 1; i < len(ledger); i++ {
		for k := range ledger[i].Lost {
			l := &ledger[i].Lost[k]
			if l.Fault == "" {
				continue
			}
			if origin, why := chainOrigin(p, ledger[i-1], ledger[i].Number, l.Fault); origin != 0 {
				l.BeganIn = origin
				l.Evidence = append(l.Evidence, fmt.Sprintf("began in movement %d: %s", origin, why))
			}
		}
	}
}

func chainOrigin(p *rideplan.Plan, before MovementLedger, number int, fault terms.Fault) (int, string) {
	for _, c := range reasonsFile.Chains {
		if !hasFault(c.To, fault) || gapS(p, before.Number, number) > c.WithinS {
			continue
		}
		for _, l := range before.Lost {
			if l.Fault != c.From {
				continue
			}
			if l.BeganIn != 0 { // the chain is longer than one link
				return l.BeganIn, c.Why
			}
			return before.Number, c.Why
		}
	}
	return 0, ""
}

// charge sums what began in each movement, in marks times coefficient, without the ceiling.
func charge(p *rideplan.Plan, ledger []MovementLedger) {
	at := map[int]int{}
	for i := range ledger {
		at[ledger[i].Number] = i
	}
	for _, m := range ledger {
		for _, l := range m.Lost {
			if l.Reach == Ceiling {
				continue
			}
			origin := m.Number
			if l.BeganIn != 0 {
				origin = l.BeganIn
			}
			ledger[at[origin]].Charged += l.Worth() * coefficient(p, m.Number)
		}
	}
	for i := range ledger {
		ledger[i].Charged = round(ledger[i].Charged, 2)
	}
}

func coefficient(p *rideplan.Plan, number int) float64 {
	if m := p.MovementByNumber(number); m != nil && m.Coefficient > 0 {
		return float64(m.Coefficient)
	}
	return 1
}

// MaxPoints is the largest possible points of a plan: its own figure, else ten per
// coefficient of the movements.
func MaxPoints(p *rideplan.Plan) float64 {
	if p.MaxPoints > 0 {
		return float64(p.MaxPoints)
	}
	sum := 0.0
	for _, m := range p.Movements {
		sum += 10 * coefficient(p, m.Number)
	}
	return math.Max(sum, 1)
}

// PercentOf is what so many marks in a movement of this coefficient are worth in the final
// percentage.
func PercentOf(p *rideplan.Plan, number int, marks float64) float64 {
	return round(100*marks*coefficient(p, number)/MaxPoints(p), 2)
}

// worth sums the losses by reason: what a hit centre line or one better transition brings.
func worth(p *rideplan.Plan, ledger []MovementLedger) []Worth {
	sums := map[string]Worth{}
	for _, m := range ledger {
		for _, l := range m.Lost {
			if l.Fault == "" || l.Worth() == 0 {
				continue
			}
			w := sums[l.Reason]
			w.What, w.Reach, w.Times = l.Reason, l.Reach, w.Times+1
			w.Marks += l.Worth() * coefficient(p, m.Number)
			sums[l.Reason] = w
		}
	}
	out := []Worth{}
	for _, k := range sortedKeys(sums) {
		w := sums[k]
		w.Percent = round(100*w.Marks/MaxPoints(p), 2)
		w.Marks = round(w.Marks, 2)
		out = append(out, w)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Marks > out[j].Marks })
	return out
}

// zeroRisks lists the ways to a very low mark that the sheet holds.
func zeroRisks(p *rideplan.Plan, ledger []MovementLedger) []ZeroRisk {
	out := []ZeroRisk{}
	for i, m := range p.Movements {
		for _, r := range capsFile.Risks {
			if sharesKind(r.Kinds, m.Kinds()) {
				out = append(out, ZeroRisk{m.Number, r.What, r.Mark, PercentOf(p, m.Number, math.Max(0, ledger[i].Ceiling-r.Mark)), r.Source})
			}
		}
	}
	return out
}
