package match

import "math"

// wanderOf settles the slow error of this recording, by the class's word, and how sure it is.
func wanderOf(r *Ridden, doubt float64) {
	r.Noise.WanderLogSD = math.Log(math.Max(doubt, 1)) / 1.5
}
