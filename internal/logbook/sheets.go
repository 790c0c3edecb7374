package logbook

import (
	"context"
	"strings"

	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
)

// MaxSheet is the most bytes a sheet may have; the longest published tests have some 5 KB.
const MaxSheet = 256 << 10

// SaveSheet keeps a sheet's text as it is. A new sheet has an empty id; for a known one seen is
// the version that the text was edited from. A text with errors is not kept: the error carries
// every problem with its line. Saving what is there already changes nothing.
func (b *Book) SaveSheet(ctx context.Context, id string, seen int, text string) (Sheet, *rideplan.Plan, error) {
	plan, err := b.TrySheet("sheet", text)
	if err != nil {
		return Sheet{}, plan, err
	}
	name := strings.TrimSpace(plan.Name)
	if name == "" {
		return Sheet{}, plan, Errorf(Invalid, "the sheet has no name; begin it with a line such as \"name: Willow Ford 2\"")
	}
	s := Sheet{ID: id, Name: name, Version: seen + 1, Text: text, Saved: b.Now()}
	if id == "" {
		s.ID, s.Version = b.NewID(), 1
		return s, plan, b.PutSheet(ctx, s)
	}
	was, err := b.Sheet(ctx, id)
	if err != nil {
		return Sheet{}, plan, err
	}
	if was.Version == seen && was.Text == text {
		return was, plan, nil
	}
	s.Invented = was.Invented
	return s, plan, b.PutSheet(ctx, s)
}

// TrySheet compiles a text without keeping or remembering it: it is called for every key that is
// typed. With errors in it the plan (as far as it goes)
// and an error with the problems are returned.
func (b *Book) TrySheet(file, text string) (*rideplan.Plan, error) {
	if len(text) > MaxSheet {
		return &rideplan.Plan{}, Errorf(TooLarge, "the sheet is longer than %d KB; that is no test sheet", MaxSheet>>10)
	}
	plan := b.plans.get(planKey(file, text, ""))
	if plan == nil {
		plan = compileSheet(file, text, "")
	}
	return plan, inputError("the sheet", plan.Problems)
}

// checkProfile reads a horse file; nil is fine.
func checkProfile(file string, data []byte) error {
	if len(data) == 0 {
		return nil
	}
	_, ps := prepare.ReadHorse(file, data)
	return inputError("the horse file", ps)
}
