package track

import (
	"strings"
	"testing"
)

func TestPart(t *testing.T) {
	rec := &Track{Notes: []string{"one"}}
	for i := range 4000 {
		rec.Fixes = append(rec.Fixes, Fix{T: Seconds(i)})
		rec.Motion = append(rec.Motion, Motion{T: Seconds(i)})
	}
	for _, c := range []struct {
		from, to    string
		first, last Seconds
		fails       string
	}{
		{"", "", 0, 3999, ""},
		{"12:30", "", 750, 3999, ""},
		{"", "1:02:30", 0, 3750, ""},
		{"12:30", "19:00", 750, 1140, ""},
		{" 60:00 ", "1:05:00", 3600, 3900, ""},
		{"70:00", "77:00", 0, 0, "runs from 0:00 to 1:06:39"},
		{"12:30", "12:35", 0, 0, "holds 6 positions"},
		{"70:00", "", 0, 0, "holds 0 positions"},
		{"19:00", "12:30", 0, 0, "before it begins"},
		{"12", "", 0, 0, "12:30"},
		{"12:3", "", 0, 0, "12:30"},
		{"12:60", "", 0, 0, "12:30"},
		{"-1:30", "", 0, 0, "12:30"},
		{"1:2:3:4", "", 0, 0, "12:30"},
		{"99999999999:00", "", 0, 0, "12:30"},
	} {
		p, err := ParsePart(c.from, c.to)
		var got *Track
		if err == nil {
			got, err = p.Cut(rec)
		}
		if c.fails != "" {
			if err == nil || !strings.Contains(err.Error(), c.fails) {
				t.Errorf("%q to %q: %v, want %q in it", c.from, c.to, err, c.fails)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q to %q: %v", c.from, c.to, err)
			continue
		}
		n, m := len(got.Fixes), len(got.Motion)
		if got.Fixes[0].T != c.first || got.Fixes[n-1].T != c.last || got.Motion[0].T != c.first || got.Motion[m-1].T != c.last {
			t.Errorf("%q to %q: %v to %v", c.from, c.to, got.Fixes[0].T, got.Fixes[n-1].T)
		}
		if said := len(got.Notes) == 2; said != (c.from+c.to != "") || len(rec.Notes) != 1 {
			t.Errorf("%q to %q: notes %q", c.from, c.to, got.Notes)
		}
	}
}

// FuzzPart: what is read is written again as it can be read, and nothing panics.
func FuzzPart(f *testing.F) {
	f.Add("12:30", "1:02:30")
	f.Add("", ":")
	f.Fuzz(func(t *testing.T, from, to string) {
		p, err := ParsePart(from, to)
		if err != nil {
			return
		}
		if p.HasFrom {
			if q, err := ParsePart(Clock(p.From), ""); err != nil || q.From != p.From {
				t.Errorf("%q: %v, %v, %v", from, p.From, q.From, err)
			}
		}
		if p.HasFrom && p.HasTo && p.To <= p.From {
			t.Errorf("%q to %q", from, to)
		}
	})
}
