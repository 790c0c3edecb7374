package logbook

import (
	"context"
	"math"
	"strings"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/judging"
	"ringcraft/internal/terms"
)

// TrainerJudge is the name under which the trainer's own marks are given, tapped or typed.
const TrainerJudge = "trainer"

// Eye is the trainer's eye over the rides that a judge marked too.
type Eye struct {
	judging.Eye
	Rides []EyeRide // newest first
	// Near are shows with a training ride of the same test marked by the trainer shortly before or
	// after: no pairs, since the two rides differ too; shown beside each other and counted nowhere.
	Near []EyeNear
}

// EyeNear is a show ride beside the trainer's marks of another ride of the same test, near in time.
type EyeNear struct {
	Training, Show   Ride
	Pair             Pair
	Sheet            string
	Movements        int     // marked in both
	Trainer, Judging float64 // mean mark of those movements
	// SD is the doubt of their difference from marking alone, in marks; what the two rides themselves
	// differ by comes on top and is not known.
	SD    float64
	Kinds []EyeNearKind // in riding order
}

// EyeNearKind is one kind of movement in both rides.
type EyeNearKind struct {
	Kind             terms.Kind
	Movements        int
	Trainer, Judging float64
}

// nearDays is how far apart two rides of one test may be to stand beside each other: common practice,
// a horse is hardly another within three weeks.
const nearDays = 21

// EyeRide is a ride that both the trainer and judges marked.
type EyeRide struct {
	Ride             Ride
	Pair             Pair
	Sheet            string
	Movements        int
	Trainer, Judging float64 // mean mark of those movements
}

// EyeOf compares the trainer's marks with the judges' over all rides that have both: marks tapped at
// the rail or typed under the name "trainer", and judges' marks tapped by a scribe, typed or imported.
// Marks given unseen are not among them.
func (b *Book) EyeOf(ctx context.Context) (Eye, error) {
	var out Eye
	rides, err := b.Rides(ctx, RideFilter{})
	if err != nil {
		return out, err
	}
	var pairs []judging.PairedMark
	for _, r := range rides {
		of, line, err := b.pairedMarks(ctx, r)
		if err != nil {
			return out, err
		}
		if len(of) > 0 {
			pairs, out.Rides = append(pairs, of...), append(out.Rides, line)
		}
	}
	out.Eye = judging.JudgeEye(pairs)
	out.Near, err = b.nearEyes(ctx, rides)
	return out, err
}

// nearEyes finds for each show ride that judges marked and the trainer did not the training ride of
// the same combination and test, nearest in time, that the trainer marked and no judge.
func (b *Book) nearEyes(ctx context.Context, rides []Ride) ([]EyeNear, error) {
	var out []EyeNear
	for _, show := range rides {
		if show.Kind != Show {
			continue
		}
		best := -1
		for i, r := range rides {
			if r.Kind == Training && r.CombinationID == show.CombinationID && r.SheetID == show.SheetID && apart(r, show) <= nearDays && (best < 0 || apart(r, show) < apart(rides[best], show)) {
				best = i
			}
		}
		if best < 0 {
			continue
		}
		n, err := b.nearEye(ctx, rides[best], show)
		if err != nil {
			return nil, err
		}
		if n.Movements > 0 {
			out = append(out, n)
		}
	}
	return out, nil
}

func apart(a, b Ride) int { return max(a.Date.DaysTo(b.Date), b.Date.DaysTo(a.Date)) }

func (b *Book) nearEye(ctx context.Context, training, show Ride) (EyeNear, error) {
	out := EyeNear{Training: training, Show: show}
	mine, _, err := b.marksOn(ctx, training)
	if err != nil || mine == nil {
		return out, err
	}
	theirs, m, err := b.marksOn(ctx, show)
	if err != nil || theirs == nil {
		return out, err
	}
	out.Pair, out.Sheet = m.Pair, m.Sheet.Name
	at := map[terms.Kind]int{}
	for _, mv := range m.Plan.Movements {
		trainer, judgesToo := bothMarked(mine, mv.Number)
		trainerToo, judges := bothMarked(theirs, mv.Number)
		kind := mainKind(mv)
		if len(trainer) == 0 || len(judgesToo) > 0 || len(trainerToo) > 0 || len(judges) == 0 || kind == "" {
			continue
		}
		i, seen := at[kind]
		if !seen {
			i = len(out.Kinds)
			at[kind] = i
			out.Kinds = append(out.Kinds, EyeNearKind{Kind: kind})
		}
		k := &out.Kinds[i]
		k.Movements++
		k.Trainer, k.Judging = k.Trainer+trainer[0], k.Judging+meanOf(judges)
	}
	for i := range out.Kinds {
		k := &out.Kinds[i]
		out.Movements, out.Trainer, out.Judging = out.Movements+k.Movements, out.Trainer+k.Trainer, out.Judging+k.Judging
		k.Trainer, k.Judging = k.Trainer/float64(k.Movements), k.Judging/float64(k.Movements)
	}
	if n := float64(out.Movements); n > 0 {
		out.Trainer, out.Judging = out.Trainer/n, out.Judging/n
		out.SD = diagnose.MeanMarkSD(out.Movements) * math.Sqrt2
	}
	return out, nil
}

// marksOn are all marks of a ride, typed and tapped, with what they were given on; nil when there are
// none.
func (b *Book) marksOn(ctx context.Context, r Ride) ([]judging.Mark, *Marking, error) {
	notes, err := b.Notes(ctx, r.ID)
	if err != nil {
		return nil, nil, err
	}
	tapped := marksOf(notes)
	if _, filed := lastMarks(r); !filed && tapped == nil {
		return nil, nil, nil
	}
	m, err := b.markingBase(ctx, r.ID)
	if err != nil {
		return nil, m, err
	}
	marks := m.card.Marks
	if tapped != nil {
		card, _ := judging.ReadMarks("marks as tapped", tapped, m.Plan, m.Rules)
		marks = append(marks, card.Marks...)
	}
	return marks, m, nil
}

// mainKind is what a movement is first of all: its first figure that is more than the way there.
func mainKind(m Movement) terms.Kind {
	kinds := m.Kinds()
	for _, k := range kinds {
		switch k {
		case terms.Track, terms.Corner, terms.TurnAcross, terms.Straight, terms.Transition:
		default:
			return k
		}
	}
	if len(kinds) == 0 {
		return ""
	}
	return kinds[0]
}

// pairedMarks are the movements of one ride that both marked, each under its main kind.
func (b *Book) pairedMarks(ctx context.Context, r Ride) ([]judging.PairedMark, EyeRide, error) {
	line := EyeRide{Ride: r}
	marks, m, err := b.marksOn(ctx, r)
	if err != nil || marks == nil {
		return nil, line, err
	}
	line.Pair, line.Sheet = m.Pair, m.Sheet.Name
	var out []judging.PairedMark
	for _, mv := range m.Plan.Movements {
		kind := mainKind(mv)
		trainer, judges := bothMarked(marks, mv.Number)
		if len(trainer) == 0 || len(judges) == 0 || kind == "" {
			continue
		}
		p := judging.PairedMark{Ride: r.ID, Kind: kind, Trainer: trainer[0], Judge: meanOf(judges)}
		out = append(out, p)
		line.Trainer, line.Judging = line.Trainer+p.Trainer, line.Judging+p.Judge
	}
	if n := float64(len(out)); n > 0 {
		line.Movements, line.Trainer, line.Judging = len(out), line.Trainer/n, line.Judging/n
	}
	return out, line, nil
}

// bothMarked splits the marks of a movement. The same judge's mark typed and tapped counts once: what
// was typed comes first.
func bothMarked(marks []judging.Mark, movement int) (trainer, judges []float64) {
	seen := map[string]bool{}
	for _, k := range marks {
		name := strings.ToLower(k.Judge)
		if k.Movement != movement || k.Collective != "" || seen[name] {
			continue
		}
		seen[name] = true
		if name == TrainerJudge {
			trainer = append(trainer, k.Mark.Float())
		} else {
			judges = append(judges, k.Mark.Float())
		}
	}
	return trainer, judges
}

func meanOf(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(len(xs))
}

// EyeKind is the trainer's eye for one kind of movement.
type EyeKind = judging.EyeOf
