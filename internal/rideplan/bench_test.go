package rideplan

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"ringcraft/internal/testkit"
)

func benchSheet(b *testing.B, name string) string {
	b.Helper()
	t, err := os.ReadFile(filepath.Join(testkit.Root(b), "sheets", name))
	if err != nil {
		b.Fatal(err)
	}
	return string(t)
}

// A sheet of 26 movements, from text to plan.
func BenchmarkCompile26(b *testing.B) {
	text := benchSheet(b, "outlines/prix-st-georges.sheet")
	if n := len(CompileText("b", text, Options{}).Movements); n != 26 {
		b.Fatalf("%d movements", n)
	}
	for b.Loop() {
		CompileText("b", text, Options{})
	}
}

// thirtyThree is the elementary demo sheet with thirteen more movements.
func thirtyThree(b *testing.B) string {
	text := benchSheet(b, "willow-ford-elementary.sheet")
	for i := 21; i <= 33; i++ {
		text += fmt.Sprintf("%d C Circle left 20 m\n", i)
	}
	return text
}

func BenchmarkCompile33(b *testing.B) {
	text := thirtyThree(b)
	for b.Loop() {
		CompileText("b", text, Options{})
	}
}

// Ten thousand sheets in a row: the heap after them is reported against the heap after the
// first hundred.
func BenchmarkTenThousandSheets(b *testing.B) {
	text := benchSheet(b, "outlines/prix-st-georges.sheet")
	heap := func() float64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc) / (1 << 20)
	}
	for b.Loop() {
		for range 100 {
			CompileText("b", text, Options{})
		}
		early := heap()
		for range 9900 {
			CompileText("b", text, Options{})
		}
		late := heap()
		b.ReportMetric(early, "MB-after-100")
		b.ReportMetric(late, "MB-after-10000")
	}
}
