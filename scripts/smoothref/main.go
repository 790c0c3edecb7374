// Command smoothref smooths the track CSV files named on its command line and prints, for each, the
// seconds it took (best of five) and the smoothed places with their standard deviations as JSON. It
// serves scripts/compare-smoothing only.
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"time"

	"ringcraft/internal/track"
)

type result struct {
	Seconds float64
	WhiteSD float64
	AccSD   float64
	X, Y    []float64
	SD      []float64
}

func main() {
	var all []result
	for _, name := range os.Args[2:] {
		r, err := smooth(os.Args[1], name)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		all = append(all, r)
	}
	if err := json.NewEncoder(os.Stdout).Encode(all); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(3)
	}
}

func smooth(class, name string) (r result, err error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return r, err
	}
	t, err := track.Import(bytes.NewReader(data), track.ImportOptions{File: name})
	if err != nil {
		return r, err
	}
	for i := range 5 {
		start := time.Now()
		n := track.NoiseFor(class, t)
		s, err := track.Smooth(t, n, track.SmoothOptions{})
		if err != nil {
			return r, err
		}
		if took := time.Since(start).Seconds(); i == 0 || took < r.Seconds {
			r.Seconds = took
		}
		r.WhiteSD, r.AccSD, r.X, r.Y, r.SD = n.WhiteSD, s.AccSD, nil, nil, nil
		for _, st := range s.States {
			r.X, r.Y, r.SD = append(r.X, st.P.X), append(r.Y, st.P.Y), append(r.SD, st.PosSD)
		}
	}
	return r, nil
}
