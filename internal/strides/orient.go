package strides

import (
	"math"

	"ringcraft/internal/track"
)

// Some sensors give the pull of gravity (down), most the push against it (up). The difference turns
// every left into a right. Where the recording has positions as well, the turns of the path decide.
const (
	pathStep  = 0.5 // s between looks
	pathSpeed = 1.0 // m/s: slower, the path does not show the turning
	pathLooks = 40  // looks needed, 20 s
	pathClear = 0.3 // correlation that is clear
)

// orientByPath turns the sensor's vertical over when the turns it feels go against those of the path.
// Axes of the recorder's own choice may be mirrored and are not used.
func (s *signal) orientByPath(t *track.Track) {
	if s.yaw == nil || s.upless {
		return
	}
	if len(t.Fixes) < track.MinFixes || t.Frame == track.FrameLocal {
		s.notes = append(s.notes, "left and right are taken on trust: that the sensor at rest reads +9.8 m/s2 along the axis that points up, as most do")
		return
	}
	sm, err := track.Smooth(t, track.NoiseFor("", t), track.SmoothOptions{RateHz: 1 / pathStep})
	if err != nil {
		return
	}
	slow := lowpass(s.yaw, 0.2)
	var n, xy, xx, yy float64
	for _, st := range sm.States {
		v := st.Speed()
		if st.Gap || v < pathSpeed || st.T < s.t0 || st.T > s.time(len(slow)-1) {
			continue
		}
		path := (st.V.X*st.A.Y - st.V.Y*st.A.X) / (v * v)
		felt := slow[s.index(st.T)]
		n, xy, xx, yy = n+1, xy+path*felt, xx+path*path, yy+felt*felt
	}
	if n < pathLooks || xx == 0 || yy == 0 {
		return
	}
	switch r := xy / math.Sqrt(xx*yy); {
	case r < -pathClear:
		for i := range s.yaw {
			s.yaw[i], s.vert[i] = -s.yaw[i], -s.vert[i]
		}
		s.notes = append(s.notes, "the sensor gives gravity downwards: its turns were the path's, the other way round")
	case r < pathClear:
		s.notes = append(s.notes, "the turns of the sensor and of the path do not agree; the two may not belong together")
	}
}
