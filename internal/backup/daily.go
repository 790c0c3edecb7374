package backup

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// DefaultDays is how long daily backups are kept unless told otherwise; atLeast of them stay
// whatever their age, so that a clock set wrong, or a winter without rides, leaves something.
const (
	DefaultDays = 14
	atLeast     = 3
	dailyPrefix = "daily-"
	dailySuffix = ".tar"
)

// SameDisk is what is said whenever daily backups are on.
const SameDisk = "daily backups lie on the same disk as the store: they help against mistakes, not against a lost or broken machine. Copy one to another disk from time to time (ringcraft backup OUT)"

// StillInBackups is what is said whenever somebody is removed.
const StillInBackups = "Backups made before keep them: daily backups until they are removed in their turn, files made with ringcraft backup and folders kept by a restore until you remove them"

// Daily makes one backup a day into dir and removes old ones. Recordings are kept once, in
// dir/recordings, shared by all daily backups (linked to the stored file where the disk allows it:
// they then take no room).
type Daily struct {
	Dir    string
	Days   int
	Source Source
	Now    func() time.Time
	Log    *slog.Logger
}

// Run makes today's backup when there is none, now and then every hour, until ctx ends.
func (d Daily) Run(ctx context.Context) {
	tick := time.NewTicker(time.Hour)
	defer tick.Stop()
	for {
		if err := d.Once(ctx); err != nil && ctx.Err() == nil {
			d.Log.Error("daily backup failed; the next try is in an hour", "err", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// Once makes today's backup when there is none and removes those that are too old.
func (d Daily) Once(ctx context.Context) error {
	shared := filepath.Join(d.Dir, besideDir)
	if err := os.MkdirAll(shared, 0o700); err != nil {
		return err
	}
	if err := d.tidy(); err != nil {
		return err
	}
	out := filepath.Join(d.Dir, dailyPrefix+d.Now().Format(time.DateOnly)+dailySuffix)
	if _, err := os.Stat(out); err == nil {
		return nil
	}
	m, err := write(ctx, out, shared, d.Source, d.Now(), nil)
	if err != nil {
		return err
	}
	d.Log.Info("daily backup made", "file", filepath.Base(out), "recordings", len(m.Files)-1, "absent", len(m.Absent))
	return d.prune(ctx)
}

// tidy removes what a daily backup left that was cut off by a kill or a power cut. Only one server
// works on a store, so none of it is in use.
func (d Daily) tidy() error {
	var all []string
	for _, pattern := range []string{workPrefix + "*", filepath.Join(besideDir, ".*")} {
		found, err := filepath.Glob(filepath.Join(d.Dir, pattern))
		if err != nil {
			return err
		}
		all = append(all, found...)
	}
	for _, left := range all {
		d.Log.Info("removed what a backup left that was cut off", "name", filepath.Base(left))
		if err := os.RemoveAll(left); err != nil {
			return err
		}
	}
	return nil
}

// Kept is the decision about one daily backup, with its reason.
type Kept struct {
	File   string
	Keep   bool
	Reason string
}

// Keep decides which of the daily backups stay: those of the last days days and the newest three.
// Names that are not daily backups stay.
func Keep(files []string, days int, today time.Time) []Kept {
	sorted := slices.Clone(files)
	slices.SortFunc(sorted, func(a, b string) int { return strings.Compare(b, a) }) // newest first
	out := make([]Kept, 0, len(sorted))
	seen := 0
	for _, f := range sorted {
		day, ok := dayOf(f)
		k := Kept{File: f, Keep: true}
		age := int(today.Sub(day).Hours() / 24)
		switch {
		case !ok:
			k.Reason = "not a daily backup"
		case age < days:
			k.Reason = fmt.Sprintf("%d days old, kept for %d", max(age, 0), days)
		case seen < atLeast:
			k.Reason = fmt.Sprintf("among the newest %d", atLeast)
		default:
			k.Keep, k.Reason = false, fmt.Sprintf("%d days old, kept for %d", age, days)
		}
		if ok {
			seen++
		}
		out = append(out, k)
	}
	return out
}

func dayOf(file string) (time.Time, bool) {
	s, ok := strings.CutPrefix(file, dailyPrefix)
	s, ok2 := strings.CutSuffix(s, dailySuffix)
	day, err := time.Parse(time.DateOnly, s)
	return day, ok && ok2 && err == nil
}

func (d Daily) prune(ctx context.Context) error {
	entries, err := os.ReadDir(d.Dir)
	if err != nil {
		return err
	}
	var files []string
	for _, e := range entries {
		if _, ok := dayOf(e.Name()); ok {
			files = append(files, e.Name())
		}
	}
	used := map[string]bool{}
	for _, k := range Keep(files, d.Days, d.Now()) {
		path := filepath.Join(d.Dir, k.File)
		if !k.Keep {
			d.Log.Info("daily backup removed", "file", k.File, "why", k.Reason)
			if err := os.Remove(path); err != nil {
				return err
			}
			continue
		}
		m, err := ReadManifest(path)
		if err != nil {
			return fmt.Errorf("%s: %w; no shared recording is removed", k.File, err)
		}
		for _, it := range m.Files {
			used[it.SHA256] = true
		}
	}
	return d.sweep(ctx, used)
}

// sweep removes shared recordings that no daily backup names any more.
func (d Daily) sweep(ctx context.Context, used map[string]bool) error {
	shared := filepath.Join(d.Dir, besideDir)
	entries, err := os.ReadDir(shared)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if hexName.MatchString(e.Name()) && !used[e.Name()] {
			err = errors.Join(err, os.Remove(filepath.Join(shared, e.Name())))
		}
	}
	return err
}
