package main

import (
	"fmt"

	"ringcraft/internal/logbook"
)

type consentCmd struct {
	dataOption
	Rider    string `required:"" help:"The rider (name or id)." placeholder:"NAME"`
	What     string `enum:"ride,voice" default:"ride" help:"ride (position and motion) or voice (sound)." placeholder:"WHAT"`
	GivenBy  string `help:"Note who agreed." placeholder:"NAME" xor:"do"`
	Guardian bool   `help:"They agreed as the guardian of a minor."`
	Withdraw bool   `help:"End the consent and remove what was recorded under it." xor:"do"`
}

// Run notes or ends a consent; with neither it lists what a rider agreed to.
func (o *consentCmd) Run(c *console) error {
	s, err := openExisting(c.ctx, o.dataOption)
	if err != nil {
		return c.told(err)
	}
	defer s.Close()
	rider, err := riderCalled(c, s, o.Rider)
	if err != nil {
		return c.told(err)
	}
	book := s.book(nil)
	switch {
	case o.Withdraw:
		n, err := book.WithdrawConsent(c.ctx, rider.ID, o.What)
		if err != nil {
			return c.told(err)
		}
		fmt.Fprintf(c.Out, "%s: consent (%s) withdrawn; %d files recorded under it were removed.\n", rider.Name, o.What, n)
	case o.GivenBy != "":
		err := book.NoteConsent(c.ctx, logbook.Consent{RiderID: rider.ID, What: o.What, GivenBy: o.GivenBy, Guardian: o.Guardian})
		if err != nil {
			return c.told(err)
		}
	}
	return listConsents(c, s, rider)
}

func listConsents(c *console, s *openStore, rider logbook.Rider) error {
	all, err := s.db.Consents(c.ctx, rider.ID)
	if err != nil {
		return err
	}
	for _, x := range all {
		line := fmt.Sprintf("%s: %s agreed on %s", x.What, x.GivenBy, x.Given.Local().Format("2 January 2006"))
		if x.Guardian {
			line += ", as guardian"
		}
		if !x.Withdrawn.IsZero() {
			line += "; withdrawn on " + x.Withdrawn.Local().Format("2 January 2006")
		}
		fmt.Fprintln(c.Out, line)
	}
	if len(all) == 0 {
		fmt.Fprintf(c.Out, "%s has agreed to nothing yet.\n", rider.Name)
	}
	return nil
}
