package logbook

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// Book is the trainer's book: the records and what one does with them. Every use case goes
// through it; the web and the command line hold no rules of their own.
type Book struct {
	Store
	Recordings Recordings
	Jobs       Jobs
	Now        func() time.Time // the clock
	NewID      func() string    // makes ids that were never used

	plans   plans
	reviews reviews
}

// MaxName is the most characters a name may have, MaxRemark a remark.
const (
	MaxName   = 120
	MaxRemark = 4000
)

// cleanName trims a name and checks it.
func cleanName(what, s string) (string, error) {
	s = strings.Join(strings.Fields(s), " ")
	switch {
	case s == "":
		return "", Errorf(Invalid, "%s has no name; write one", what)
	case !utf8.ValidString(s):
		return "", Errorf(Invalid, "%s has a name that is not text in UTF-8", what)
	case utf8.RuneCountInString(s) > MaxName:
		return "", Errorf(Invalid, "%s has a name of more than %d characters", what, MaxName)
	}
	return s, nil
}

func cleanRemark(s string) (string, error) {
	if utf8.RuneCountInString(s) > MaxRemark || !utf8.ValidString(s) {
		return "", Errorf(Invalid, "a remark has at most %d characters of text", MaxRemark)
	}
	return strings.TrimSpace(s), nil
}

// NewCombination is what is known of a combination when it is first written down.
type NewCombination struct {
	Rider, Horse, Level, Remark string
	Minor                       bool
	YardID                      string
	Profile                     []byte // horse file, nil for a horse of the usual figures
}

// AddCombination writes down a rider, a horse and that they go together, all or none. A rider
// or horse of the same name (case ignored) who is there already is used again.
func (b *Book) AddCombination(ctx context.Context, n NewCombination) (Combination, error) {
	riderName, err := cleanName("the rider", n.Rider)
	if err != nil {
		return Combination{}, err
	}
	horseName, err := cleanName("the horse", n.Horse)
	if err != nil {
		return Combination{}, err
	}
	remark, err := cleanRemark(n.Remark)
	if err != nil {
		return Combination{}, err
	}
	if err := checkProfile("horse file", n.Profile); err != nil {
		return Combination{}, err
	}
	c := Combination{ID: b.NewID(), YardID: n.YardID, Level: strings.TrimSpace(n.Level), Remark: remark}
	err = b.Atomically(ctx, func(s Store) error {
		if c.RiderID, err = b.riderNamed(ctx, s, riderName, n.Minor); err != nil {
			return err
		}
		if c.HorseID, err = b.horseNamed(ctx, s, horseName, n.Profile); err != nil {
			return err
		}
		return s.PutCombination(ctx, c)
	})
	return c, err
}

func (b *Book) riderNamed(ctx context.Context, s Store, name string, minor bool) (string, error) {
	all, err := s.Riders(ctx)
	if err != nil {
		return "", err
	}
	for _, r := range all {
		if !strings.EqualFold(r.Name, name) {
			continue
		}
		if minor && !r.Minor { // said now: from here on a guardian must agree
			r.Minor = true
			return r.ID, s.PutRider(ctx, r)
		}
		return r.ID, nil
	}
	r := Rider{ID: b.NewID(), Name: name, Minor: minor}
	return r.ID, s.PutRider(ctx, r)
}

func (b *Book) horseNamed(ctx context.Context, s Store, name string, profile []byte) (string, error) {
	all, err := s.Horses(ctx)
	if err != nil {
		return "", err
	}
	for _, h := range all {
		if strings.EqualFold(h.Name, name) {
			return h.ID, nil
		}
	}
	h := Horse{ID: b.NewID(), Name: name, Profile: string(profile)}
	return h.ID, s.PutHorse(ctx, h)
}

// Pair is a combination with its people.
type Pair struct {
	Combination
	Rider Rider
	Horse Horse
	Yard  Yard // zero when not said
}

// Title names the combination, "Ilse Bramwell on Quillon".
func (p Pair) Title() string { return p.Rider.Name + " on " + p.Horse.Name }

// Invented reports whether it is part of the demo yard.
func (p Pair) Invented() bool { return p.Rider.Invented || p.Horse.Invented }

// PairOf finds a combination with its people.
func (b *Book) PairOf(ctx context.Context, id string) (Pair, error) {
	c, err := b.Combination(ctx, id)
	if err != nil {
		return Pair{}, err
	}
	p := Pair{Combination: c}
	if p.Rider, err = b.Rider(ctx, c.RiderID); err != nil {
		return p, err
	}
	if p.Horse, err = b.Horse(ctx, c.HorseID); err != nil {
		return p, err
	}
	ys, err := b.Yards(ctx)
	for _, y := range ys {
		if y.ID == c.YardID {
			p.Yard = y
		}
	}
	return p, err
}

// Pairs lists all combinations by rider, then horse.
func (b *Book) Pairs(ctx context.Context) ([]Pair, error) {
	cs, err := b.Combinations(ctx)
	if err != nil {
		return nil, err
	}
	riders, horses, yards, err := b.people(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]Pair, 0, len(cs))
	for _, c := range cs {
		out = append(out, Pair{c, riders[c.RiderID], horses[c.HorseID], yards[c.YardID]})
	}
	sortPairs(out)
	return out, nil
}

func (b *Book) people(ctx context.Context) (map[string]Rider, map[string]Horse, map[string]Yard, error) {
	riders, horses, yards := map[string]Rider{}, map[string]Horse{}, map[string]Yard{}
	rs, err := b.Riders(ctx)
	if err != nil {
		return nil, nil, nil, err
	}
	hs, err := b.Horses(ctx)
	if err != nil {
		return nil, nil, nil, err
	}
	ys, err := b.Yards(ctx)
	if err != nil {
		return nil, nil, nil, err
	}
	for _, r := range rs {
		riders[r.ID] = r
	}
	for _, h := range hs {
		horses[h.ID] = h
	}
	for _, y := range ys {
		yards[y.ID] = y
	}
	return riders, horses, yards, nil
}

func sortPairs(ps []Pair) {
	slices.SortFunc(ps, func(a, b Pair) int {
		return cmp.Or(ByName(a.Rider.Name, "", b.Rider.Name, ""), ByName(a.Horse.Name, a.ID, b.Horse.Name, b.ID))
	})
}
