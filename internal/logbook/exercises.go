package logbook

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"ringcraft/internal/prepare"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// Exercise is an exercise as the book speaks of it.
type (
	Exercise = prepare.Exercise
	Serves   = prepare.Serves
)

// OwnExercise is an exercise of the trainer's own as it is stored: Text is its JSON, as given.
type OwnExercise struct {
	ID    string    `json:"id"`
	Text  string    `json:"text"`
	Saved time.Time `json:"saved"`
}

// MaxExercise is the most bytes of one exercise.
const MaxExercise = 32 << 10

// ownPrefix begins the id of every exercise of the trainer's own, so that none is taken by a later
// version of Ringcraft.
const ownPrefix = "own-"

// OwnExercises are the trainer's exercises that can be read. One that this version cannot read is
// left out; its text stays in the book.
func (b *Book) OwnExercises(ctx context.Context) ([]Exercise, error) {
	stored, err := b.Exercises(ctx)
	if err != nil {
		return nil, err
	}
	var out []Exercise
	for _, o := range stored {
		es, _ := prepare.ReadExercises(o.ID, []byte("["+o.Text+"]"))
		out = append(out, es...)
	}
	return out, nil
}

// TryExercise reads an exercise as it is typed: its line on the first rein in the short arena.
// Nothing is stored.
func (b *Book) TryExercise(e Exercise) *Plan {
	return b.PlanOf(e.Title, e.SheetText(e.Choices()[0]), "")
}

// checkExercise reads an exercise with the reader of exercise files.
func checkExercise(e Exercise) (string, []sheet.Problem) {
	if e.ID == "" {
		e.ID = ownPrefix + "new"
	}
	text, err := json.Marshal(ownForm(e))
	if err != nil {
		return "", []sheet.Problem{{Severity: sheet.Error, Message: err.Error()}}
	}
	_, ps := prepare.ReadExercises("exercise", []byte("["+string(text)+"]"))
	return string(text), ps
}

// ownForm is an exercise as it is stored.
func ownForm(e Exercise) Exercise {
	e.Own, e.WholeTest, e.Group, e.Source = true, false, "own", ""
	return e
}

// KeepExercise stores an exercise of the trainer's own: a new one without an id, or one that is
// there already. What cannot be ridden or planned is not stored.
func (b *Book) KeepExercise(ctx context.Context, e Exercise) (Exercise, error) {
	switch {
	case e.ID == "":
		e.ID = ownPrefix + b.NewID()
	case !strings.HasPrefix(e.ID, ownPrefix):
		return e, Errorf(Invalid, "%q comes with Ringcraft and stays as it is; keep yours as a new one", e.Title)
	}
	text, ps := checkExercise(e)
	if err := inputError("the exercise", ps); err != nil {
		return e, err
	}
	if len(text) > MaxExercise {
		return e, Errorf(TooLarge, "the exercise is longer than %d KB", MaxExercise>>10)
	}
	return e, b.PutExercise(ctx, OwnExercise{ID: e.ID, Text: text, Saved: b.Now()})
}

// ExerciseOf finds an exercise: one that comes with Ringcraft, or one of the trainer's own.
func (b *Book) ExerciseOf(ctx context.Context, id string) (Exercise, error) {
	if e, ok := prepare.ExerciseByID(id); ok {
		return e, nil
	}
	own, err := b.OwnExercises(ctx)
	if err != nil {
		return Exercise{}, err
	}
	for _, e := range own {
		if e.ID == id {
			return e, nil
		}
	}
	return Exercise{}, NoSuch("exercise", id)
}

// AllExercises are the trainer's own, then those that come with Ringcraft, by group.
func (b *Book) AllExercises(ctx context.Context) ([]Exercise, error) {
	own, err := b.OwnExercises(ctx)
	return append(own, prepare.Exercises()...), err
}

// ExerciseHead is how many lines of an exercise's sheet come before those that are typed.
const ExerciseHead = 2

// ExerciseWords are the words an exercise may use.
type ExerciseWords struct {
	Levels, Kinds, Faults, Paces []string
}

// WordsOfExercises lists them.
func WordsOfExercises() ExerciseWords {
	w := ExerciseWords{Levels: prepare.Levels, Paces: []string{"walk", "trot", "canter"}}
	for _, k := range terms.Kinds() {
		w.Kinds = append(w.Kinds, string(k))
	}
	for _, f := range terms.FaultIDs() {
		w.Faults = append(w.Faults, string(f))
	}
	return w
}

// ServesOf is what an exercise is for, from words; causes stay as they were.
func ServesOf(kinds, faults []string, was Serves) Serves {
	out := Serves{Causes: was.Causes, Kinds: []terms.Kind{}, Faults: []terms.Fault{}}
	for _, k := range kinds {
		out.Kinds = append(out.Kinds, terms.Kind(k))
	}
	for _, f := range faults {
		out.Faults = append(out.Faults, terms.Fault(f))
	}
	if out.Causes == nil {
		out.Causes = []string{}
	}
	return out
}
