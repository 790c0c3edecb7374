package measure_test

import (
	"fmt"
	"math"
)

// begin comes in on the centre line from outside.
func (d *drawn) begin(pace string, x float64) {
	d.put(pt{X: x, Y: -9}, 0, math.NaN())
	d.dir = up
	d.pace(pace, 1, 0).sudden = true
}

// enter rides the first line, with a halt on it or without, and turns onto the track at C.
func (d *drawn) enter(pace, halt, after string, rein float64) {
	a := d.fault(0.5, 0.4, 0.9, 0.06)
	b := a + d.fault(0.4, 0.5, 1.2, 0.08)
	d.begin(pace, a/2)
	d.box("A", "Enter in "+pace)
	c := d.length - inset
	at := func(y float64) float64 { return a + (b-a)*(y-2)/(c-7) }
	d.to(a, 2)
	if halt != "" {
		y := d.letters[halt].Y + d.fault(0.6, 0.9, 2, 0.12)
		x := at(y)
		if d.rng.Float64() < 0.4 {
			d.to(at(y-6), y-6)
			x += d.fault(1, 0.5, 0.9, 0)
		}
		d.to(x, y)
		d.dir = up
		d.more(halt, "Halt, salute. Proceed in "+after)
		d.halt(halt, d.between(2, 7))
		if after != pace {
			d.resume(after)
		}
	}
	d.to(b, math.Max(c-6.5, d.pos().Y+0.4))
	d.more("C", "Track "+handName(rein))
	d.rein = rein
	d.fillet(pt{X: b, Y: c}, up+rein*up, d.between(3.5, 5.5))
}

func handName(h float64) string {
	if h > 0 {
		return "left"
	}
	return "right"
}

// on follows the track to a letter and begins a movement there.
func (d *drawn) on(letter, text string) {
	d.follow(letter)
	d.box(letter, text)
}

// change follows the track to a letter and changes pace there, more or less.
func (d *drawn) change(letter, pace, text string, chance float64) {
	if text == "" {
		text = pace
	}
	d.on(letter, text)
	d.pace(pace, 1, d.fault(chance, 2, 6, 0.3))
}

// circle rides a circle at a letter of the track: too large or small, begun late, egg-shaped, drifting.
func (d *drawn) circle(letter string, size float64) {
	d.on(letter, fmt.Sprintf("Circle %s %g m", handName(d.rein), size))
	l := d.letters[letter]
	asked := size - inset
	if size == 20 {
		asked = size - 2*inset
	}
	centre := pt{X: math.Copysign(side9-asked/2, l.X), Y: l.Y}
	if letter == "A" || letter == "C" {
		centre = pt{Y: math.Abs(l.Y - inset - asked/2)}
		if letter == "C" {
			centre.Y = d.length - inset - asked/2
		}
		centre.X = 0
	}
	big := math.Max(0.8, 0.08*size)
	real := math.Min(asked+d.fault(0.6, big, 2.2*big, 0.12), 18.9)
	late := math.Max(0, d.fault(0.4, 1.2, 2.5, 0.15))
	egg := math.Abs(d.fault(0.5, 0.15, 0.5, 0))
	var drift pt
	if d.rng.Float64() < 0.4 {
		k := d.fault(1, 0.4, 1.2, 0)
		if size == 20 {
			k *= 0.3
		}
		drift = unit(d.dir).Mul(k)
	}
	d.ring(l, centre, d.rein, real, late, egg, drift)
	dir := d.quarter()
	p := d.pos().Add(unit(dir).Mul(4))
	if math.Abs(math.Cos(dir)) < 0.5 {
		p.X = math.Copysign(side9, l.X)
	} else if p.Y = inset; l.Y > 1 {
		p.Y = d.length - inset
	}
	d.to(p.X, p.Y)
	d.dir = dir
}

// ring draws a whole circle from here and notes its truths.
func (d *drawn) ring(letter, centre pt, hand, size, late, egg float64, drift pt) {
	dir := d.quarter()
	if late > 0 {
		p := d.pos().Add(unit(dir).Mul(late))
		d.to(p.X, p.Y)
	}
	a := d.last()
	d.arc(hand, 2*math.Pi, size/2, egg, d.between(0, 3), drift)
	for _, what := range []string{"circle diameter", "circle place", "circle roundness", "circle opening", "circle closing"} {
		d.facts = append(d.facts, &fact{what: what, a: a, z: d.last(), mid: (a + d.last()) / 2, letter: letter, along: unit(dir), centre: centre})
	}
	d.dir = dir
}

// diagonal leaves the track at one letter and comes to another, perhaps beside its line.
func (d *drawn) diagonal(from, to string) (end pt, dir float64) {
	a, b := d.onTrack(from), d.onTrack(to)
	d.oblique = append(d.oblique, [2]pt{a, b})
	way := float64(b.Sub(a).Heading())
	off := unit(way + up).Mul(d.fault(0.3, 0.7, 1.4, 0.1))
	d.fillet(a, way, 6)
	for _, f := range []float64{0.3, 0.68} {
		p := a.Lerp(b, f).Add(off)
		d.to(p.X, p.Y)
	}
	d.dir = float64(b.Sub(d.pos()).Heading())
	d.rein = -d.rein
	return b, math.Copysign(up, b.Y-a.Y)
}

func (d *drawn) onTrack(letter string) pt {
	l := d.letters[letter]
	return pt{X: math.Copysign(side9, l.X), Y: l.Y}
}

// bigger rides a diagonal in a bigger pace and comes back at its end.
func (d *drawn) bigger(from, to, text, pace, back, backText string, share float64) {
	d.on(from, text)
	d.numbered(from+"X"+to, text)
	d.pace(pace, 1+d.fault(0.4, share, 1.5*share, 0), d.fault(0.4, 2, 5, 0.3))
	b, dir := d.diagonal(from, to)
	d.fillet(b, dir, 5)
	d.more(to, backText)
	d.pace(back, 1, d.fault(0.4, 2, 5, 0.3)-1.5)
}

// longSide rides a bigger pace along a long side.
func (d *drawn) longSide(from, to, pace, back string) {
	d.on(from, pace)
	d.numbered(from+to, pace)
	d.pace(pace, 1+d.fault(0.3, 0.08, 0.12, 0), d.fault(0.4, 4, 8, 0.4))
	d.on(to, back)
	d.pace(back, 1, d.fault(0.5, 3, 6, 0.3))
}

// centreLine turns from the track onto the centre line at A or C, overshooting or cutting in.
func (d *drawn) centreLine(end string) {
	l := d.letters[end]
	sign := d.rein
	if end == "C" {
		sign = -sign
	}
	d.followTo(pt{X: -sign * 5.2, Y: l.Y})
	d.box(end, "Down the centre line")
	dir := up
	if end == "C" {
		dir = down
	}
	d.fillet(pt{X: sign * d.fault(0.5, 0.6, 1.2, 0.08), Y: d.pos().Y}, dir, d.between(3.6, 4.6))
	d.to(d.fault(0.4, 0.4, 0.8, 0.06), d.pos().Y+7*math.Sin(dir))
	d.dir = dir
}

// along goes on along the centre line, drifting.
func (d *drawn) along(y float64) {
	if (y-d.pos().Y)*math.Sin(d.dir) > 1 {
		dir := d.quarter()
		d.to(d.pos().X+d.fault(0.4, 0.5, 1, 0.06), y)
		d.dir = dir
	}
}

// offLine turns from the centre line onto the track at C or A.
func (d *drawn) offLine(end string, rein float64) {
	d.box(end, "Track "+handName(rein))
	y := d.length - inset
	if end == "A" {
		y = inset
	}
	dir := d.quarter()
	d.rein = rein
	d.fillet(pt{X: d.pos().X, Y: y}, dir+rein*up, d.between(3.5, 5))
}

// final halts and salutes, then leaves at a walk.
func (d *drawn) final(letter string) {
	dir := d.quarter()
	d.to(d.pos().X+d.fault(0.3, 0.4, 0.9, 0.04), d.letters[letter].Y+math.Sin(dir)*d.fault(0.6, 0.9, 2, 0.12))
	d.dir = dir
	d.more(letter, "Halt, salute")
	d.halt(letter, d.between(3, 7))
	d.resume("medium walk")
	d.to(d.pos().X+0.01, d.pos().Y+5*math.Sin(dir))
}

// shallow rides a loop along a long side.
func (d *drawn) shallow(from, to string, size float64) {
	d.on(from, fmt.Sprintf("One loop %g m from the track", size))
	d.numbered(from+to, fmt.Sprintf("One loop %g m from the track", size))
	a, b := d.pos(), d.onTrack(to)
	deep := size - inset + d.fault(0.6, 1.2, 2.2, 0.1)
	i := d.last()
	n := int(math.Abs(b.Y-a.Y) / step)
	for k := 1; k <= n; k++ {
		q := float64(k) / float64(n)
		d.put(pt{X: a.X - math.Copysign(deep*math.Pow(math.Sin(math.Pi*q), 2), a.X), Y: a.Y + (b.Y-a.Y)*q}, 0, math.NaN())
	}
	d.dir = math.Copysign(up, b.Y-a.Y)
	d.facts = append(d.facts, &fact{what: "loop size", a: i, z: d.last(), mid: (i + d.last()) / 2, base: math.Copysign(side9, a.X)})
}

// serpentine rides loops from A to C, some of them too small.
func (d *drawn) serpentine(loops int) {
	d.follow("A")
	d.box("A", fmt.Sprintf("Serpentine %d loops to the sides of the arena, ending at C", loops))
	side := d.rein // a left loop lies on B's side, a right one on E's
	h := (d.length - 2*inset) / float64(loops)
	y := inset
	var parts [][2]int
	for range loops {
		a := d.last()
		deep := side9 - math.Abs(d.fault(0.5, 1, 2.4, 0))
		r := h / 2
		straight, wide := math.Max(0, deep-r), math.Min(deep, r)
		d.to(side*straight, y)
		n := int(math.Pi * (r + wide) / 2 / step)
		for j := 1; j <= n; j++ {
			th := math.Pi * float64(j) / float64(n)
			d.put(pt{X: side * (straight + wide*math.Sin(th)), Y: y + r*(1-math.Cos(th))}, 0, math.NaN())
		}
		y += h
		d.to(0, y)
		parts = append(parts, [2]int{a, d.last()})
		d.facts = append(d.facts, &fact{what: "loop size", a: a, z: d.last(), mid: (a + d.last()) / 2})
		d.dir = math.Pi
		if side < 0 {
			d.dir = 0
		}
		d.rein, side = side, -side
	}
	d.facts = append(d.facts, &fact{what: "loop difference", a: parts[0][0], z: d.last(), mid: (parts[0][0] + d.last()) / 2, parts: parts})
}

// sideways goes across to the centre line with the body along the long side, and up to C.
func (d *drawn) sideways(from, what string, rein float64) {
	d.on(from, what)
	d.numbered(from+"X", what+" "+handName(d.rein))
	x := d.letters["X"]
	a, b := d.pos(), pt{Y: x.Y + d.fault(0.5, 2.2, 4, 0.3)}
	d.oblique = append(d.oblique, [2]pt{a, x})
	dir := float64(b.Sub(a).Heading())
	bow := d.fault(0.4, 0.7, 1.2, 0.05)
	i := d.last()
	n := int(float64(b.Dist(a)) / step)
	for k := 1; k <= n; k++ {
		q := float64(k) / float64(n)
		d.put(a.Lerp(b, q).Add(unit(dir+up).Mul(bow*math.Sin(math.Pi*q))), turnBy(up-dir)*180/math.Pi, math.NaN())
	}
	d.dir = up
	for _, w := range []string{"angle", "arrival", "evenness"} {
		d.facts = append(d.facts, &fact{what: w, a: i, z: d.last(), mid: (i + d.last()) / 2, letter: x})
	}
	d.to(d.pos().X, d.length-7)
	d.dir = up
	d.offLine("C", rein)
}

// bent goes along the track with the body at an angle, anticlockwise of the line.
func (d *drawn) bent(from, to, text string, slant float64) {
	d.on(from, text)
	d.numbered(from+to, text)
	i, dir, b := d.last(), d.quarter(), d.onTrack(to)
	d.slanted(b.X, b.Y, slant)
	d.dir = dir
	d.facts = append(d.facts, &fact{what: "angle", a: i, z: d.last(), mid: (i + d.last()) / 2})
}

// haunches turns half round on the haunches: they go round a small circle, the body about them.
func (d *drawn) haunches(letter string, size, seconds float64) {
	d.on(letter, "Turn on the haunches "+handName(d.rein))
	const arm = 0.7
	hand, h0 := d.rein, d.dir
	centre := d.pos().Sub(unit(h0).Mul(arm)).Add(unit(h0 + hand*up).Mul(size / 2))
	way := math.Hypot(arm, size/2) * math.Pi
	i, n := d.last(), max(20, int(way/step))
	for k := 1; k <= n; k++ {
		h := h0 + hand*math.Pi*float64(k)/float64(n)
		d.put(centre.Add(unit(h-hand*up).Mul(size/2)).Add(unit(h).Mul(arm)), 0, h)
	}
	d.dir = turnBy(h0 + hand*math.Pi)
	d.slow = append(d.slow, slowly{i, d.last(), way / seconds})
	for _, what := range []string{"turn size", "turn duration"} {
		d.facts = append(d.facts, &fact{what: what, a: i, z: d.last(), mid: (i + d.last()) / 2, base: size})
	}
	d.rein = -hand
	dir := d.quarter()
	d.to(math.Copysign(side9, d.pos().X), d.pos().Y+5*math.Sin(dir))
	d.dir = dir
}

// across turns over the arena from one letter to the one facing it.
func (d *drawn) across(from, to string, rein float64) {
	d.follow(from)
	a, b := d.onTrack(from), d.onTrack(to)
	dir, cut := d.quarter(), int(4/step) // the turn is begun before the letter
	d.pts, d.slant, d.face = d.pts[:len(d.pts)-cut], d.slant[:len(d.slant)-cut], d.face[:len(d.face)-cut]
	y := a.Y + d.fault(0.3, 0.7, 1.2, 0.08)
	next := dir + d.rein*up
	d.box(from, "Turn "+handName(d.rein))
	d.fillet(pt{X: d.pos().X, Y: y}, next, d.between(3.6, 5))
	d.to(math.Copysign(3.5, b.X), y)
	d.dir = next
	d.box(to, "Track "+handName(rein))
	d.rein = rein
	d.fillet(pt{X: b.X, Y: y}, next+rein*up, 4.5)
}

// halfBack rides half a circle and goes back to the track at a letter behind.
func (d *drawn) halfBack(from, to string) {
	d.on(from, "Half circle "+handName(d.rein)+" 10 m returning to the track at "+to)
	dir, i := d.quarter(), d.last()
	d.arc(d.rein, math.Pi, (side9+d.fault(0.6, 1, 2, 0.1))/2, 0, 0, pt{})
	d.facts = append(d.facts, &fact{what: "circle diameter", a: i, z: d.last(), mid: (i + d.last()) / 2, half: true})
	d.rein = -d.rein
	d.fillet(d.onTrack(to), dir+math.Pi, 4)
	d.dir = turnBy(dir + math.Pi)
}

// numbered writes the last movement's line again with its own letters.
func (d *drawn) numbered(letters, text string) {
	d.lines[len(d.lines)-1] = fmt.Sprintf("%d\t%s\t%s", d.number, letters, text)
}
