package track

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// Part is the stretch of a recording that counts, on the recording's own clock: a recorder runs before
// the test and after it, and who was there knows roughly when it began. The zero Part is all of it.
type Part struct {
	From, To       Seconds
	HasFrom, HasTo bool
}

// ParsePart reads both ends as minutes and seconds (12:30) or hours, minutes and seconds (1:02:30);
// "" leaves an end open.
func ParsePart(from, to string) (Part, error) {
	var p Part
	var err error
	if p.From, p.HasFrom, err = clockTime(from); err != nil {
		return Part{}, err
	}
	if p.To, p.HasTo, err = clockTime(to); err != nil {
		return Part{}, err
	}
	if p.HasFrom && p.HasTo && p.To <= p.From {
		return Part{}, &Error{Message: fmt.Sprintf("the part of the recording ends at %s, before it begins at %s", Clock(p.To), Clock(p.From)), Allowed: "an end after the beginning"}
	}
	return p, nil
}

func clockTime(s string) (Seconds, bool, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, false, nil
	}
	bad := &Error{Message: fmt.Sprintf("%q is no time of the recording's clock", s), Allowed: "minutes and seconds (12:30) or hours, minutes and seconds (1:02:30) since the recorder was started"}
	fields := strings.Split(s, ":")
	if len(fields) < 2 || len(fields) > 3 {
		return 0, false, bad
	}
	total := 0
	for i, f := range fields {
		n, err := strconv.ParseUint(f, 10, 16)
		if err != nil || i > 0 && (n > 59 || len(f) != 2) {
			return 0, false, bad
		}
		total = 60*total + int(n)
	}
	return Seconds(total), true, nil
}

// Clock writes a time as ParsePart reads it, cut to the second.
func Clock(t Seconds) string {
	s := int(math.Max(0, float64(t)))
	if s < 3600 {
		return fmt.Sprintf("%d:%02d", s/60, s%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
}

// Cut leaves of a recording what lies in the part, times as they were, and says so in a note. It shares
// fixes and motion with t. A part that holds fewer than MinFixes positions is an error.
func (p Part) Cut(t *Track) (*Track, error) {
	if !p.HasFrom && !p.HasTo || len(t.Fixes) == 0 {
		return t, nil
	}
	first, last := t.Fixes[0].T, t.Fixes[len(t.Fixes)-1].T
	from, to := first, last
	if p.HasFrom {
		from = p.From
	}
	if p.HasTo {
		to = p.To
	}
	out := *t
	a := sort.Search(len(t.Fixes), func(i int) bool { return t.Fixes[i].T >= from })
	z := sort.Search(len(t.Fixes), func(i int) bool { return t.Fixes[i].T > to })
	if z-a < MinFixes {
		return nil, &Error{Message: fmt.Sprintf("from %s to %s the recording holds %d positions", Clock(from), Clock(to), max(0, z-a)),
			Allowed: fmt.Sprintf("a part of it with %d positions or more; it runs from %s to %s", MinFixes, Clock(first), Clock(last))}
	}
	out.Fixes = t.Fixes[a:z:z]
	a = sort.Search(len(t.Motion), func(i int) bool { return t.Motion[i].T >= from })
	z = sort.Search(len(t.Motion), func(i int) bool { return t.Motion[i].T > to })
	out.Motion = t.Motion[a:max(a, z):max(a, z)]
	out.Notes = append(slices.Clone(t.Notes), fmt.Sprintf("only the part from %s to %s was read, as was asked; the recording runs from %s to %s", Clock(from), Clock(to), Clock(first), Clock(last)))
	return &out, nil
}
