package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"ringcraft/internal/backup"
	"ringcraft/internal/logbook"
)

type removeCmd struct {
	dataOption
	Rider string `help:"The rider to remove (name or id)." placeholder:"NAME" xor:"who"`
	Horse string `help:"The horse to remove (name or id)." placeholder:"NAME" xor:"who"`
	Yes   bool   `help:"Do not ask."`
}

// Run removes a rider or a horse with all that belongs to them: combinations, rides with their
// recordings, notes and results, lessons, appointments, consents, links, and a rider's way in.
func (o *removeCmd) Run(c *console) error {
	if (o.Rider == "") == (o.Horse == "") {
		return usageError{"say who: --rider NAME or --horse NAME"}
	}
	s, err := openExisting(c.ctx, o.dataOption)
	if err != nil {
		return c.told(err)
	}
	defer s.Close()
	name, fits, forget, err := o.who(c, s)
	if err != nil {
		return c.told(err)
	}
	rides, files, err := belongings(c, s, fits)
	if err != nil {
		return err
	}
	fmt.Fprintf(c.Err, "%s goes with %s, %s and all notes, lessons, appointments, consents and links that belong to them, for good.\n", name, counted(rides, "ride"), counted(files, "recording"))
	if !o.Yes {
		if err := confirm(c, name); err != nil {
			return err
		}
	}
	if err := forget(); err != nil {
		return c.told(err)
	}
	fmt.Fprintf(c.Out, "%s was removed.\n%s.\n", name, backup.StillInBackups)
	return nil
}

func (o *removeCmd) who(c *console, s *openStore) (name string, fits func(logbook.Combination) bool, forget func() error, err error) {
	book := s.book(nil)
	if o.Rider != "" {
		r, err := riderCalled(c, s, o.Rider)
		return r.Name, func(k logbook.Combination) bool { return k.RiderID == r.ID }, func() error { return book.ForgetRider(c.ctx, r.ID) }, err
	}
	horses, err := s.db.Horses(c.ctx)
	if err != nil {
		return "", nil, nil, err
	}
	h, err := called("horse", o.Horse, horses, func(h logbook.Horse) (string, string) { return h.ID, h.Name })
	return h.Name, func(k logbook.Combination) bool { return k.HorseID == h.ID }, func() error { return book.ForgetHorse(c.ctx, h.ID) }, err
}

// belongings counts what will go.
func belongings(c *console, s *openStore, fits func(logbook.Combination) bool) (rides, files int, err error) {
	combos, err := s.db.Combinations(c.ctx)
	if err != nil {
		return 0, 0, err
	}
	for _, k := range combos {
		if !fits(k) {
			continue
		}
		list, err := s.db.Rides(c.ctx, logbook.RideFilter{CombinationID: k.ID})
		if err != nil {
			return 0, 0, err
		}
		rides += len(list)
		for _, r := range list {
			files += len(r.Files)
		}
	}
	return rides, files, nil
}

// confirm asks that the name is typed; a script says --yes.
func confirm(c *console, name string) error {
	if !term.IsTerminal(int(os.Stdin.Fd())) {
		return usageError{"nothing was removed: give --yes when nobody can be asked"}
	}
	fmt.Fprint(c.Err, "Type the name to be sure: ")
	line, err := bufio.NewReader(io.LimitReader(os.Stdin, 4096)).ReadString('\n')
	if err != nil {
		return err
	}
	if !strings.EqualFold(strings.Join(strings.Fields(line), " "), name) {
		return usageError{"nothing was removed: that is not the name"}
	}
	return nil
}
