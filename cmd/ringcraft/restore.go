package main

import (
	"fmt"
	"time"

	"ringcraft/internal/backup"
)

type restoreCmd struct {
	dataOption
	File string `arg:"" help:"The backup file."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Run proves a backup and puts it in the place of the store; what was there is kept.
func (o *restoreCmd) Run(c *console) error {
	dir, err := o.dir()
	if err != nil {
		return err
	}
	r, err := backup.Restore(c.ctx, o.File, dir, place(), time.Now())
	if err != nil {
		return c.told(err)
	}
	backup.Tell(c.Err, r.Findings)
	if o.JSON {
		return printJSON(c.Out, map[string]any{"data": dir, "kept": r.Kept, "made": r.Manifest.Made, "findings": r.Findings})
	}
	fmt.Fprintf(c.Out, "restored the book as of %s into %s\n", r.Manifest.Made.Format("2006-01-02 15:04 MST"), dir)
	if r.Kept != "" {
		fmt.Fprintf(c.Out, "what was there is kept in %s, its daily backups too; remove it when you are sure\n", r.Kept)
	}
	if r.Manifest.PhoneName != "" {
		fmt.Fprintf(c.Out, "phones knew this book as %s: what they still keep belongs to that name (ringcraft serve --name)\n", r.Manifest.PhoneName)
	}
	return nil
}
