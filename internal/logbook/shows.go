package logbook

import (
	"context"
	"slices"
)

// JudgesSheetOf gives the ride on which the judge's sheet of a start is typed: the show ride of
// that day and sheet, or, when there is none yet, a new one with nothing recorded.
func (b *Book) JudgesSheetOf(ctx context.Context, day Date, appointmentID string) (Ride, error) {
	s := &ShowStart{}
	if err := b.findStart(ctx, s, day, appointmentID); err != nil {
		return Ride{}, err
	}
	if s.Sheet == nil {
		return Ride{}, Errorf(Invalid, "this start has no sheet; write it into the day again with its sheet, then type the marks")
	}
	rides, err := b.Rides(ctx, RideFilter{CombinationID: s.Pair.ID, SheetID: s.Sheet.ID})
	if err != nil {
		return Ride{}, err
	}
	if i := slices.IndexFunc(rides, func(r Ride) bool { return r.Date == day && r.Kind == Show }); i >= 0 {
		return rides[i], nil
	}
	return b.AddRide(ctx, NewRide{CombinationID: s.Pair.ID, SheetID: s.Sheet.ID, Date: day, Kind: Show, Place: s.Yard.Name})
}
