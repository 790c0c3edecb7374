package sqlite

import (
	"context"
	"slices"

	"ringcraft/internal/logbook"
	"ringcraft/internal/sqlite/gen"
)

func yard(r gen.Yard) logbook.Yard {
	return logbook.Yard{ID: r.ID, Name: r.Name, Place: r.Place, Arena: r.Arena, Remark: r.Remark, Invented: r.Invented != 0}
}

// Yards lists by name.
func (s *Store) Yards(ctx context.Context) ([]logbook.Yard, error) {
	rows, err := s.q.Yards(ctx)
	out, err := many(rows, err, yard)
	slices.SortFunc(out, func(a, b logbook.Yard) int { return logbook.ByName(a.Name, a.ID, b.Name, b.ID) })
	return out, err
}

// PutYard adds or replaces.
func (s *Store) PutYard(ctx context.Context, y logbook.Yard) error {
	return trouble(s.q.PutYard(ctx, gen.PutYardParams{ID: y.ID, Name: y.Name, Place: y.Place, Arena: y.Arena, Remark: y.Remark, Invented: bit(y.Invented)}))
}

// RemoveYard removes the yard; what stood there stays.
func (s *Store) RemoveYard(ctx context.Context, id string) error {
	return trouble(s.q.RemoveYard(ctx, id))
}

func rider(r gen.Rider) logbook.Rider {
	return logbook.Rider{ID: r.ID, Name: r.Name, Minor: r.Minor != 0, Remark: r.Remark, Invented: r.Invented != 0}
}

// Riders lists by name.
func (s *Store) Riders(ctx context.Context) ([]logbook.Rider, error) {
	rows, err := s.q.Riders(ctx)
	out, err := many(rows, err, rider)
	slices.SortFunc(out, func(a, b logbook.Rider) int { return logbook.ByName(a.Name, a.ID, b.Name, b.ID) })
	return out, err
}

// Rider finds one.
func (s *Store) Rider(ctx context.Context, id string) (logbook.Rider, error) {
	r, err := s.q.Rider(ctx, id)
	return one(r, err, "rider", id, rider)
}

// PutRider adds or replaces.
func (s *Store) PutRider(ctx context.Context, r logbook.Rider) error {
	return trouble(s.q.PutRider(ctx, gen.PutRiderParams{ID: r.ID, Name: r.Name, Minor: bit(r.Minor), Remark: r.Remark, Invented: bit(r.Invented)}))
}

// RemoveRider removes the rider and all that belongs to the rider.
func (s *Store) RemoveRider(ctx context.Context, id string) error {
	return s.removing(ctx, func(q *gen.Queries) error { return q.RemoveRider(ctx, id) })
}

func horse(r gen.Horse) logbook.Horse {
	return logbook.Horse{ID: r.ID, Name: r.Name, Profile: r.Profile, Remark: r.Remark, Invented: r.Invented != 0}
}

// Horses lists by name.
func (s *Store) Horses(ctx context.Context) ([]logbook.Horse, error) {
	rows, err := s.q.Horses(ctx)
	out, err := many(rows, err, horse)
	slices.SortFunc(out, func(a, b logbook.Horse) int { return logbook.ByName(a.Name, a.ID, b.Name, b.ID) })
	return out, err
}

// Horse finds one.
func (s *Store) Horse(ctx context.Context, id string) (logbook.Horse, error) {
	r, err := s.q.Horse(ctx, id)
	return one(r, err, "horse", id, horse)
}

// PutHorse adds or replaces.
func (s *Store) PutHorse(ctx context.Context, h logbook.Horse) error {
	return trouble(s.q.PutHorse(ctx, gen.PutHorseParams{ID: h.ID, Name: h.Name, Profile: h.Profile, Remark: h.Remark, Invented: bit(h.Invented)}))
}

// RemoveHorse removes the horse and all that belongs to the horse.
func (s *Store) RemoveHorse(ctx context.Context, id string) error {
	return s.removing(ctx, func(q *gen.Queries) error { return q.RemoveHorse(ctx, id) })
}

func combination(r gen.Combination) logbook.Combination {
	return logbook.Combination{ID: r.ID, RiderID: r.RiderID, HorseID: r.HorseID, YardID: r.YardID.String, Level: r.Level, Remark: r.Remark}
}

// Combinations lists by id.
func (s *Store) Combinations(ctx context.Context) ([]logbook.Combination, error) {
	rows, err := s.q.Combinations(ctx)
	return many(rows, err, combination)
}

// Combination finds one.
func (s *Store) Combination(ctx context.Context, id string) (logbook.Combination, error) {
	r, err := s.q.Combination(ctx, id)
	return one(r, err, "combination", id, combination)
}

// PutCombination adds or replaces.
func (s *Store) PutCombination(ctx context.Context, c logbook.Combination) error {
	return trouble(s.q.PutCombination(ctx, gen.PutCombinationParams{ID: c.ID, RiderID: c.RiderID, HorseID: c.HorseID, YardID: optional(c.YardID), Level: c.Level, Remark: c.Remark}))
}

func consent(r gen.Consent) logbook.Consent {
	return logbook.Consent{ID: r.ID, RiderID: r.RiderID, What: r.What, GivenBy: r.GivenBy, Guardian: r.Guardian != 0, Given: unstamp(r.Given), Withdrawn: unstamp(r.Withdrawn)}
}

// Consents lists by time given.
func (s *Store) Consents(ctx context.Context, riderID string) ([]logbook.Consent, error) {
	rows, err := s.q.Consents(ctx, riderID)
	return many(rows, err, consent)
}

// PutConsent adds or replaces.
func (s *Store) PutConsent(ctx context.Context, c logbook.Consent) error {
	return trouble(s.q.PutConsent(ctx, gen.PutConsentParams{ID: c.ID, RiderID: c.RiderID, What: c.What, GivenBy: c.GivenBy, Guardian: bit(c.Guardian), Given: stamp(c.Given), Withdrawn: stamp(c.Withdrawn)}))
}
