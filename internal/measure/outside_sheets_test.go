package measure_test

// sheetRidden is an invented sheet and how this hand rides it; the sheet's text is written while
// it is ridden.
type sheetRidden struct {
	name   string
	length float64
	seed   uint64
	ride   func(d *drawn)
}

const (
	left  = 1.0
	right = -1.0
)

// firstSheets were used while the writer was made.
var firstSheets = []sheetRidden{
	{"Alder 1", 40, 1, func(d *drawn) {
		d.enter("working trot", "X", "working trot", left)
		d.circle("E", 20)
		d.change("A", "medium walk", "", 0.6)
		d.freeWalk("F", "H")
		d.change("C", "working trot", "", 0.6)
		d.circle("B", 20)
		d.home("A", "G", 20)
	}},
	{"Alder 2", 60, 2, func(d *drawn) {
		d.enter("collected trot", "X", "collected trot", left)
		d.corner = 3.6
		d.bent("H", "E", "Shoulder-in left", d.between(18, 42))
		d.circle("E", 10)
		d.corner = 3.4
		d.sideways("F", "Half-pass", right)
		d.bigger("M", "K", "Change the rein in medium trot", "medium trot", "collected trot", "Collected trot", 0.1)
		d.home("A", "G", 40)
	}},
	{"Alder 3", 60, 3, func(d *drawn) {
		d.enter("working trot", "", "", right)
		d.circle("B", 15)
		d.serpentine(3)
		d.change("M", "working canter", "Working canter right", 0.5)
		d.circle("B", 20)
		d.change("F", "working trot", "", 0.5)
		d.home("A", "G", 40)
	}},
	{"Alder 4", 40, 4, func(d *drawn) {
		d.enter("working trot", "", "", left)
		d.change("E", "medium walk", "", 0.7)
		d.on("B", "Halt 4 seconds")
		d.halt("B", d.between(1.5, 6))
		d.more("", "Proceed in medium walk")
		d.change("C", "working trot", "", 0.7)
		d.circle("E", 10)
		d.centreLine("A")
		d.backAtX("4", 2.2)
	}},
	{"Alder 5", 40, 5, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.corner = 3.5
		d.shallow("M", "F", 5)
		d.circle("A", 20)
		d.corner = 3.4
		d.changeRein("K", "M")
		d.circle("C", 15)
		d.change("E", "medium walk", "", 0.6)
		d.change("A", "working trot", "", 0.6)
		d.across("B", "E", right)
		d.home("C", "X", 30)
	}},
	{"Alder 6", 60, 6, func(d *drawn) {
		d.enter("collected trot", "X", "collected trot", right)
		d.corner = 3.6
		d.bent("M", "B", "Travers right", d.between(20, 42))
		d.circle("B", 8)
		d.change("A", "medium walk", "", 0.5)
		d.haunches("E", []float64{0.8, 1, 2.2}[d.rng.IntN(3)], d.between(4, 9))
		d.change("F", "collected trot", "", 0.5)
		d.home("C", "D", 20)
	}},
	{"Alder 7", 60, 7, func(d *drawn) {
		d.enter("working trot", "X", "working trot", left)
		d.change("A", "working canter", "Working canter left", 0.6)
		d.circle("B", 20)
		d.corner = 3.6
		d.longSide("H", "K", "medium canter", "working canter")
		d.change("A", "working trot", "", 0.5)
		d.halfBack("B", "P")
		d.home("A", "I", 35)
	}},
	{"Alder 8", 40, 8, func(d *drawn) {
		d.enter("medium walk", "X", "medium walk", right)
		d.change("B", "working trot", "", 0.6)
		d.circle("A", 12)
		d.circle("E", 10)
		d.corner = 3.4
		d.changeRein("M", "K")
		d.circle("A", 10)
		d.circle("B", 15)
		d.change("C", "medium walk", "", 0.6)
		d.across("E", "B", right)
		d.home("A", "X", 14)
	}},
	{"Alder 9", 60, 9, func(d *drawn) {
		d.enter("working trot", "X", "working trot", left)
		d.centreLine("A")
		d.voltes([]string{"L", "X"}, []float64{left, right})
		d.offLine("C", left)
		d.change("E", "medium walk", "", 0.6)
		d.change("K", "working trot", "", 0.6)
		d.circle("A", 20)
		d.home("C", "L", 26)
	}},
	{"Alder 10", 40, 10, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.corner = 3.3
		d.sideways("K", "Leg-yield", left)
		d.circle("E", 12)
		d.corner = 3.4
		d.bigger("F", "H", "Change the rein in medium trot", "medium trot", "working trot", "Working trot", 0.1)
		d.circle("C", 20)
		d.change("B", "medium walk", "", 0.6)
		d.home("A", "G", 20)
	}},
	{"Alder 11", 60, 11, func(d *drawn) {
		d.enter("collected canter", "X", "collected trot", left)
		d.change("K", "collected canter", "Collected canter left", 0.4)
		d.circle("B", 10)
		d.corner = 3.6
		d.longSide("H", "K", "medium canter", "collected canter")
		d.circle("P", 15)
		d.change("C", "collected trot", "", 0.5)
		d.home("A", "I", 35)
	}},
	{"Alder 12", 40, 12, func(d *drawn) {
		d.enter("working trot", "", "", left)
		d.corner = 3.5
		d.shallow("H", "K", 5)
		d.serpentine(3)
		d.circle("E", 20)
		d.change("B", "medium walk", "", 0.6)
		d.change("H", "working trot", "", 0.5)
		d.home("A", "G", 20)
	}},
}

// heldSheets were ridden once, when the writer was done.
var heldSheets = []sheetRidden{
	{"Birch 1", 40, 50001, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.circle("B", 20)
		d.circle("E", 15)
		d.change("C", "medium walk", "", 0.6)
		d.corner = 3.4
		d.freeWalk("M", "K")
		d.change("A", "working trot", "", 0.6)
		d.circle("B", 10)
		d.home("A", "X", 14)
	}},
	{"Birch 2", 60, 50002, func(d *drawn) {
		d.enter("collected trot", "X", "collected trot", right)
		d.corner = 3.6
		d.bent("M", "B", "Shoulder-in right", -d.between(18, 42))
		d.circle("B", 8)
		d.corner = 3.4
		d.sideways("K", "Half-pass", left)
		d.bigger("H", "F", "Change the rein in medium trot", "medium trot", "collected trot", "Collected trot", 0.1)
		d.circle("E", 12)
		d.home("C", "L", 26)
	}},
	{"Birch 3", 60, 50003, func(d *drawn) {
		d.enter("working trot", "X", "working trot", left)
		d.serpentine(3)
		d.circle("E", 20)
		d.change("F", "working canter", "Working canter left", 0.5)
		d.circle("B", 15)
		d.change("C", "working trot", "", 0.5)
		d.change("E", "medium walk", "", 0.6)
		d.home("A", "I", 35)
	}},
	{"Birch 4", 40, 50004, func(d *drawn) {
		d.enter("medium walk", "X", "medium walk", left)
		d.change("E", "working trot", "", 0.6)
		d.circle("A", 20)
		d.on("B", "Halt 5 seconds")
		d.halt("B", d.between(2, 7))
		d.more("", "Proceed in working trot")
		d.circle("C", 15)
		d.change("H", "medium walk", "", 0.6)
		d.centreLine("A")
		d.backAtX("5", 2.75)
	}},
	{"Birch 5", 40, 50005, func(d *drawn) {
		d.enter("working trot", "", "", left)
		d.corner = 3.5
		d.shallow("H", "K", 10)
		d.circle("A", 15)
		d.corner = 3.4
		d.changeRein("F", "H")
		d.circle("C", 20)
		d.across("B", "E", left)
		d.change("A", "medium walk", "", 0.6)
		d.change("B", "working trot", "", 0.6)
		d.home("C", "X", 30)
	}},
	{"Birch 6", 60, 50006, func(d *drawn) {
		d.enter("collected trot", "I", "collected trot", left)
		d.corner = 3.6
		d.bent("H", "E", "Travers left", -d.between(20, 42))
		d.circle("E", 10)
		d.change("A", "medium walk", "", 0.5)
		d.haunches("B", []float64{0.8, 1, 2.2}[d.rng.IntN(3)], d.between(4, 9))
		d.change("K", "collected trot", "", 0.5)
		d.home("C", "D", 20)
	}},
	{"Birch 7", 60, 50007, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.change("A", "working canter", "Working canter right", 0.6)
		d.circle("E", 20)
		d.corner = 3.6
		d.longSide("M", "F", "medium canter", "working canter")
		d.change("A", "working trot", "", 0.5)
		d.halfBack("E", "V")
		d.home("A", "G", 35)
	}},
	{"Birch 8", 40, 50008, func(d *drawn) {
		d.enter("working trot", "X", "working trot", left)
		d.circle("A", 10)
		d.circle("B", 12)
		d.corner = 3.4
		d.changeRein("H", "F")
		d.circle("A", 15)
		d.circle("E", 20)
		d.change("B", "medium walk", "", 0.6)
		d.change("A", "working trot", "", 0.6)
		d.home("C", "D", 26)
	}},
	{"Birch 9", 60, 50009, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.centreLine("A")
		d.voltes([]string{"L", "I"}, []float64{right, left})
		d.offLine("C", right)
		d.change("B", "medium walk", "", 0.6)
		d.change("A", "working trot", "", 0.6)
		d.circle("V", 15)
		d.home("C", "X", 40)
	}},
	{"Birch 10", 40, 50010, func(d *drawn) {
		d.enter("working trot", "X", "working trot", left)
		d.corner = 3.3
		d.sideways("F", "Leg-yield", right)
		d.circle("B", 15)
		d.corner = 3.4
		d.bigger("K", "M", "Change the rein in medium trot", "medium trot", "working trot", "Working trot", 0.1)
		d.circle("C", 20)
		d.change("E", "medium walk", "", 0.6)
		d.home("A", "G", 20)
	}},
	{"Birch 11", 60, 50011, func(d *drawn) {
		d.enter("collected canter", "X", "collected trot", right)
		d.change("F", "collected canter", "Collected canter right", 0.4)
		d.circle("E", 10)
		d.corner = 3.6
		d.longSide("M", "F", "medium canter", "collected canter")
		d.circle("V", 15)
		d.change("C", "collected trot", "", 0.5)
		d.home("A", "I", 35)
	}},
	{"Birch 12", 40, 50012, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.corner = 3.5
		d.shallow("M", "F", 5)
		d.serpentine(4)
		d.circle("E", 15)
		d.change("B", "medium walk", "", 0.6)
		d.change("H", "working trot", "", 0.5)
		d.home("A", "X", 14)
	}},
}

// home goes down the centre line to the last halt.
func (d *drawn) home(end, halt string, y float64) {
	d.centreLine(end)
	d.along(y)
	d.final(halt)
}

// changeRein goes across the diagonal in the same pace.
func (d *drawn) changeRein(from, to string) {
	d.on(from, "")
	d.numbered(from+"X"+to, "Change the rein")
	b, dir := d.diagonal(from, to)
	d.fillet(b, dir, 5)
}

// freeWalk goes across the diagonal in free walk; where it begins and ends is not measured.
func (d *drawn) freeWalk(from, to string) {
	d.on(from, "")
	d.numbered(from+"X"+to, "Change the rein, free walk on a long rein")
	d.pace("free walk", 1, d.fault(0.4, 2, 4, 0.3))
	b, dir := d.diagonal(from, to)
	d.pace("medium walk", 1, d.fault(0.3, 2, 4, 0.3)).unasked = true
	d.fillet(b, dir, 5)
	d.more(to, "Medium walk")
}

// voltes rides 8 m circles on the centre line and goes on to C.
func (d *drawn) voltes(at []string, hands []float64) {
	for i, l := range at {
		p := d.letters[l]
		d.to(p.X, p.Y)
		d.dir = up
		d.box(l, "Circle "+handName(hands[i])+" 8 m")
		d.ring(p, p.Add(pt{X: -4 * hands[i]}), hands[i], 8+d.fault(0.6, 0.8, 1.6, 0.1), 0, d.fault(0.5, 0.1, 0.3, 0), pt{})
	}
	d.to(0, 53)
	d.dir = up
}

// backAtX halts at X, reins back and goes on to a halt at G.
func (d *drawn) backAtX(steps string, metres float64) {
	d.backAt(20, "X", steps, metres)
	d.to(d.pos().X, 28)
	d.dir = up
	d.final("G")
}

// backAt halts on the centre line, reins back and walks on.
func (d *drawn) backAt(y float64, letter, steps string, metres float64) {
	d.to(d.pos().X+d.fault(0.5, 0.5, 0.9, 0), y+d.fault(0.5, 0.9, 1.8, 0.1))
	d.dir = up
	d.more(letter, "Halt. Rein-back "+steps+" steps. Proceed in medium walk")
	h := d.halt(letter, d.between(1.5, 4))
	ahead := 0.0
	if d.rng.Float64() < 0.3 {
		ahead = d.between(0.4, 0.7)
	}
	d.reinBack(h, metres*[]float64{0.55, 1, 1, 1.5}[d.rng.IntN(4)], d.fault(0.5, 0.4, 0.7, 0), ahead)
	d.resume("medium walk")
}
