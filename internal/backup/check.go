package backup

import (
	"context"
	"fmt"
	"io"
	"slices"

	"ringcraft/internal/logbook"
)

// Severities of findings, as for diagnostics everywhere.
const (
	SeverityError   = "error"
	SeverityWarning = "warning"
	SeverityNote    = "note"
)

// Finding is one thing wrong with a store, in words.
type Finding struct {
	Severity string `json:"severity"`
	Message  string `json:"message"`
	What     string `json:"what"`             // recording, reference, database, unused
	SHA256   string `json:"sha256,omitempty"` // of the recording it is about
}

// Integrity is the database's own check: what it found, in words; nothing when all is well.
type Integrity func(ctx context.Context) ([]string, error)

// Check verifies every stored recording against its checksum and every reference between records,
// and runs the database's own check. It changes nothing. An empty list means all is well; the error
// is for what kept it from looking.
func Check(ctx context.Context, s logbook.Store, rec logbook.Recordings, integrity Integrity) ([]Finding, error) {
	c := &checker{ctx: ctx, s: s, good: map[string]int64{}, bad: map[string]string{}, used: map[string]bool{}}
	if integrity != nil {
		broken, err := integrity(ctx)
		if err != nil {
			return nil, err
		}
		for _, b := range broken {
			c.add(SeverityError, "database", "", "the database's own check fails: %s. Restore the latest backup", b)
		}
		if len(broken) > 0 {
			return c.found, nil // records of a broken database prove nothing
		}
	}
	if err := c.recordings(rec); err != nil {
		return nil, err
	}
	for _, part := range []func() error{c.people, c.rides, c.lessons, c.diary} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	c.unused()
	return c.found, nil
}

type checker struct {
	ctx    context.Context
	s      logbook.Store
	found  []Finding
	good   map[string]int64  // recordings that are what was stored, with size
	bad    map[string]string // the others, with the reason
	order  []string
	used   map[string]bool
	riders map[string]string
	horses map[string]string
	yards  map[string]bool
	combos map[string]string // id to "rider on horse"
	ridden map[string]bool
}

func (c *checker) add(severity, what, sum, format string, args ...any) {
	c.found = append(c.found, Finding{Severity: severity, What: what, SHA256: sum, Message: fmt.Sprintf(format, args...)})
}

func (c *checker) recordings(rec logbook.Recordings) error {
	return rec.Each(c.ctx, func(b logbook.Blob) error {
		if err := c.ctx.Err(); err != nil {
			return err
		}
		c.order = append(c.order, b.SHA256)
		if why := unreadable(c.ctx, rec, b.SHA256); why != "" {
			c.bad[b.SHA256] = why
		} else {
			c.good[b.SHA256] = b.Size
		}
		return nil
	})
}

func (c *checker) people() error {
	riders, err := c.s.Riders(c.ctx)
	if err != nil {
		return err
	}
	horses, err := c.s.Horses(c.ctx)
	if err != nil {
		return err
	}
	yards, err := c.s.Yards(c.ctx)
	if err != nil {
		return err
	}
	combos, err := c.s.Combinations(c.ctx)
	if err != nil {
		return err
	}
	c.riders, c.horses, c.yards, c.combos = map[string]string{}, map[string]string{}, map[string]bool{}, map[string]string{}
	for _, r := range riders {
		c.riders[r.ID] = r.Name
	}
	for _, h := range horses {
		c.horses[h.ID] = h.Name
	}
	for _, y := range yards {
		c.yards[y.ID] = true
	}
	for _, k := range combos {
		c.combos[k.ID] = c.riders[k.RiderID] + " on " + c.horses[k.HorseID]
		c.refer(c.riders[k.RiderID] != "", "combination %s names rider %s, who is not there", k.ID, k.RiderID)
		c.refer(c.horses[k.HorseID] != "", "combination %s names horse %s, which is not there", k.ID, k.HorseID)
		c.refer(k.YardID == "" || c.yards[k.YardID], "combination %s names yard %s, which is not there", k.ID, k.YardID)
	}
	for _, r := range riders {
		consents, err := c.s.Consents(c.ctx, r.ID)
		if err != nil {
			return err
		}
		for _, k := range consents {
			c.refer(!r.Minor || k.Guardian || !k.Withdrawn.IsZero(), "consent %s of %s, a minor, was not given by a guardian", k.ID, r.Name)
		}
	}
	return nil
}

func (c *checker) refer(ok bool, format string, args ...any) {
	if !ok {
		c.add(SeverityError, "reference", "", format, args...)
	}
}

func (c *checker) rides() error {
	rides, err := c.s.Rides(c.ctx, logbook.RideFilter{})
	if err != nil {
		return err
	}
	c.ridden = map[string]bool{}
	for _, r := range rides {
		c.ridden[r.ID] = true
		name := fmt.Sprintf("the ride of %s (%s)", r.Date, c.combos[r.CombinationID])
		c.refer(c.combos[r.CombinationID] != "", "%s names combination %s, which is not there", name, r.CombinationID)
		if _, err := c.s.SheetVersion(c.ctx, r.SheetID, r.SheetVersion); logbook.CodeOf(err) == logbook.NotFound {
			c.refer(false, "%s was ridden from version %d of sheet %s, which is not there", name, r.SheetVersion, r.SheetID)
		} else if err != nil {
			return err
		}
		for _, f := range r.Files {
			c.file(f, name)
		}
		if err := c.notes(r.ID, name); err != nil {
			return err
		}
	}
	return nil
}

func (c *checker) file(f logbook.File, ride string) {
	c.used[f.Blob] = true
	size, ok := c.good[f.Blob]
	switch why, bad := c.bad[f.Blob]; {
	case bad:
		c.add(SeverityError, "recording", f.Blob, "the %s %q of %s is damaged: %s. Take it from a backup", f.Role, f.Name, ride, why)
	case !ok:
		c.add(SeverityError, "recording", f.Blob, "the %s %q of %s is missing. Take it from a backup", f.Role, f.Name, ride)
	case size != f.Size:
		c.add(SeverityError, "recording", f.Blob, "the %s %q of %s has %d bytes, its record says %d", f.Role, f.Name, ride, size, f.Size)
	}
}

// notes checks that every device's sequence has no note twice; a gap is a note still on a phone.
func (c *checker) notes(rideID, ride string) error {
	notes, err := c.s.Notes(c.ctx, rideID)
	if err != nil {
		return err
	}
	ids := map[string]bool{}
	last := map[string]int64{}
	for _, n := range notes {
		c.refer(!ids[n.ID], "%s holds note %s twice", ride, n.ID)
		ids[n.ID] = true
		if before := last[n.Device]; n.Seq > before+1 {
			c.add(SeverityNote, "reference", "", "%s: notes %d to %d of device %s have not come in; they may still be on that phone", ride, before+1, n.Seq-1, n.Device)
		}
		last[n.Device] = max(last[n.Device], n.Seq)
	}
	return nil
}

func (c *checker) lessons() error {
	lessons, err := c.s.Lessons(c.ctx, logbook.LessonFilter{})
	if err != nil {
		return err
	}
	for _, l := range lessons {
		name := fmt.Sprintf("the lesson of %s (%s)", l.Date, c.combos[l.CombinationID])
		c.refer(c.combos[l.CombinationID] != "", "%s names combination %s, which is not there", name, l.CombinationID)
		c.refer(l.RideID == "" || c.ridden[l.RideID], "%s was planned from ride %s, which is not there", name, l.RideID)
	}
	return nil
}

func (c *checker) diary() error {
	all, err := c.s.Appointments(c.ctx, "0000-00-00", "9999-99-99")
	if err != nil {
		return err
	}
	for _, a := range all {
		c.refer(a.CombinationID == "" || c.combos[a.CombinationID] != "", "the appointment of %s %s names combination %s, which is not there", a.Date, a.Start, a.CombinationID)
	}
	return nil
}

// unused tells of recordings that no record names: left by an upload that was cut, or damaged ones
// nobody needs.
func (c *checker) unused() {
	slices.Sort(c.order)
	for _, sum := range c.order {
		if !c.used[sum] {
			c.add(SeverityNote, "unused", sum, "recording %s belongs to no ride; an upload may have been cut off", sum[:12])
		}
	}
}

// Count says how many findings are errors.
func Count(found []Finding) (errors int) {
	for _, f := range found {
		if f.Severity == SeverityError {
			errors++
		}
	}
	return errors
}

// Tell writes findings for people, one a line.
func Tell(w io.Writer, found []Finding) {
	for _, f := range found {
		fmt.Fprintf(w, "%s: %s\n", f.Severity, f.Message)
	}
}
