package draw

// Banner puts words in a frame above a scene, for what must not be overlooked; the scene itself is
// moved down and keeps its size. No words give the scene as it is.
func Banner(s *Scene, words string) *Scene {
	if words == "" {
		return s
	}
	size := 4.0 * signSize(s.W)
	pad := size * 0.7
	lines := Wrap(words, size, s.W-4*pad, true)
	h := float64(len(lines))*size*1.3 + 2*pad
	out := &Scene{W: s.W, H: s.H + h + pad, Title: s.Title, Desc: words + " " + s.Desc}
	out.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box(0, 0, out.W, out.H)}, Closed: true},
		Path{Style: Style{Class: "edge", Stroke: InkMain, Width: size * 0.15}, Lines: [][]Pt{box(pad, pad, s.W-2*pad, h-pad)}, Closed: true})
	for i, l := range lines {
		out.Add(Text{At: Pt{2 * pad, 1.6*pad + size*(0.82+1.3*float64(i))}, Size: size, Bold: true, Class: "ink", Ink: InkMain, Words: l})
	}
	out.Embed(s, 0, h+pad, 1)
	return out
}
