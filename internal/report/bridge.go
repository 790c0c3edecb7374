package report

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/match"
)

const (
	// fewestBridged is the shortest time in seconds between samples that is bridged, mostBridged the
	// longest: after that nothing is known of the way.
	fewestBridged, mostBridged = 1.5, 30.0
	// bridgeEvery is the spacing of bridging samples in seconds.
	bridgeEvery = 0.5
)

// Bridged is a ride with samples set into the gaps of its recording, for drawing: on the curve that
// leaves and arrives with the speeds known at either end, with the doubt of a way that was not seen. It
// is widest in the middle: sd² = q h³ u³ (1-u)³ / 3, that of a path with white acceleration of density
// q (m²/s³ per axis) whose places and speeds are known at both ends, h seconds apart, u from 0 to 1
// between them (own derivation by conditioning twice integrated white noise; TestBridgeDoubt repeats
// it by brute force). q is read from how much this ride changes its velocity.
func Bridged(r *match.Ridden) []match.Sample {
	if r == nil {
		return nil
	}
	out := make([]match.Sample, 0, len(r.Samples))
	q := -1.0
	for i, b := range r.Samples {
		if i > 0 {
			a := r.Samples[i-1]
			if h := float64(b.T - a.T); h > fewestBridged && h <= mostBridged && !unplaced(a) && !unplaced(b) {
				if q < 0 {
					q = restlessness(r.Samples)
				}
				for k := 1; float64(k)*bridgeEvery < h; k++ {
					out = append(out, bridge(a, b, float64(k)*bridgeEvery/h, q))
				}
			}
		}
		out = append(out, b)
	}
	return out
}

func unplaced(s match.Sample) bool { return math.IsNaN(s.X) || math.IsNaN(s.Y) }

// bridge is the sample a share u of the way from a to b.
func bridge(a, b match.Sample, u, q float64) match.Sample {
	h := float64(b.T - a.T)
	u2, u3 := u*u, u*u*u
	s := match.Sample{T: a.T + gait.Seconds(u*h), Heading: a.Heading, Gap: true, PlanM: arena.Metres(math.NaN())}
	s.Point = a.Point.Mul(2*u3 - 3*u2 + 1).Add(b.Point.Mul(3*u2 - 2*u3)).Add(a.V.Mul(h * (u3 - 2*u2 + u))).Add(b.V.Mul(h * (u3 - u2)))
	s.V = b.Point.Sub(a.Point).Mul((6*u - 6*u2) / h).Add(a.V.Mul(3*u2 - 4*u + 1)).Add(b.V.Mul(3*u2 - 2*u))
	s.PosSD = math.Sqrt(math.Pow((1-u)*a.PosSD+u*b.PosSD, 2) + bridgeVariance(q, h, u))
	s.VelSD = max(a.VelSD, b.VelSD)
	if a.PlanM >= 0 && b.PlanM >= a.PlanM {
		s.PlanM = a.PlanM + arena.Metres(u)*(b.PlanM-a.PlanM)
	}
	if a.Movement == b.Movement {
		s.Movement = a.Movement
	}
	return s
}

// bridgeVariance is that of Bridged, in m² per axis.
func bridgeVariance(q, h, u float64) float64 { return q * math.Pow(h*u*(1-u), 3) / 3 }

// restlessness is the density of a ride's acceleration in m²/s³ per axis: by how much its velocity
// changes in two seconds.
func restlessness(ss []match.Sample) float64 {
	const lag = 2.0
	sum, n, j := 0.0, 0, 0
	for _, a := range ss {
		for j < len(ss) && float64(ss[j].T-a.T) < lag {
			j++
		}
		if j == len(ss) {
			break
		}
		if dt := float64(ss[j].T - a.T); dt < 2*lag {
			sum += math.Pow(float64(ss[j].V.Sub(a.V).Norm()), 2) / (2 * dt)
			n++
		}
	}
	if n == 0 {
		return 1
	}
	return sum / float64(n)
}
