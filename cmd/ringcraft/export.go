package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"ringcraft/internal/backup"
	"ringcraft/internal/logbook"
	"ringcraft/internal/track"
)

type exportCmd struct {
	dataOption
	Out   string `short:"o" required:"" help:"The zip file to make." placeholder:"OUT.zip"`
	Rider string `help:"Only what is stored about this rider (name or id)." placeholder:"NAME"`
}

// Run writes all that was put in, in open formats: JSON, CSV, GPX, WebVTT, and every file as given.
func (o *exportCmd) Run(c *console) error {
	s, err := openExisting(c.ctx, o.dataOption)
	if err != nil {
		return c.told(err)
	}
	defer s.Close()
	opts := backup.ExportOptions{Now: time.Now(), Geo: geoFixes}
	if o.Rider != "" {
		if opts.RiderID, err = riderCalled(c, s, o.Rider); err != nil {
			return c.told(err)
		}
	}
	var warnings []string
	err = writeFile(o.Out, func(w io.Writer) error {
		warnings, err = backup.Export(c.ctx, w, s.db, s.rec, opts)
		return err
	})
	for _, w := range warnings {
		fmt.Fprintln(c.Err, "warning:", w)
	}
	if err != nil {
		return c.told(err)
	}
	fmt.Fprintf(c.Out, "%s: all records as JSON and CSV, every file as it was given, tracks as GPX, notes as WebVTT\n", o.Out)
	return nil
}

func riderCalled(c *console, s *openStore, name string) (string, error) {
	riders, err := s.db.Riders(c.ctx)
	if err != nil {
		return "", err
	}
	var names []string
	for _, r := range riders {
		if r.ID == name || strings.EqualFold(r.Name, name) {
			return r.ID, nil
		}
		names = append(names, r.Name)
	}
	return "", logbook.Errorf(logbook.NotFound, "there is no rider %q; there are: %s", name, strings.Join(names, ", "))
}

// geoFixes reads the places of a recording that knows where on earth it was.
func geoFixes(r io.Reader) ([]backup.GeoFix, error) {
	t, err := track.Import(r, track.ImportOptions{})
	if err != nil {
		return nil, err
	}
	plane, ok := t.Plane()
	if !ok {
		return nil, nil
	}
	start, err := time.Parse(time.RFC3339Nano, t.Start)
	timed := err == nil
	out := make([]backup.GeoFix, len(t.Fixes))
	for i, f := range t.Fixes {
		q := plane.FromLocal(f.P)
		out[i] = backup.GeoFix{LatDeg: q.LatDeg, LonDeg: q.LonDeg}
		if timed {
			out[i].At = start.Add(time.Duration(float64(f.T) * float64(time.Second)))
		}
	}
	return out, nil
}
