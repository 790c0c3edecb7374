package logbook

import (
	"context"
	"strings"

	"ringcraft/internal/judging"
	"ringcraft/internal/terms"
)

// TrainerJudge is the name under which the trainer's own marks are given, tapped or typed.
const TrainerJudge = "trainer"

// Eye is the trainer's eye over the rides that a judge marked too.
type Eye struct {
	judging.Eye
	Rides []EyeRide // newest first
}

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
	return out, nil
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
	notes, err := b.Notes(ctx, r.ID)
	if err != nil {
		return nil, line, err
	}
	tapped := marksOf(notes)
	if _, filed := lastMarks(r); !filed && tapped == nil {
		return nil, line, nil
	}
	m, err := b.markingBase(ctx, r.ID)
	if err != nil {
		return nil, line, err
	}
	line.Pair, line.Sheet = m.Pair, m.Sheet.Name
	marks := m.card.Marks
	if tapped != nil {
		card, _ := judging.ReadMarks("marks as tapped", tapped, m.Plan, m.Rules)
		marks = append(marks, card.Marks...)
	}
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
