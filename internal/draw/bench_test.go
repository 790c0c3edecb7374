package draw

import (
	"io"
	"testing"
)

func BenchmarkWholeTest(b *testing.B) {
	p := willow()
	for _, c := range []struct {
		name string
		out  func(*Scene) error
	}{
		{"svg", func(s *Scene) error { return s.SVG(io.Discard) }},
		{"pdf", func(s *Scene) error { return s.PDF(io.Discard) }},
		{"png", func(s *Scene) error { return s.PNG(io.Discard, 1000) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if err := c.out(Plan(p, Options{Legend: true})); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
