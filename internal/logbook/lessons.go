package logbook

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"unicode/utf8"

	"ringcraft/internal/prepare"
	"ringcraft/internal/sheet"
)

// LessonPlan is a planned lesson as the book speaks of it.
type (
	LessonPlan  = prepare.Lesson
	LessonBlock = prepare.Block
	LessonTask  = prepare.Task

	LessonLeftOut = prepare.LeftOut
	Weather       = prepare.Weather
)

// NewLesson is what is asked for when a lesson is planned.
type NewLesson struct {
	CombinationID string
	RideID        string // the review it starts from, "" for a balanced lesson
	Date          Date
	Minutes       int
	WarmedUp      bool
	SharedArena   bool
	DaysToShow    *int
	Weather       *Weather
}

// PlanLesson plans a lesson from a ride's review and writes it into the book with its homework.
// What cannot be planned (too short, too hot, not sound) is an error that says what to do instead.
func (b *Book) PlanLesson(ctx context.Context, n NewLesson) (Lesson, error) {
	if _, err := ParseDate(string(n.Date)); err != nil {
		return Lesson{}, err
	}
	pair, err := b.PairOf(ctx, n.CombinationID)
	if err != nil {
		return Lesson{}, err
	}
	plan, err := b.planFrom(ctx, pair, n)
	if err != nil {
		return Lesson{}, err
	}
	l := Lesson{ID: b.NewID(), CombinationID: n.CombinationID, RideID: n.RideID, Date: n.Date, Minutes: n.Minutes, WarmedUp: n.WarmedUp, Made: b.Now()}
	if l.Plan, l.Homework, err = planText(plan); err != nil {
		return Lesson{}, err
	}
	return l, b.PutLesson(ctx, l)
}

// TryLesson plans as PlanLesson does and writes nothing.
func (b *Book) TryLesson(ctx context.Context, n NewLesson) (LessonPlan, error) {
	pair, err := b.PairOf(ctx, n.CombinationID)
	if err != nil {
		return LessonPlan{}, err
	}
	return b.planFrom(ctx, pair, n)
}

func planText(plan LessonPlan) (text, homework string, err error) {
	t, err := json.Marshal(plan)
	if err != nil {
		return "", "", Wrap(Internal, err, "the plan of this lesson cannot be kept")
	}
	h, err := json.Marshal(plan.Homework)
	if err != nil {
		return "", "", Wrap(Internal, err, "the homework of this lesson cannot be kept")
	}
	return string(t), string(h), nil
}

// planFrom gathers what planning takes and plans.
func (b *Book) planFrom(ctx context.Context, pair Pair, n NewLesson) (LessonPlan, error) {
	in, err := b.lessonInput(ctx, pair, n)
	if err != nil {
		return LessonPlan{}, err
	}
	plan, err := prepare.PlanLesson(ctx, in)
	return plan, refusal(err)
}

// refusal gives what the planner cannot plan its code; the planner's words say what to do instead.
func refusal(err error) error {
	for _, known := range []error{prepare.ErrTooShort, prepare.ErrUnsound, prepare.ErrTooHot, prepare.ErrInput} {
		if errors.Is(err, known) {
			return Wrap(Refused, nil, "%s", err.Error())
		}
	}
	return err
}

// lessonInput gathers what planning a lesson takes.
func (b *Book) lessonInput(ctx context.Context, pair Pair, n NewLesson) (prepare.LessonInput, error) {
	horse, err := horseOf(pair)
	if err != nil {
		return prepare.LessonInput{}, err
	}
	in := prepare.LessonInput{Horse: horse, Level: pair.Level}
	if n.RideID != "" {
		rev, err := b.ReviewOf(ctx, n.RideID)
		if err != nil {
			return in, err
		}
		if rev.Ride.CombinationID != pair.ID {
			return in, Errorf(Invalid, "this ride is of another combination")
		}
		in = LessonInput(rev.Doc, horse)
		if in.Level == "" {
			in.Level = pair.Level
		}
	}
	in.Minutes, in.WarmedUp, in.SharedArena = float64(n.Minutes), n.WarmedUp, n.SharedArena
	in.DaysToShow, in.Weather = n.DaysToShow, n.Weather
	in.Rider.Name = pair.Rider.Name
	if in.Own, err = b.OwnExercises(ctx); err != nil {
		return in, err
	}
	if in.Learnt, err = b.LearntOf(ctx, pair.ID); err != nil {
		return in, err
	}
	return in, nil
}

// horseOf reads the horse's file; the name in the book leads.
func horseOf(pair Pair) (prepare.Horse, error) {
	var h prepare.Horse
	if pair.Horse.Profile != "" {
		var ps []sheet.Problem
		h, ps = prepare.ReadHorse("horse file", []byte(pair.Horse.Profile))
		if err := inputError("the horse file", ps); err != nil {
			return h, err
		}
	}
	h.Name = pair.Horse.Name
	return h, nil
}

// TaughtLesson is a lesson with all that its page shows.
type TaughtLesson struct {
	Lesson Lesson
	Pair   Pair
	Plan   LessonPlan // as it stands: the last one that was solved
	Steps  []Step
}

// LessonOf reads a lesson with its plan as it stands now.
func (b *Book) LessonOf(ctx context.Context, id string) (TaughtLesson, error) {
	var t TaughtLesson
	var err error
	if t.Lesson, err = b.Lesson(ctx, id); err != nil {
		return t, err
	}
	if t.Pair, err = b.PairOf(ctx, t.Lesson.CombinationID); err != nil {
		return t, err
	}
	if t.Steps, err = b.Steps(ctx, id); err != nil {
		return t, err
	}
	text := t.Lesson.Plan
	for _, s := range t.Steps {
		if s.Kind == StepReplan {
			text = s.Text
		}
	}
	if err := json.Unmarshal([]byte(text), &t.Plan); err != nil {
		return t, Wrap(Damaged, err, "the plan of this lesson cannot be read")
	}
	return t, nil
}

// stepKinds are the kinds a page may send; a new plan is made here and nowhere else.
var stepKinds = []StepKind{StepBegun, StepGood, StepAgain, StepDone, StepSkip, StepTired, StepRemark}

// TakeSteps adds what happened in a lesson, once each. The first one starts it.
func (b *Book) TakeSteps(ctx context.Context, lessonID string, steps []Step) (added int, err error) {
	if len(steps) > MaxNotes {
		return 0, Errorf(TooLarge, "at most %d steps at once", MaxNotes)
	}
	now := b.Now()
	for i, s := range steps {
		if s.ID == "" || len(s.ID) > 80 || s.LessonID != lessonID || s.Block < 0 || s.Block > 200 || !slices.Contains(stepKinds, s.Kind) {
			return 0, Errorf(Invalid, "a step has an id, belongs to this lesson and is one of %v", stepKinds)
		}
		if utf8.RuneCountInString(s.Text) > MaxNoteText || !utf8.ValidString(s.Text) {
			return 0, Errorf(TooLarge, "a remark has at most %d characters of text", MaxNoteText)
		}
		steps[i].Received = now
	}
	err = b.Atomically(ctx, func(st Store) error {
		l, err := st.Lesson(ctx, lessonID)
		if err != nil {
			return err
		}
		if l.Started.IsZero() && len(steps) > 0 {
			l.Started = now
			if err := st.PutLesson(ctx, l); err != nil {
				return err
			}
		}
		added, err = st.AddSteps(ctx, steps)
		return err
	})
	return added, err
}

// Replan solves the rest of a lesson again: elapsed seconds are gone, the blocks that were begun
// stay as they were, and a horse that tires gets easier work. The new plan is kept as a step.
func (b *Book) Replan(ctx context.Context, lessonID, stepID string, elapsedS float64, begun int, tired bool) (LessonPlan, error) {
	t, err := b.LessonOf(ctx, lessonID)
	if err != nil {
		return LessonPlan{}, err
	}
	for _, s := range t.Steps {
		if s.ID == stepID {
			return t.Plan, nil // sent twice
		}
	}
	if begun < 0 || begun > len(t.Plan.Blocks) || !(elapsedS >= 0) || stepID == "" || len(stepID) > 80 {
		return LessonPlan{}, Errorf(Invalid, "the lesson has %d blocks; %d cannot be begun", len(t.Plan.Blocks), begun)
	}
	rest, err := b.planRest(ctx, t, elapsedS, begun, tired)
	if err != nil {
		return LessonPlan{}, err
	}
	text, err := json.Marshal(rest)
	if err != nil {
		return LessonPlan{}, Wrap(Internal, err, "the new plan cannot be kept")
	}
	_, err = b.AddSteps(ctx, []Step{{ID: stepID, LessonID: lessonID, Seq: nextSeq(t.Steps), Kind: StepReplan, Block: begun, AtS: elapsedS, Text: string(text), Received: b.Now()}})
	return rest, err
}

func nextSeq(steps []Step) int64 {
	var last int64
	for _, s := range steps {
		last = max(last, s.Seq)
	}
	return last + 1
}

// planRest plans the minutes that are left. The planner is told the lesson as it was ridden: what
// was begun with its true times, what was not as still to come.
func (b *Book) planRest(ctx context.Context, t TaughtLesson, elapsedS float64, begun int, tired bool) (LessonPlan, error) {
	in, err := b.lessonInput(ctx, t.Pair, NewLesson{CombinationID: t.Lesson.CombinationID, RideID: t.Lesson.RideID, Date: t.Lesson.Date, Minutes: t.Lesson.Minutes})
	if err != nil {
		return LessonPlan{}, err
	}
	rest, err := prepare.Replan(ctx, in, asRidden(t, elapsedS, begun), prepare.Progress{NowS: elapsedS, Tired: tired})
	if err != nil {
		return LessonPlan{}, refusal(err)
	}
	if tired {
		rest.Warnings = append([]string{"The horse tires: stop when it does not recover in walk."}, rest.Warnings...)
	}
	return rest, nil
}

// asRidden is the plan with the blocks that were begun at the times they really began, and the
// others after now.
func asRidden(t TaughtLesson, nowS float64, begun int) LessonPlan {
	at := map[int]float64{}
	for _, s := range t.Steps {
		if s.Kind == StepBegun {
			at[s.Block] = s.AtS
		}
	}
	out := t.Plan
	out.Blocks = slices.Clone(t.Plan.Blocks)
	for i := range out.Blocks {
		k := &out.Blocks[i]
		if i >= begun {
			k.StartS = nowS + float64(i-begun) + 1
			continue
		}
		if began, known := at[i]; known {
			k.StartS = began
		}
		end := nowS
		if next, known := at[i+1]; known && i+1 < begun {
			end = next
		}
		k.StartS = min(k.StartS, max(end-1, 0)) // a block that was begun took a second at least
		k.LengthS = end - k.StartS
	}
	return out
}

// EndLesson writes down that a lesson is over.
func (b *Book) EndLesson(ctx context.Context, id string) error {
	return b.Atomically(ctx, func(s Store) error {
		l, err := s.Lesson(ctx, id)
		if err != nil || !l.Ended.IsZero() {
			return err
		}
		l.Ended = b.Now()
		return s.PutLesson(ctx, l)
	})
}

// HomeworkOf reads the homework of a lesson.
func HomeworkOf(l Lesson) []LessonTask {
	var out []LessonTask
	if json.Unmarshal([]byte(l.Homework), &out) != nil {
		return nil // none was set, or it is of another time
	}
	return out
}
