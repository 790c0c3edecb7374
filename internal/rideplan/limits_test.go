package rideplan

import (
	"fmt"
	"strings"
	"testing"

	"ringcraft/internal/sheet"
)

// A sheet of any size leaves the machine its memory: the line ends at a limit, with one error
// where it ended, and every box is still there.
func TestLongestLine(t *testing.T) {
	b := []string{"arena: 20 x 60", "1 A Enter in working trot", "2 C Track left"}
	for i := 3; i <= 200; i++ {
		b = append(b, fmt.Sprintf("%d E %s", i, strings.TrimSuffix(strings.Repeat("Circle left 20 m, ", 8), ", ")))
	}
	p := CompileText("t", strings.Join(b, "\n"), Options{})
	if p.Length < 0.99*longest || p.Length > 1.01*longest {
		t.Errorf("%v ridden of a sheet without end", p.Length)
	}
	said := 0
	for _, q := range p.Problems {
		if q.Severity == sheet.Error {
			said++
			if !strings.Contains(q.Message, "60 km") || q.Line < 100 {
				t.Errorf("%v", q)
			}
		}
	}
	if said != 1 || len(p.Movements) != 200 {
		t.Errorf("%d errors, %d boxes", said, len(p.Movements))
	}
}
