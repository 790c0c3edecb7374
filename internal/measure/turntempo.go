package measure

import (
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// canterLoss is by how many percent the best riders' horses lose tempo in a canter pirouette: some
// 64 strides a minute against 100 in collected canter (stride about 0.93 s against 0.61 s; Burns and
// Clayton 1997, from memory). It is no fault and what is asked; in walk the tempo is to stay.
const canterLoss = 35.0

const (
	tempoBefore = 10.0 // seconds before the turn whose strides are the tempo that was lost
	turnStrides = 2    // fewer strides in the turn, or before it, say nothing
	strideSD    = 0.03 // spread of single strides, as a share, where few are seen (docs/MEASURES.md, tempo regularity)
)

// tempoLoss is by how many percent the strides of a turn on the spot are slower than those before it.
func (r *ride) tempoLoss(b *book, f *rideplan.Figure, os []obs) {
	e := entry{what: "tempo loss", letter: f.At, at: during(os), atM: float64(f.StartM)}
	pace := gait.Walk
	if f.Kind == terms.CanterPirouette {
		pace, e.asked = gait.Canter, canterLoss
	}
	if r.rec.Strides == nil {
		b.lacks(LacksMotion, e, "positions do not show strides. "+needMotion)
		return
	}
	turn := durations(r.strideList(pace, e.at.from-0.3, e.at.to+0.3))
	before := durations(r.strideList(pace, e.at.from-tempoBefore, e.at.from))
	if len(turn) < turnStrides || len(before) < turnStrides {
		b.cannot(e, r.whyNot(pace, e.at.from-tempoBefore, e.at.to))
		return
	}
	t, sdT := meanSD(turn)
	u, sdU := meanSD(before)
	share := u / t
	e.value = 100 * (1 - share)
	spread := func(mean, sd float64, n int) float64 {
		return math.Pow(math.Max(sd/mean, strideSD), 2) / float64(n)
	}
	e.parts = []part{{fromMotion, math.Pow(100*share, 2) * (spread(t, sdT, len(turn)) + spread(u, sdU, len(before)))}}
	b.add(e)
}
