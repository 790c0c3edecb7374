package sheet

import "testing"

// Wordings met on sheets typed by others; common practice, no source.

func TestArticleInCapitals(t *testing.T) {
	checkWordings(t, []wording{
		{"@KXM change rein|@X simple change", []string{"KXM  CHANGE THE REIN WITH A SIMPLE CHANGE OF LEG AT X", "KXM  Change the rein with a simple change of leg at X"}},
		{"@HXF change rein|@X pace working trot then", []string{"HXF  CHANGE THE REIN WITH A TRANSITION TO WORKING TROT AT X"}},
		{"@A circle right 20m", []string{"A  A CIRCLE RIGHT 20 M", "A    CIRCLE RIGHT 20 M"}},
		{"@A pace working trot", []string{"AT A WORKING TROT", "A WORKING TROT"}},
		{"@between:CM pace working trot", []string{"BETWEEN C AND M, A TRANSITION TO A WORKING TROT"}},
		{"@between:FA pace working trot", []string{"BETWEEN F AND A WORKING TROT"}},
	})
}

func TestWholeArena(t *testing.T) {
	checkWordings(t, []wording{
		{"@KXM change rein medium trot", []string{"KXM  Change the rein through the whole arena in medium trot", "KXM  Change the rein across the whole arena in medium trot",
			"KXM  Through the whole arena change the rein in medium trot", "KXM  Change rein across the entire school in medium trot"}},
		{"@FXH pace extended trot", []string{"FXH  Across the whole arena in extended trot", "FXH  through the whole arena, extended trot"}},
	})
}

func TestQuarterLineByItsFraction(t *testing.T) {
	checkWordings(t, []wording{
		{"@between:AF quarter line left|leg-yield right >R", []string{"Between A & F  Turn left up the 3/4 line, leg-yield right to R",
			"Between A & F turn left onto the three-quarter line, leg-yield right to R", "Between A and F  Turn left down the quarter line, leg-yield right to R"}},
	})
}

func TestEverydayTurnsOfPhrase(t *testing.T) {
	checkWordings(t, []wording{
		{"@B circle right 20m", []string{"B  Circle right 20 m at a steady pace", "B  Another circle right 20 m"}},
		{"@before:C pace working trot", []string{"Nearing C  working trot", "Before returning to C  working trot"}},
		{"@between:KE pace medium walk", []string{"Midway between K and E  medium walk", "Halfway between K and E  medium walk"}},
		{"@B circle left 20m", []string{"B  middle circle left 20 m"}},
		{"@HXF change rein working trot|@X pace medium walk then", []string{"HXF  change the rein in working trot to X, then medium walk"}},
		{"@B circle right 20m n2-0", []string{"B  Circle right 20m twice", "B  Circle right twice 20 m", "B  Circle right 20 m two times"}},
		{"@KXM change rein|flying change n3-3", []string{"KXM  Change the rein with 3 single flying changes", "KXM  Change the rein, three single changes of leg"}},
		{"@C pace working canter lead:left", []string{"C  WCL", "C  working canter left"}},
		{"@E circle left 20m", []string{"E  CL20", "E  circle left 20 m"}},
		{"@B half circle left 10m|@between:BF return", []string{"B  half circle left 10 m, back to the track between B and F", "B  half circle left 10 m, returning to the track between B and F"}},
		{"@C change left", []string{"C  change to the left rein"}},
		{"@E travers", []string{"E  change to travers", "E  change to travers at E"}},
		{"@KM leg-yield", []string{"KM  Leg-yield away from the left leg"}},
	})
}

// A circle that changes its size is read as the circle it begins with, and a note says so.
func TestSpirals(t *testing.T) {
	checkWordings(t, []wording{
		{"@C circle left 20m", []string{"C  circle left 20 m decreasing to 12 m", "C  Circle left 20 m, spiral in to 10 m and out"}},
	})
	f := Parse("t", []byte("arena: 20 x 60\n1 C circle left 20 m decreasing to 12 m\n"))
	if len(f.Problems) != 1 || f.Problems[0].Severity != Note {
		t.Errorf("want one note, got %v", f.Problems)
	}
}

func TestCountsTwice(t *testing.T) {
	for _, l := range []string{"B\tCircle right 20 m\tdouble marks", "B  Circle right 20 m   Double mark", "B\tCircle right 20 m\t(2)", "B | Circle right 20 m | counts double"} {
		f := Parse("t", []byte("arena: 20 x 60\n1 "+l+"\n"))
		if len(f.Movements) != 1 || f.Movements[0].Coefficient != 2 || len(f.Problems) > 0 {
			t.Errorf("%q: %+v %v", l, f.Movements, f.Problems)
		}
	}
}

func TestArenaByName(t *testing.T) {
	for in, want := range map[string]float64{"small": 40, "Short": 40, "small arena": 40, "standard": 60, "Large": 60} {
		if _, l, err := ParseArena(in); err != nil || l != want {
			t.Errorf("%q: %v, %v", in, l, err)
		}
	}
}

func TestMarksForTheWholeRide(t *testing.T) {
	f := Parse("t", []byte("arena: 20 x 60\ncollective: Paces, Impulsion, Submission, Rider x2\n1 A Enter in working trot\n"))
	if n := len(f.Collectives); n != 4 || f.Collectives[3].Name != "Rider" || f.Collectives[3].Coefficient != 2 || f.Collectives[0].Coefficient != 1 {
		t.Errorf("%+v", f.Collectives)
	}
	f = Parse("t", []byte("arena: 20 x 60\ncollective: Submission and attention, confidence x2\n1 A Enter in working trot\n"))
	if len(f.Collectives) != 1 {
		t.Errorf("%+v", f.Collectives)
	}
	f = Parse("t", []byte("arena: 20 x 60\n1 A Enter in working trot\n2 C Track right\nImpulsion (desire to move forward, elasticity of the steps)\nErrors of course\n"))
	if len(f.Collectives) != 1 || len(f.Movements) != 2 || len(f.Movements[1].Parts) != 1 {
		t.Errorf("%+v %v", f.Collectives, f.Problems)
	}
}
