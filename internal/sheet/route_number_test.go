package sheet

import "testing"

// "14. m-x-k" is movement 14 from M, not 14 metres.
func TestNumberBeforeRouteInSmallLetters(t *testing.T) {
	f := Parse("t", []byte("arena: 20 x 60\n13. c: Circle right 10 m\n14. m-x-k: Change rein\n    k-a-f: Counter-canter\n15. c: Circle left 15 m\n"))
	if len(f.Movements) != 3 || f.Movements[1].Number != 14 || len(f.Movements[1].Parts) != 2 || HasErrors(f.Problems) {
		t.Errorf("%d movements, %v", len(f.Movements), f.Problems)
	}
	if a := f.Movements[1].Parts[0].Acts; len(a) != 1 || a[0].At == nil || len(a[0].At.Letters) != 3 {
		t.Errorf("m-x-k: %+v", a)
	}
	f = Parse("t", []byte("arena: 20 x 60\n13\tC\tCircle right\n10 m diameter\n14\tA\tHalt\n"))
	if len(f.Movements) != 2 || f.Movements[0].Parts[0].Acts[0].SizeM != 10 {
		t.Errorf("a size broken off its line: %+v", f.Movements)
	}
}
