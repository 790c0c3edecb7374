package logbook

import (
	"context"
	"time"

	"ringcraft/internal/terms"
)

// Rail is what the page at the arena side needs to work without the server.
type Rail struct {
	RideID      string           `json:"ride_id"`
	Title       string           `json:"title"` // combination
	Sheet       string           `json:"sheet"`
	Date        Date             `json:"date"`
	Riding      bool             `json:"riding"`
	TotalS      float64          `json:"total_s"`
	Movements   []RailMovement   `json:"movements"`
	Collectives []RailCollective `json:"collectives"`
	// Faults are all fault words, for the list behind the prone ones.
	Faults []RailWord `json:"faults"`
	// Voice says that the rider (for a minor: a guardian) agreed to sound being recorded.
	Voice bool   `json:"voice"`
	Rider string `json:"rider"`
	Minor bool   `json:"minor"`
}

// RailMovement is one box of the sheet as the scribe needs it.
type RailMovement struct {
	Number      int        `json:"number"`
	Letters     string     `json:"letters"`
	Text        string     `json:"text"`
	Coefficient int        `json:"coefficient"`
	StartS      float64    `json:"start_s"`
	EndS        float64    `json:"end_s"`
	Prone       []RailWord `json:"prone"` // what this movement is prone to, likeliest first
}

// RailCollective is a mark for the whole ride.
type RailCollective struct {
	Name        string `json:"name"`
	Coefficient int    `json:"coefficient"`
}

// RailWord is one word to tap.
type RailWord struct {
	ID string `json:"id"`
}

// RailOf gathers what the arena-side page needs of a ride.
func (b *Book) RailOf(ctx context.Context, rideID string) (Rail, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return Rail{}, err
	}
	pair, err := b.PairOf(ctx, r.CombinationID)
	if err != nil {
		return Rail{}, err
	}
	sh, err := b.SheetVersion(ctx, r.SheetID, r.SheetVersion)
	if err != nil {
		return Rail{}, err
	}
	voice, err := b.Agreed(ctx, pair.RiderID, ConsentVoice)
	if err != nil {
		return Rail{}, err
	}
	plan := b.PlanOf(sh.Name, sh.Text, pair.Horse.Profile)
	out := Rail{RideID: r.ID, Title: pair.Title(), Sheet: sh.Name, Date: r.Date, Riding: r.Riding(), TotalS: float64(plan.Total),
		Movements: []RailMovement{}, Collectives: []RailCollective{}, Voice: voice, Rider: pair.Rider.Name, Minor: pair.Rider.Minor}
	for _, m := range plan.Movements {
		out.Movements = append(out.Movements, railMovement(m))
	}
	for _, c := range plan.Collectives {
		out.Collectives = append(out.Collectives, RailCollective{c.Name, c.Coefficient})
	}
	for _, f := range terms.FaultIDs() {
		out.Faults = append(out.Faults, RailWord{string(f)})
	}
	return out, nil
}

func railMovement(m Movement) RailMovement {
	out := RailMovement{Number: m.Number, Letters: m.Letters, Text: m.Text, Coefficient: max(m.Coefficient, 1),
		StartS: float64(m.StartS), EndS: float64(m.EndS), Prone: []RailWord{}}
	seen := map[terms.Fault]bool{}
	for _, k := range m.Kinds() {
		for _, f := range terms.Words().Prone[k] {
			if !seen[f] {
				seen[f] = true
				out.Prone = append(out.Prone, RailWord{string(f)})
			}
		}
	}
	return out
}

// ReopenRide lets notes of a ride in (again): a ride that was not watched is opened for it.
func (b *Book) ReopenRide(ctx context.Context, rideID string) error {
	return b.Atomically(ctx, func(s Store) error {
		r, err := s.Ride(ctx, rideID)
		if err != nil || r.Riding() {
			return err
		}
		if r.Opened.IsZero() {
			r.Opened = b.Now()
		}
		r.Closed = time.Time{}
		return s.PutRide(ctx, r)
	})
}
