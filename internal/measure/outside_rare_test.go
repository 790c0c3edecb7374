package measure_test

// rareSheets hold many of what the other sheets hold few of.
var rareSheets = []sheetRidden{
	{"Cedar 1", 60, 70001, func(d *drawn) {
		d.enter("collected trot", "X", "collected trot", left)
		d.corner = 3.6
		d.sideways("F", "Half-pass", right)
		d.sideways("K", "Half-pass", left)
		d.sideways("F", "Half-pass", right)
		d.home("A", "I", 35)
	}},
	{"Cedar 2", 40, 70002, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.corner = 3.3
		d.sideways("K", "Leg-yield", left)
		d.sideways("F", "Leg-yield", right)
		d.sideways("K", "Leg-yield", left)
		d.home("A", "G", 20)
	}},
	{"Cedar 3", 40, 70003, func(d *drawn) {
		d.enter("medium walk", "", "", left)
		for i, rein := range []float64{right, left} {
			d.centreLine("A")
			d.backAt(20, "X", "4", 2.2)
			d.to(d.pos().X, 33)
			d.dir = up
			d.offLine("C", rein)
			if i == 0 {
				d.circle("B", 20)
			}
		}
		d.centreLine("A")
		d.backAtX("5", 2.75)
	}},
	{"Cedar 4", 60, 70004, func(d *drawn) {
		d.enter("collected trot", "X", "collected trot", right)
		d.corner = 3.6
		d.change("A", "medium walk", "", 0.5)
		for _, l := range []string{"E", "B", "E", "B"} {
			d.haunches(l, []float64{0.8, 1, 2.2}[d.rng.IntN(3)], d.between(4, 9))
		}
		d.change("A", "collected trot", "", 0.5)
		d.home("C", "D", 20)
	}},
	{"Cedar 5", 60, 70005, func(d *drawn) {
		d.enter("working trot", "X", "working trot", right)
		d.serpentine(3)
		d.bigger("M", "K", "Change the rein in medium trot", "medium trot", "working trot", "Working trot", 0.1)
		d.bigger("F", "H", "Change the rein in medium trot", "medium trot", "working trot", "Working trot", 0.1)
		d.home("A", "I", 35)
	}},
}
