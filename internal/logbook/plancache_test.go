package logbook

import (
	"fmt"
	"testing"
)

func textNo(n int) string {
	return fmt.Sprintf("name: Plan cache %d (invented)\narena: 20 x 40\n1 A Enter in working trot\nX Halt, salute\n", n)
}

// What is typed is compiled and forgotten; what is kept is remembered, but never more than a
// bounded number, the one unused for longest going first.
func TestPlansRememberedAreBounded(t *testing.T) {
	b := &Book{}
	for n := range 50 {
		if _, err := b.TrySheet("sheet", textNo(n)); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(b.plans.known); n != 0 {
		t.Errorf("%d drafts are remembered", n)
	}
	first := b.PlanOf("a", textNo(0), "")
	second := b.PlanOf("a", textNo(1), "")
	for n := 2; n < maxPlans+20; n++ {
		b.PlanOf("a", textNo(n), "")
		if b.PlanOf("a", textNo(0), "") != first {
			t.Fatalf("a plan in use was forgotten after %d others", n)
		}
	}
	if n := len(b.plans.known); n != maxPlans || b.plans.order.Len() != n {
		t.Errorf("%d plans are remembered (%d in order), want %d", n, b.plans.order.Len(), maxPlans)
	}
	if b.PlanOf("a", textNo(1), "") == second {
		t.Error("a plan unused for longest is still remembered")
	}
	if tried, err := b.TrySheet("a", textNo(0)); err != nil || tried != first {
		t.Errorf("a sheet that is kept was compiled again: %v", err)
	}
}
