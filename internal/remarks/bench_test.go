package remarks

import (
	"fmt"
	"strings"
	"testing"
)

// hours strings the tuning commentaries together, shifted, to a file of the given length.
func hours(tb testing.TB, h float64) []byte {
	var cues []Cue
	at := 0.0
	all := corpus(tb, "tune-*")
	for i := 0; at < h*3600; i++ {
		c := all[i%len(all)]
		for _, q := range c.cues {
			q.StartS, q.EndS = q.StartS+at, q.EndS+at
			cues = append(cues, q)
		}
		at = cues[len(cues)-1].EndS + 60
	}
	var b strings.Builder
	b.WriteString("WEBVTT\n\n")
	for _, q := range cues {
		fmt.Fprintf(&b, "%s --> %s\n%s\n\n", stamp(q.StartS), stamp(q.EndS), q.Text)
	}
	return []byte(b.String())
}

func stamp(s float64) string {
	ms := int(s*1000 + 0.5)
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}

func benchmarkHours(b *testing.B, h float64) {
	data, plan := hours(b, h), corpusPlan(b, "alder")
	cues, _ := Read("f", data)
	b.ResetTimer()
	for b.Loop() {
		cues, _ := Read("f", data)
		p := Place(plan, cues, Prior{})
		if len(p.Remarks)+len(p.Elsewhere) != len(cues) {
			b.Fatal("remarks lost")
		}
	}
	b.ReportMetric(float64(len(cues)), "remarks")
	b.ReportMetric(h*3600*float64(b.N)/b.Elapsed().Seconds(), "x-real-time")
}

// One hour of commentary, start unknown, to placed remarks.
func BenchmarkOneHour(b *testing.B) { benchmarkHours(b, 1) }

// Ten hours: ten times the work, no more.
func BenchmarkTenHours(b *testing.B) { benchmarkHours(b, 10) }

// A 6-minute commentary with the start roughly known, as a review has it.
func BenchmarkOneRide(b *testing.B) {
	c := corpus(b, "tune-2")[0]
	for b.Loop() {
		Place(c.plan, c.cues, Prior{OffsetKnown: true})
	}
}
