package logbook

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/strides"
)

// Review is what a ride says, with what is needed to show it.
type Review struct {
	Ride  Ride
	Pair  Pair
	Sheet Sheet
	Notes []Note // standing
	Plan  *rideplan.Plan
	Doc   *report.ReviewDoc
	Line  []RiddenPoint // as ridden; nil without a recording
	Tempo Tempo         // as ridden, where motion was recorded
	Stamp string
}

// RiddenPoint is the ride at one instant of its clock, thinned for showing.
type RiddenPoint struct {
	T        float64 `json:"t"` // s
	X        float64 `json:"x"` // m, arena frame
	Y        float64 `json:"y"`
	Doubt    float64 `json:"d"` // m, one standard deviation of the place
	Speed    float64 `json:"v"` // m/s
	PlanM    float64 `json:"m"` // m along the plan, -1 off it
	Movement int     `json:"n"` // 0 for none
	Gap      bool    `json:"g,omitempty"`
}

// Title names the ride, "Ilse Bramwell on Quillon, 3 May".
func (r *Review) Title() string { return r.Pair.Title() + ", " + r.Ride.Date.Short() }

// Facts is what comparing and following over weeks needs of the ride.
func (r *Review) Facts() diagnose.RideFacts {
	f := FactsOf(r.Doc)
	f.ID, f.Combination, f.Show = r.Ride.ID, r.Pair.Title(), r.Ride.Kind == Show
	f.Day = float64(Date("2000-01-01").DaysTo(r.Ride.Date))
	if r.Ride.MarkedBy != "" {
		taught := r.Ride.Taught
		f.Taught = &taught
	}
	return f
}

// given is a ride with all that a review is made from.
type given struct {
	ride  Ride
	pair  Pair
	sheet Sheet
	files []GivenFile
	notes []Note
}

// input turns records into what the pipeline takes. Files come before notes: a judge's sheet on
// paper replaces what was tapped.
func (g given) input(history []diagnose.RideFacts) ReviewInput {
	in := ReviewInput{Sheet: Given{Name: g.sheet.Name, Data: []byte(g.sheet.Text)}, Recorder: g.ride.Recorder,
		Rules: g.ride.Rules, Simulated: g.ride.Simulated, Taps: tapsOf(g.notes), Corrections: correctionsOf(g.notes), History: history}
	if g.pair.Horse.Profile != "" {
		in.Horse = &Given{Name: "horse file", Data: []byte(g.pair.Horse.Profile)}
	}
	for _, f := range g.files {
		file := &Given{Name: cleanFile(f.Name), Data: f.Data}
		switch f.Role {
		case RoleTrack:
			in.Track = file
			said := partsOf(Ride{Files: []File{{Role: RoleTrack, Media: f.Media}}}, g.notes)
			part := said[len(said)-1]
			in.About = aboutOf(f.Media)
			in.About.From, in.About.To = part.From, part.To
		case RoleMotion:
			in.Motion = file
		case RoleArena:
			in.Arena = file
		case RoleCommentary:
			in.Commentary = file
		case RoleMarks:
			in.Marks = file
		}
	}
	if marks := marksOf(g.notes); in.Marks == nil && marks != nil {
		in.Marks = &Given{Name: "marks as tapped", Data: marks}
	}
	if words := wordsOf(g.notes); in.Commentary == nil && words != nil {
		zero := 0.0
		in.Commentary, in.CommentaryOffsetS = &Given{Name: "remarks as tapped", Data: words}, &zero
	}
	return in
}

// gather reads a ride with all that was given with it.
func (b *Book) gather(ctx context.Context, rideID string) (given, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return given{}, err
	}
	g, err := b.gatherRecords(ctx, r)
	if err != nil {
		return g, err
	}
	for _, f := range r.Files {
		if f.Role == RoleAudio {
			continue
		}
		data, err := b.Recordings.Read(ctx, f.Blob, limitOf(f.Role))
		if err != nil {
			return g, err
		}
		g.files = append(g.files, GivenFile{Role: f.Role, Name: f.Name, Media: f.Media, Data: data})
	}
	return g, nil
}

// gatherRecords is gather without reading any file.
func (b *Book) gatherRecords(ctx context.Context, r Ride) (given, error) {
	g := given{ride: r}
	var err error
	if g.pair, err = b.PairOf(ctx, r.CombinationID); err != nil {
		return g, err
	}
	if g.sheet, err = b.SheetVersion(ctx, r.SheetID, r.SheetVersion); err != nil {
		return g, err
	}
	g.notes, err = b.Notes(ctx, r.ID)
	return g, err
}

// reviewForm is the version of what is stored of a review, raised when RiddenPoint or the way
// inputs are put together changes.
const reviewForm = 6

// stamp names what a review is made from: every version that has a say and every input. Files
// are named by their checksum, so nothing needs to be read to know that nothing changed.
func (g given) stamp() string {
	h := sha256.New()
	fmt.Fprintln(h, reviewForm, rideplan.Version, match.Version, strides.Version, measure.Version, remarks.Version, diagnose.Version)
	r := g.ride
	fmt.Fprintf(h, "%q %q %q %q %v %v\n", g.sheet.Text, g.pair.Horse.Profile, r.Recorder, r.Rules, r.Simulated, r.Kind)
	for _, f := range r.Files {
		if f.Role != RoleAudio {
			fmt.Fprintf(h, "%q %q %q\n", f.Role, f.Blob, f.Name)
			if a := aboutOf(f.Media); a.Worn+a.Tag != "" {
				fmt.Fprintf(h, "%q %q\n", a.Worn, a.Tag)
			}
			if a := aboutOf(f.Media); a.From+a.To != "" {
				fmt.Fprintf(h, "part %q %q\n", a.From, a.To)
			}
		}
	}
	for _, n := range g.notes {
		if n.Device == deviceUnseen {
			continue // never part of a ride's own review
		}
		fmt.Fprintf(h, "%q %q %d %d %q %q %q %q %q %g\n", n.ID, n.Kind, n.Seq, n.Movement, n.Collective, n.Judge, n.Mark, n.Text, n.Undoes, n.AtS)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// maxHistory bounds how many earlier rides a review hears: enough for a horse's usual marks, and
// a ride page does not slow down over the years.
const maxHistory = 12

// earlier lists the rides of the combination before this one, newest first.
func (b *Book) earlier(ctx context.Context, r Ride) ([]Ride, error) {
	all, err := b.Rides(ctx, RideFilter{CombinationID: r.CombinationID})
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(all, func(o Ride) bool { return o.ID == r.ID })
	if at < 0 {
		return nil, nil // not stored yet
	}
	return cut(all[at+1:], maxHistory), nil
}

// stampWithHistory is the stamp of a review: its own inputs and those of the rides it hears of.
func (b *Book) stampWithHistory(ctx context.Context, g given, before []Ride) (string, error) {
	h := sha256.New()
	fmt.Fprintln(h, g.stamp())
	for _, r := range before {
		e, err := b.gatherRecords(ctx, r)
		if err != nil {
			return "", err
		}
		fmt.Fprintln(h, r.Date, e.stamp())
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// reviews remembers reviews of this program run by ride.
type reviews struct {
	mu    sync.Mutex
	known map[string]*Review
}

// maxReviews bounds that memory: some 300 KB each.
const maxReviews = 64

// The kinds of computed results kept here.
const (
	kindReview = "review"
	kindScore  = "score"
)

// storedReview is what of a review is kept in the store; the rest is the records themselves.
type storedReview struct {
	Doc  *report.ReviewDoc `json:"doc"`
	Line []RiddenPoint     `json:"line"`
	// Tempo is the same for every review of one input, as Line is.
	Tempo Tempo `json:"tempo"`
}

// ReviewOf gives the review of a ride: remembered, stored or, when an input or a version is
// another, made again.
func (b *Book) ReviewOf(ctx context.Context, rideID string) (*Review, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return nil, err
	}
	g, err := b.gatherRecords(ctx, r)
	if err != nil {
		return nil, err
	}
	before, err := b.earlier(ctx, r)
	if err != nil {
		return nil, err
	}
	stamp, err := b.stampWithHistory(ctx, g, before)
	if err != nil {
		return nil, err
	}
	rev := &Review{Ride: r, Pair: g.pair, Sheet: g.sheet, Notes: Standing(g.notes), Stamp: stamp,
		Plan: b.PlanOf(g.sheet.Name, g.sheet.Text, g.pair.Horse.Profile)}
	if b.recall(ctx, rev) {
		return rev, nil
	}
	if err := b.review(ctx, rev, before); err != nil {
		return nil, err
	}
	return rev, nil
}

// recall fills a review from memory or store when what is there carries its stamp.
func (b *Book) recall(ctx context.Context, rev *Review) bool {
	b.reviews.mu.Lock()
	was := b.reviews.known[rev.Ride.ID]
	b.reviews.mu.Unlock()
	if was != nil && was.Stamp == rev.Stamp {
		rev.Doc, rev.Line, rev.Tempo = was.Doc, was.Line, was.Tempo
		return true
	}
	c, err := b.Computed(ctx, kindReview, rev.Ride.ID)
	if err != nil || c.Stamp != rev.Stamp {
		return false // no cache is no trouble: it is made again
	}
	var s storedReview
	if json.Unmarshal(c.Value, &s) != nil || s.Doc == nil {
		return false
	}
	rev.Doc, rev.Line, rev.Tempo = s.Doc, s.Line, s.Tempo
	b.remember(rev)
	return true
}

func (b *Book) remember(rev *Review) {
	b.reviews.mu.Lock()
	defer b.reviews.mu.Unlock()
	if b.reviews.known == nil || len(b.reviews.known) >= maxReviews {
		b.reviews.known = map[string]*Review{}
	}
	b.reviews.known[rev.Ride.ID] = rev
}

// review makes a review from its inputs and keeps it.
func (b *Book) review(ctx context.Context, rev *Review, before []Ride) error {
	g, err := b.gather(ctx, rev.Ride.ID)
	if err != nil {
		return err
	}
	history, err := b.historyOf(ctx, before)
	if err != nil {
		return err
	}
	res, err := ReviewRide(ctx, g.input(history))
	if err != nil {
		return err
	}
	rev.Doc, rev.Line, rev.Tempo = res.Doc, thin(res.Ridden), tempoOf(res.Ridden)
	value, err := json.Marshal(storedReview{rev.Doc, rev.Line, rev.Tempo})
	if err != nil {
		return Wrap(Internal, err, "the review of this ride cannot be kept")
	}
	if err := b.PutComputed(ctx, Computed{Kind: kindReview, Subject: rev.Ride.ID, Stamp: rev.Stamp, Value: value, Made: b.Now()}); err != nil {
		return err
	}
	b.remember(rev)
	return b.keepScore(ctx, rev)
}

// historyOf gives the facts of earlier rides, oldest first; before has the newest first.
func (b *Book) historyOf(ctx context.Context, before []Ride) ([]diagnose.RideFacts, error) {
	history := make([]diagnose.RideFacts, 0, len(before))
	for _, r := range slices.Backward(before) {
		e, err := b.ReviewOf(within(ctx, "the ride of "+r.Date.Short()), r.ID)
		if err != nil {
			return nil, err
		}
		history = append(history, e.Facts())
	}
	return history, nil
}

// keepScore keeps the total by itself, so that lists need not read whole reviews.
func (b *Book) keepScore(ctx context.Context, rev *Review) error {
	if rev.Doc.Total == nil {
		return nil
	}
	value, err := json.Marshal(rev.Doc.Total.Percent)
	if err != nil {
		return Wrap(Internal, err, "the total of this ride cannot be kept")
	}
	return b.PutComputed(ctx, Computed{Kind: kindScore, Subject: rev.Ride.ID, Stamp: rev.Stamp, Value: value, Made: b.Now()})
}

// PeekScore gives the percentage of a ride when a review of it was made, without making one: for
// lists.
func (b *Book) PeekScore(ctx context.Context, rideID string) (percent float64, ok bool) {
	c, err := b.Computed(ctx, kindScore, rideID)
	if err != nil || json.Unmarshal(c.Value, &percent) != nil {
		return 0, false
	}
	return percent, true
}

// shownEvery is the spacing of a shown line in seconds: finer than a thumb can choose.
const shownEvery = 0.2

// thin takes from a ridden line what is shown.
func thin(r *match.Ridden) []RiddenPoint {
	if r == nil {
		return nil
	}
	all := report.Bridged(r)
	var out []RiddenPoint
	next := math.Inf(-1)
	for i, s := range all {
		t := float64(s.T)
		if t < next && i < len(all)-1 || math.IsNaN(s.X) || math.IsNaN(s.Y) {
			continue
		}
		next = t + shownEvery - 1e-6
		p := RiddenPoint{T: cents(t), X: cents(s.X), Y: cents(s.Y), Doubt: cents(report.PlaceSD(r, s)),
			Speed: cents(float64(s.Speed())), PlanM: -1, Movement: s.Movement, Gap: s.Gap}
		if m := float64(s.PlanM); !math.IsNaN(m) {
			p.PlanM = cents(m)
		}
		out = append(out, p)
	}
	return out
}

// cents rounds to hundredths; what is not a number becomes 0.
func cents(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return math.Round(v*100) / 100
}

// Compared is two rides of one sheet side by side, the earlier first.
type Compared struct {
	Before, After *Review
	Comparison    diagnose.Comparison
}

// CompareOf compares two rides of one sheet; it puts the earlier one first.
func (b *Book) CompareOf(ctx context.Context, one, other string) (*Compared, error) {
	before, err := b.ReviewOf(ctx, one)
	if err != nil {
		return nil, err
	}
	after, err := b.ReviewOf(ctx, other)
	if err != nil {
		return nil, err
	}
	if cmp.Or(strings.Compare(string(before.Ride.Date), string(after.Ride.Date)), before.Ride.Made.Compare(after.Ride.Made)) > 0 {
		before, after = after, before
	}
	c, err := diagnose.Compare(before.Facts(), after.Facts())
	if err != nil {
		return nil, Wrap(Invalid, err, "these two rides cannot be compared: %s", err.Error())
	}
	return &Compared{before, after, c}, nil
}
