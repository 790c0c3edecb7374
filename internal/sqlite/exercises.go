package sqlite

import (
	"context"

	"ringcraft/internal/logbook"
	"ringcraft/internal/sqlite/gen"
)

func ownExercise(r gen.Exercise) logbook.OwnExercise {
	return logbook.OwnExercise{ID: r.ID, Text: r.Text, Saved: unstamp(r.Saved)}
}

// Exercises lists the trainer's own by id.
func (s *Store) Exercises(ctx context.Context) ([]logbook.OwnExercise, error) {
	rows, err := s.q.Exercises(ctx)
	return many(rows, err, ownExercise)
}

// PutExercise adds or replaces.
func (s *Store) PutExercise(ctx context.Context, e logbook.OwnExercise) error {
	return trouble(s.q.PutExercise(ctx, gen.PutExerciseParams{ID: e.ID, Text: e.Text, Saved: stamp(e.Saved)}))
}

// RemoveExercise removes one.
func (s *Store) RemoveExercise(ctx context.Context, id string) error {
	return trouble(s.q.RemoveExercise(ctx, id))
}
