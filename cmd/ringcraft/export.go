package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
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
	opts := s.exportOptions("")
	if o.Rider != "" {
		r, err := riderCalled(c, s, o.Rider)
		if err != nil {
			return c.told(err)
		}
		opts = s.exportOptions(r.ID)
	}
	if _, err := os.Lstat(o.Out); err == nil {
		return c.told(logbook.Errorf(logbook.Conflict, "%s exists already; choose another name or move it away", o.Out))
	}
	var warnings []string
	var tracks backup.TrackCount
	opts.Tracks = &tracks
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
	fmt.Fprintf(c.Out, "%s: all records as JSON and CSV, every file as it was given, notes as WebVTT\n", o.Out)
	fmt.Fprintln(c.Out, trackWords(tracks))
	return nil
}

// trackWords says in which form the tracks were written.
func trackWords(n backup.TrackCount) string {
	switch {
	case n.All == 0:
		return "no tracks"
	case n.GPX == n.All:
		return counted(n.All, "track") + " as given and as GPX"
	case n.GPX == 0:
		return counted(n.All, "track") + " as given (in metres, without latitude and longitude: no GPX)"
	}
	return fmt.Sprintf("%s as given, %d of them also as GPX; the others hold no latitude and longitude", counted(n.All, "track"), n.GPX)
}

// exportOptions is everything, or what is stored about one rider.
func (s *openStore) exportOptions(rider string) backup.ExportOptions {
	o := backup.ExportOptions{RiderID: rider, Now: time.Now(), Geo: geoFixes, Access: s.db.Access(time.Now)}
	if rider == "" {
		o.Settings, _ = os.ReadFile(filepath.Join(s.dir, settingsName)) // most have none
	}
	return o
}

func riderCalled(c *console, s *openStore, name string) (logbook.Rider, error) {
	riders, err := s.db.Riders(c.ctx)
	if err != nil {
		return logbook.Rider{}, err
	}
	return called("rider", name, riders, func(r logbook.Rider) (string, string) { return r.ID, r.Name })
}

// called finds the one of that id or, when there is only one, of that name.
func called[T any](what, name string, all []T, of func(T) (id, name string)) (T, error) {
	var found []T
	var names []string
	for _, x := range all {
		id, n := of(x)
		if id == name {
			return x, nil
		}
		if strings.EqualFold(n, name) {
			found = append(found, x)
			names = append(names, id)
		}
	}
	var none T
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		if len(all) == 0 {
			return none, logbook.Errorf(logbook.NotFound, "there is no %s %q; there is none in this book", what, name)
		}
		names = nil
		for _, x := range all {
			_, n := of(x)
			names = append(names, n)
		}
		return none, logbook.Errorf(logbook.NotFound, "there is no %s %q; there are: %s", what, name, strings.Join(names, ", "))
	}
	return none, logbook.Errorf(logbook.Conflict, "there are %d called %q; give the id of one: %s", len(found), name, strings.Join(names, ", "))
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
