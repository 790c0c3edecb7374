package main

import (
	"fmt"

	"ringcraft/internal/backup"
)

type checkCmd struct {
	dataOption
	JSON bool `name:"json" help:"Print JSON."`
}

// Run verifies every recording and every reference of the store and says what is wrong in words.
func (o *checkCmd) Run(c *console) error {
	s, err := openExisting(c.ctx, o.dataOption)
	if err != nil {
		return c.told(err)
	}
	defer s.Close()
	found, err := backup.Check(c.ctx, s.db, s.rec, s.db.Check)
	if err != nil {
		return err
	}
	backup.Tell(c.Err, found)
	if o.JSON {
		if found == nil {
			found = []backup.Finding{}
		}
		if err := printJSON(c.Out, map[string]any{"data": s.dir, "findings": found}); err != nil {
			return err
		}
	} else if len(found) == 0 {
		fmt.Fprintln(c.Out, "all is well: every recording is what was stored, every reference leads somewhere")
	}
	if backup.Count(found) > 0 {
		return errInput
	}
	return nil
}
