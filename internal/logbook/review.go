package logbook

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/diagnose"
	"ringcraft/internal/judging"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/prepare"
	"ringcraft/internal/remarks"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
	"ringcraft/internal/track"
)

// ReviewRide runs the whole line once: sheet to plan, recording to measures, commentary to
// remarks, marks to a score, and all three voices to a diagnosis. A part that cannot be read
// is reported in Problems and left out; the rest of the review is made all the same. The
// error is only that of a cancelled context.
func ReviewRide(ctx context.Context, in ReviewInput) (*ReviewResult, error) {
	r := &reviewer{in: in}
	r.compile()
	r.rules()
	if err := r.measure(ctx); err != nil {
		return nil, err
	}
	r.listen()
	r.correct()
	r.mark()
	r.diagnose()
	return r.result(), nil
}

// reviewer carries one review from stage to stage; each method is one stage.
type reviewer struct {
	in    ReviewInput
	horse prepare.Horse
	out   ReviewResult
	total *report.ReviewTotal
	spans []match.Span // of the movements when there is no recording
	// imported are the importer's notes on the recording, joined where it was; ofMotion those of them
	// that are about the motion file.
	imported, ofMotion []string
}

func (r *reviewer) problems(ps []sheet.Problem) { r.out.Problems = append(r.out.Problems, ps...) }

func (r *reviewer) compile() {
	if h := r.in.Horse; h != nil {
		var ps []sheet.Problem
		r.horse, ps = prepare.ReadHorse(h.Name, h.Data)
		defer r.problems(ps)
	}
	r.out.Plan = rideplan.CompileText(r.in.Sheet.Name, string(r.in.Sheet.Data), rideplan.Options{Horse: r.horse.Profile, File: r.in.Sheet.Name})
	r.problems(r.out.Plan.Problems)
}

func (r *reviewer) rules() {
	id := r.in.Rules
	if id == "" {
		id = r.out.Plan.Rules
	}
	rules, err := judging.RulesByID(id)
	if err != nil {
		r.problems([]sheet.Problem{{File: r.in.Sheet.Name, Severity: sheet.Error, Message: err.Error()}})
		if rules, err = judging.RulesByID(""); err != nil {
			return
		}
	}
	r.out.Rules = rules
}

func (r *reviewer) measure(ctx context.Context) error {
	for _, err := range match.CheckTaps(r.out.Plan, r.in.Taps) {
		r.problems([]sheet.Problem{{File: "taps", Severity: sheet.Warning, Message: err.Error()}})
	}
	r.spans = match.Nominal(r.out.Plan, match.Options{Taps: r.in.Taps})
	if r.in.Track == nil && r.in.Motion != nil {
		r.problems([]sheet.Problem{{File: r.in.Motion.Name, Severity: sheet.Error, Message: "motion alone says nothing of where they rode", Suggestion: "give the recording of positions with it"}})
	}
	if r.in.Track == nil || len(r.out.Plan.Samples) == 0 {
		return nil
	}
	ridden, err := r.align(ctx)
	if cause := ctx.Err(); cause != nil {
		return cause
	}
	if err != nil {
		r.problems([]sheet.Problem{ProblemOf(r.in.Track.Name, err)})
		r.notes(r.imported)
		return nil
	}
	r.out.Ridden = ridden
	if r.in.Motion != nil && ridden.Strides != nil {
		r.ofMotion = slices.Concat(r.ofMotion, ridden.Strides.Notes)
	}
	r.notes(ridden.Notes)
	r.problems(outsideTheBoards(r.in.Track.Name, r.out.Plan, ridden))
	horse := measure.Options{Horse: r.horse.Profile, Step: measuring.step(ctx)}
	r.out.Measures, r.out.Paces = measure.Ride(r.out.Plan, ridden, horse), measure.Paces(r.out.Plan, ridden, horse)
	return ctx.Err()
}

// outsideTheBoards warns of a recording that spends much time where this arena is not: the
// sheet or the arena file is probably another's.
func outsideTheBoards(file string, plan *rideplan.Plan, ridden *match.Ridden) []sheet.Problem {
	const clear, much = 5.0, 0.1 // metres and share that no ride and no recorder explain
	from, to := math.Inf(-1), math.Inf(1)
	if n := len(ridden.Spans); n > 0 && n == len(plan.Movements) { // all was ridden here: before and after may be elsewhere
		from, to = float64(ridden.Spans[0].Start), float64(ridden.Spans[n-1].End)
	}
	out := 0
	for _, s := range ridden.Samples {
		if t := float64(s.T); t < from || t > to {
			continue
		}
		if !plan.Board.Contains(s.Point, arena.Metres(-clear-3*ridden.Noise.WanderSD)) {
			out++
		}
	}
	if float64(out) <= much*float64(len(ridden.Samples)) {
		return nil
	}
	return []sheet.Problem{{File: file, Severity: sheet.Warning,
		Message:    fmt.Sprintf("%d %% of this recording lies far outside the %g x %g m arena of the sheet", 100*out/len(ridden.Samples), float64(plan.Board.Width), float64(plan.Board.Length)),
		Suggestion: "is it the right sheet, and the right arena file?"}}
}

func (r *reviewer) align(ctx context.Context) (*match.Ridden, error) {
	t, err := r.recording(ctx)
	if err != nil {
		return nil, err
	}
	r.imported = t.Notes
	o := match.Options{Class: r.in.Recorder, Recorder: r.in.About.Worn, Progress: func(s match.Stage, share float64) { ofAligning[s].tell(ctx, share) }}
	if a := r.in.Arena; a != nil {
		if o.Survey, err = match.ReadArena(a.Name, a.Data); err != nil {
			return nil, err
		}
	}
	return match.Align(ctx, r.out.Plan, t, o)
}

// notes says what was assumed of the recording, each under the file that it is about.
func (r *reviewer) notes(words []string) {
	for _, w := range words {
		file := r.in.Track.Name
		if slices.Contains(r.ofMotion, w) {
			file = r.in.Motion.Name
		}
		r.problems([]sheet.Problem{{File: file, Severity: sheet.Note, Message: w}})
	}
}

// recording imports the positions and joins the motion given beside them. A motion file that
// cannot be read is reported and left out; the positions stand without it.
func (r *reviewer) recording(ctx context.Context) (*track.Track, error) {
	part, err := track.ParsePart(r.in.About.From, r.in.About.To)
	if err != nil {
		return nil, err
	}
	t, err := r.whole(ctx)
	if err != nil {
		return nil, err
	}
	return part.Cut(t)
}

// whole is the recording with nothing cut off: only then is it known when the motion was begun beside it.
func (r *reviewer) whole(ctx context.Context) (*track.Track, error) {
	t, err := importTrack(r.in.Track, r.in.About.Tag, readingTrack.step(ctx))
	if err != nil || r.in.Motion == nil {
		return t, err
	}
	m, err := importTrack(r.in.Motion, "", readingMotion.step(ctx))
	if err == nil {
		var joined *track.Track
		if joined, err = track.Join(t, m, joining.step(ctx)); err == nil {
			r.ofMotion = joined.Notes[len(t.Notes):]
			return joined, nil
		}
	}
	if stopped := ctx.Err(); stopped != nil {
		return nil, stopped
	}
	r.problems([]sheet.Problem{ProblemOf(r.in.Motion.Name, err)})
	return t, nil
}

func importTrack(g *Given, tag string, step track.Step) (*track.Track, error) {
	return track.Import(bytes.NewReader(g.Data), track.ImportOptions{File: g.Name, Tag: tag, Step: step, Size: int64(len(g.Data))})
}

func (r *reviewer) mark() {
	if r.in.Marks == nil || r.out.Rules == nil {
		return
	}
	card, ps := judging.ReadMarks(r.in.Marks.Name, r.in.Marks.Data, r.out.Plan, r.out.Rules)
	r.problems(ps)
	r.out.Card = card
	if len(card.Marks) > 0 {
		r.total = report.BuildTotal(judging.Score(r.out.Plan, card, r.out.Rules))
	}
}

func (r *reviewer) diagnose() {
	in := diagnose.Input{Plan: r.out.Plan, Measures: r.out.Measures, Card: r.out.Card, History: r.in.History}
	if r.out.Placed != nil {
		in.Placed = *r.out.Placed
	}
	for _, m := range r.out.Card.Marks {
		if b := r.out.Plan.MovementByNumber(m.Movement); b != nil && m.Remark != "" {
			in.Scribed = append(in.Scribed, diagnose.Said{Movement: m.Movement, Judge: m.Judge, Text: m.Remark, Faults: remarks.FaultsIn(m.Remark, b.Kinds())})
		}
	}
	r.out.Diagnosis = diagnose.Diagnose(in)
}

func (r *reviewer) result() *ReviewResult {
	id := ""
	if r.out.Rules != nil {
		id = r.out.Rules.ID
	}
	doc := report.BuildReview(report.ReviewInput{
		Plan: r.out.Plan, SheetText: string(r.in.Sheet.Data), Rules: id, Simulated: r.in.Simulated,
		Ridden: r.out.Ridden, Measures: r.out.Measures, Paces: r.out.Paces, Placed: r.out.Placed, Card: r.out.Card, Total: r.total,
		Diagnosis: r.out.Diagnosis, Spans: r.spans, Problems: r.out.Problems, Cautions: append(r.twoRides(), r.veryLow()...),
	})
	r.out.Doc = &doc
	return &r.out
}

// twoRides says that a recorder was left running over two rides: which one the numbers are of.
func (r *reviewer) twoRides() []string {
	if r.out.Ridden == nil {
		return nil
	}
	words := r.out.Ridden.SecondRide()
	if words == "" {
		return nil
	}
	return []string{strings.ToUpper(words[:1]) + words[1:] + ". The earlier one can be chosen: on the ride's page, or with --ride first."}
}

// veryLow warns of movements heading for a zero or a very low mark, with what rescues them.
func (r *reviewer) veryLow() []string {
	faults := map[int][]terms.Fault{}
	if r.out.Placed != nil {
		for _, m := range r.out.Placed.Remarks {
			faults[m.Movement] = append(faults[m.Movement], m.Faults...)
		}
	}
	var out []string
	for _, w := range judging.Risks(r.out.Plan, faults, r.out.Card) {
		words := fmt.Sprintf("Movement %d can come to a mark of %s (%s: %s).", w.Movement, w.Mark, w.Risk, w.Evidence)
		if w.Rescue != "" {
			words += " What rescues it: " + w.Rescue + "."
		}
		out = append(out, words)
	}
	return out
}

// ProblemOf turns an error of reading a recording or an arena file into a positioned problem.
func ProblemOf(file string, err error) sheet.Problem {
	p := sheet.Problem{File: file, Severity: sheet.Error, Message: err.Error()}
	var t *track.Error
	if errors.As(err, &t) {
		p.File, p.Line = t.File, t.Line
		p.Message, p.Suggestion = t.Message, t.Allowed
		if t.Column != "" {
			p.Message = "column " + t.Column + ": " + p.Message
		}
		if t.At != "" {
			p.Message += " (at " + t.At + ")"
		}
	}
	return p
}
