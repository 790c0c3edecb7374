package measure

import "ringcraft/internal/rideplan"

// motionTransition places a change of pace by motion data; false when there are none.
func (r *ride) motionTransition(*book, *rideplan.Figure, entry) bool { return false }

// reinSteps counts the steps of a rein-back, which only motion data show.
func (r *ride) reinSteps(b *book, f *rideplan.Figure) {
	if f.Count == 0 {
		return
	}
	b.cannot(entry{what: "rein-back steps", letter: f.At, asked: float64(f.Count), nominal: float64(f.Count), atM: float64(f.StartM)},
		"positions do not show steps; motion data do, and a count is never made from an assumed length of step")
}
