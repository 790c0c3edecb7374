package prepare

import (
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// The kinds of blocks.
const (
	WalkBlock     = "walk"
	WarmUpBlock   = "warm-up"
	ExerciseBlock = "exercise"
	CoolDownBlock = "cool-down"
)

// LessonInput is all that planning a lesson takes; only Minutes is required.
type LessonInput struct {
	Minutes      float64
	Needs        []Need // where marks went; none: a balanced lesson at the horse's level
	Causes       []diagnose.Cause
	Horse        Horse
	Rider        Rider
	Level        string  // of the sheet, used when the horse's is not stated
	ArenaLengthM float64 // 40 or 60; 0: 40
	SharedArena  bool    // others ride too: no figures over the whole arena
	WarmedUp     bool
	DaysToShow   *int
	Weather      *Weather
	SheetText    string      // the test's own sheet, for a run of the whole test
	SheetS       float64     // its length in seconds
	Own          []Exercise  // the trainer's exercises
	Known        []string    // ids that this horse and rider know; none: those below their level
	Learnt       []Learnt    // what exercises brought this combination so far
	Prefer       Preferences // what the trainer likes
	Done         []Done      // what was ridden already in this lesson
}

// Done is an exercise ridden already, in minutes of work.
type Done struct {
	Exercise string  `json:"exercise"`
	Minutes  float64 `json:"minutes"`
	Load     int     `json:"load"`
}

// Rider is what planning must know of the rider.
type Rider struct {
	Name  string   `json:"name,omitempty"`
	Level string   `json:"level,omitempty"`   // of Levels
	MayNo []string `json:"may_not,omitempty"` // as for the horse
	Notes []string `json:"notes,omitempty"`
}

// Weather is what the heat rule asks for.
type Weather struct {
	TempC       float64 `json:"temp_c"`
	HumidityPct float64 `json:"humidity_pct"`
}

// Preferences are what a trainer may set against the defaults.
type Preferences struct {
	// Interleave from 0 (like with like) to 1 (never two of a kind together). Evidence from
	// applied settings for mixing is weak, so the default is a small 0.3. Nil: default.
	Interleave *float64 `json:"interleave,omitempty"`
	Without    []string `json:"without,omitempty"` // ids not wanted
	First      string   `json:"first,omitempty"`   // id to begin with
	MostBlocks int      `json:"most_blocks,omitempty"`
	// WholeTest allows a run of the test even when no show is near.
	WholeTest bool `json:"whole_test,omitempty"`
}

// Need is one place where marks went.
type Need struct {
	Movement    int
	Kinds       []terms.Kind
	Coefficient int
	MaxPoints   float64  // of the sheet
	Rein        string   // "left", "right" or "" where the rein does not matter
	Paces       []string // walk, trot, canter: in which it is ridden; none: not known
	Letters     string   // of the movement, "" when not known
	Text        string   // its wording
	Loss        diagnose.Loss
}

// Lesson is a plan for so many minutes. JSON keys are the contract of `lesson plan`.
type Lesson struct {
	Schema   string    `json:"schema"`
	Minutes  float64   `json:"minutes"`
	Blocks   []Block   `json:"blocks"`
	LeftOut  []LeftOut `json:"left_out"`
	Warnings []string  `json:"warnings"`
	Cautions []string  `json:"cautions"`
	Homework []Task    `json:"homework"`
	// ExpectedPercent is the sum of the gains, in points of the final percentage; GainsFrom
	// says that these are priors, or how many rides they rest on.
	ExpectedPercent float64 `json:"expected_percent"`
	GainsFrom       string  `json:"gains_from"`
	Optimal         bool    `json:"optimal"` // proven best under its limits
}

// Block is one stretch of the lesson.
type Block struct {
	Kind     string   `json:"kind"`
	StartS   float64  `json:"start_s"`
	LengthS  float64  `json:"length_s"`
	Rein     string   `json:"rein"` // left, right or both
	Pace     string   `json:"pace"`
	Title    string   `json:"title"`
	Sheet    string   `json:"sheet"` // whole text, "" where nothing is drawn
	Reasons  []string `json:"reasons"`
	Exercise string   `json:"exercise,omitempty"` // id
	Feel     string   `json:"feel,omitempty"`
	See      string   `json:"see,omitempty"`
	Repeats  string   `json:"repeats,omitempty"`
	Load     int      `json:"load,omitempty"`
	Percent  float64  `json:"percent,omitempty"` // expected gain of the exercise
}

// LeftOut is an exercise that was not taken, and why.
type LeftOut struct {
	Exercise string `json:"exercise"`
	Title    string `json:"title"`
	Reason   string `json:"reason"`
}

// The errors of planning; each says what can be done instead.
var (
	ErrTooShort = errors.New("no lesson fits into so short a time")
	ErrUnsound  = errors.New("this horse is marked as not sound")
	ErrTooHot   = errors.New("it is too hot to work a horse")
	ErrInput    = errors.New("the lesson cannot be planned from this")
)

//go:embed lesson.json
var lessonJSON []byte

//go:embed gains.json
var gainsJSON []byte

type lessonData struct {
	Shortest     float64 `json:"shortest"`
	FullFrom     float64 `json:"full_from"`
	BlockMin     float64 `json:"block_min"`
	BlockMax     float64 `json:"block_max"`
	BlockMaxHard float64 `json:"block_max_hard"`
	HardLoad     int     `json:"hard_load"`
	Break        float64 `json:"break"`
	BreakEasy    float64 `json:"break_easy"`
	ReinSlack    float64 `json:"rein_slack"`
	MostBlocks   int     `json:"most_blocks"`
	Budgets      []struct {
		From     float64
		WarmedUp bool `json:"warmed_up"`
		Walk     float64
		Loosen   float64
		Cool     float64
	}
	Fitness      []capacity
	Young        []capacity
	AfterHardDay float64 `json:"after_hard_day"`
	WholeTest    struct {
		DaysBeforeShow int `json:"days_before_show"`
		FreeDaysSince  int `json:"free_days_since"`
		MostInWeek     int `json:"most_in_week"`
	} `json:"whole_test"`
	Heat []struct {
		From, Load float64
		Words      string
	}
}

// capacity is how much focused work a horse is asked: minutes, load (an exercise's load per
// five minutes), blocks.
type capacity struct {
	Name   string
	Below  float64
	Work   float64
	Load   float64
	Blocks int
	Words  string
}

type gainData struct {
	Reach        map[string]float64
	FaultAndKind float64 `json:"fault_and_kind"`
	Fault        float64
	Kind         float64
	Cause        float64
	WholeTest    float64 `json:"whole_test"`
	Attention    int     // needs that a block can be for
	DoseMin      float64 `json:"dose_min"`
	OtherRein    float64 `json:"other_rein"`
	Returns      []step
	LeastPercent float64 `json:"least_percent"`
	ShrinkRides  float64 `json:"shrink_rides"`
}

var (
	lessonRules = mustLoad[lessonData](lessonJSON, "lesson.json")
	gainRules   = mustLoad[gainData](gainsJSON, "gains.json")
)

func mustLoad[T any](data []byte, name string) T {
	var v T
	if err := json.Unmarshal(data, &v); err != nil {
		panic("prepare: embedded " + name + ": " + err.Error()) // caught by the tests
	}
	return v
}

// PlanLesson fills the time budget exactly with the exercises of greatest expected gain
// under the limits of horse, rider, weather and arena. It returns ErrTooShort, ErrUnsound,
// ErrTooHot or ErrInput (wrapped with what can be done instead), or ctx's error.
func PlanLesson(ctx context.Context, in LessonInput) (Lesson, error) {
	l, err := limitsFor(in)
	if err != nil {
		return Lesson{}, err
	}
	return planWithin(ctx, in, l)
}

// planWithin plans under limits already worked out.
func planWithin(ctx context.Context, in LessonInput, l limits) (Lesson, error) {
	c := newChoice(in, l)
	s, err := c.solve(ctx)
	if err != nil {
		return Lesson{}, err
	}
	picked := c.order(s)
	out := Lesson{Schema: "ringcraft.lesson/1", Minutes: in.Minutes, Blocks: layOut(in, l, picked), Optimal: true,
		ExpectedPercent: round2(s.gain), GainsFrom: gainsFrom(in.Learnt), Warnings: append([]string{}, c.l.warnings...)}
	out.LeftOut = c.leftOut(s)
	out.Cautions = lessonCautions(in)
	out.Homework = Homework(in, picked)
	if len(picked) == 0 && len(in.Done) == 0 && l.work < halves(lessonRules.BlockMin) {
		out.Warnings = append(out.Warnings, "no time is left for an exercise beside loosening and walk")
	} else if len(picked) == 0 && len(in.Done) == 0 {
		out.Warnings = append(out.Warnings, "no exercise fits that this horse and rider may do: walk, and work on the rider's seat and on knowing the test")
	}
	if in.Horse.Level == "" && in.Level != "" {
		out.Warnings = append(out.Warnings, fmt.Sprintf("the horse's level is not stated: taken from the sheet as %s; say it in the horse file when it works above that", lower(in.Level)))
	}
	if len(in.Needs) == 0 {
		out.Warnings = append(out.Warnings, "no marks, recording or remarks: a balanced lesson at the level, not one for this ride's losses")
	}
	return out, nil
}

func gainsFrom(learnt []Learnt) string {
	n := 0
	for _, l := range learnt {
		n += l.Rides
	}
	if n == 0 {
		return "priors (common practice): nothing has been learnt from this combination yet"
	}
	return fmt.Sprintf("priors moved by %d ride-to-ride changes of this combination; few data say little", n)
}

// NeedsOf turns a ledger into needs. Movements not in kinds have no kind.
func NeedsOf(d diagnose.Diagnosis, movements []MovementInfo, maxPoints float64) []Need {
	info := map[int]MovementInfo{}
	for _, m := range movements {
		info[m.Number] = m
	}
	var out []Need
	for _, m := range d.Ledger {
		for _, l := range m.Lost {
			i := info[m.Number]
			out = append(out, Need{Movement: m.Number, Kinds: i.Kinds, Coefficient: max(1, i.Coefficient), MaxPoints: maxPoints, Rein: i.Rein, Paces: i.Paces, Letters: i.Letters, Text: i.Text, Loss: l})
		}
	}
	return out
}

// MovementInfo is what a need must know of its movement. Rein is the hand of its figures
// when they all have the same, else "". Paces are those it is ridden in.
type MovementInfo struct {
	Number      int
	Kinds       []terms.Kind
	Coefficient int
	Rein        string
	Paces       []string
	Letters     string
	Text        string
}

// InfoOf takes from a movement of a plan what its needs must know.
func InfoOf(m rideplan.Movement) MovementInfo {
	info := MovementInfo{Number: m.Number, Kinds: m.Kinds(), Coefficient: m.Coefficient, Letters: m.Letters, Text: m.Text}
	hands := map[rideplan.Hand]bool{}
	for _, f := range m.Figures {
		if f.Hand != rideplan.NoHand {
			hands[f.Hand] = true
			info.Rein = string(f.Hand)
		}
		switch p := string(f.Variety.PaceOf()); p {
		case "walk", "trot", "canter":
			if !slices.Contains(info.Paces, p) {
				info.Paces = append(info.Paces, p)
			}
		}
	}
	if len(hands) > 1 {
		info.Rein = ""
	}
	return info
}

func round2(v float64) float64 { return math.Round(100*v) / 100 }

func lower(s string) string { return strings.ToLower(strings.TrimSpace(s)) }
