package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"ringcraft/internal/backup"
	"ringcraft/internal/certs"
)

type backupCmd struct {
	dataOption
	Out  string `arg:"" help:"The backup file to make."`
	JSON bool   `name:"json" help:"Print the manifest as JSON."`
}

// Run makes one consistent file of the store, also while a server runs on it.
func (o *backupCmd) Run(c *console) error {
	s, err := openExisting(c.ctx, o.dataOption)
	if err != nil {
		return c.told(err)
	}
	defer s.Close()
	m, err := backup.Write(c.ctx, o.Out, s.source(certs.StoredName(filepath.Join(s.dir, certsName))), time.Now(), progress(c.Err, "backing up"))
	if err != nil {
		return c.told(err)
	}
	for _, a := range m.Absent {
		fmt.Fprintf(c.Err, "warning: recording %s is not in the backup: %s\n", a.SHA256[:12], a.Why)
	}
	if o.JSON {
		return printJSON(c.Out, m)
	}
	fmt.Fprintf(c.Out, "%s: %d recordings and the database, proven by reading it back.\n", o.Out, len(m.Files)-1)
	fmt.Fprintln(c.Out, "Keep it on another disk. It is not encrypted: whoever has it can read it.")
	return nil
}

// progress tells how far long work is, on a terminal only.
func progress(w io.Writer, what string) backup.Progress {
	f, ok := w.(*os.File)
	if !ok {
		return nil
	}
	if st, err := f.Stat(); err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return nil
	}
	last := -1
	return func(done, all int64) {
		if all == 0 {
			return
		}
		if pct := int(done * 100 / all); pct != last {
			last = pct
			fmt.Fprintf(f, "\r%s %3d %%", what, pct)
			if pct == 100 {
				fmt.Fprintln(f)
			}
		}
	}
}

// linkOrCopy makes a file appear under a second name: a link where the disk can, else a copy.
func linkOrCopy(from, to string) error {
	err := os.Link(from, to)
	if err == nil || errors.Is(err, os.ErrExist) {
		return nil
	}
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	return writeFile(to, func(w io.Writer) error { _, err := io.Copy(w, in); return err })
}
