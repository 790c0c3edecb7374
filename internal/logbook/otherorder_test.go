package logbook

import (
	"strings"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// A horse that anticipates gets the same movements in an order that compiles and has fewer
// habits; a faulty sheet and one without another order say so.
func TestOtherOrder(t *testing.T) {
	text := `name: Corner Field 4
arena: 20 x 60
rein: left
1 C Working trot left
2 E Circle left 10 m
3 A Circle left 15 m
4 FXH Change the rein
5 B Circle right 15 m
6 A Circle right 20 m
7 KXM Change the rein
8 E Circle left 10 m
9 A Circle left 15 m
10 C Halt
`
	other, reasons, ok := OtherOrder("mine", text)
	if !ok || len(reasons) < 2 || !strings.HasPrefix(other, "name: Corner Field 4, in another order\n") {
		t.Fatalf("%v %q\n%s", ok, reasons, other)
	}
	before, after := rideplan.CompileText("mine", text, rideplan.Options{}), rideplan.CompileText("mine", other, rideplan.Options{})
	if sheet.HasErrors(after.Problems) || len(after.Movements) != len(before.Movements) || len(after.Habits()) >= len(before.Habits()) {
		t.Errorf("%d habits, before %d; %v\n%s", len(after.Habits()), len(before.Habits()), after.Problems, other)
	}
	if _, reasons, ok := OtherOrder("bad", "1 C Track lefft\n2 Q Circle left 10 m\n"); ok || !strings.Contains(reasons[0], "errors") {
		t.Errorf("a faulty sheet: %v %q", ok, reasons)
	}
	if _, reasons, ok := OtherOrder("short", "arena: 20 x 40\n1 A Enter in working trot\nX Halt, salute\n"); ok || len(reasons) != 1 {
		t.Errorf("a sheet without another order: %v %q", ok, reasons)
	}
}
