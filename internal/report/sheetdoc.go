package report

import (
	"math"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// SheetDoc is the JSON of `sheet read` (docs/JSON.md).
type SheetDoc struct {
	Schema      string            `json:"schema"` // "ringcraft.sheet/1"
	Name        string            `json:"name"`
	Level       string            `json:"level,omitempty"`
	Rules       string            `json:"rules,omitempty"`
	Arena       SheetArena        `json:"arena"`
	TotalS      float64           `json:"total_s"` // A to the end of the last salute
	TotalM      float64           `json:"total_m"`
	PublishedS  float64           `json:"published_s,omitempty"`
	MaxPoints   int               `json:"max_points"`
	InsetM      float64           `json:"inset_m"`
	Movements   []SheetMovement   `json:"movements"`
	Collectives []SheetCollective `json:"collectives"`
	Habits      []SheetHabit      `json:"habits"`
	Problems    []sheet.Problem   `json:"problems"`
}

// SheetHabit is what a horse that anticipates can learn by heart: one thing that always
// follows another, or always comes at one letter.
type SheetHabit struct {
	What    string            `json:"what"`
	Follows string            `json:"follows,omitempty"`
	At      string            `json:"at,omitempty"`
	Words   string            `json:"words"`
	Places  []SheetHabitPlace `json:"places"`
}

// SheetHabitPlace is one time that a habit is asked.
type SheetHabitPlace struct {
	Movement int     `json:"movement"`
	Letter   string  `json:"letter,omitempty"`
	AtM      float64 `json:"at_m"` // along the line
}

// SheetArena is the inside size of the boards.
type SheetArena struct {
	WidthM  float64 `json:"width_m"`
	LengthM float64 `json:"length_m"`
}

// SheetCollective is a mark for the whole ride.
type SheetCollective struct {
	Name        string `json:"name"`
	Coefficient int    `json:"coefficient"`
}

// SheetMovement is one movement as understood. Times count from A.
type SheetMovement struct {
	Number      int           `json:"number"`
	Letters     string        `json:"letters"`
	Text        string        `json:"text"`
	Coefficient int           `json:"coefficient"`
	StartS      float64       `json:"start_s"`
	EndS        float64       `json:"end_s"`
	StartM      float64       `json:"start_m"`
	LengthM     float64       `json:"length_m"`
	Strides     float64       `json:"strides"`
	Reading     string        `json:"reading"`
	Line        int           `json:"line"`
	Kinds       []string      `json:"kinds"`
	Figures     []SheetFigure `json:"figures"`
	Demands     []SheetDemand `json:"demands"`
	// Accuracy is what a judge can measure by eye; Directives what the sheet says the judge
	// looks for, as typed.
	Accuracy   []SheetAccuracy `json:"accuracy"`
	Directives []string        `json:"directives,omitempty"`
	MaxMark    int             `json:"max_mark,omitempty"` // the best mark of the box, 10 as a rule
}

// SheetAccuracy is something that can be measured from the rail, what a correct ride shows
// and the difference a judge can see.
type SheetAccuracy struct {
	What      string  `json:"what"` // named as the measures of `ride review`
	At        string  `json:"at,omitempty"`
	Asked     float64 `json:"asked"`
	Tolerance float64 `json:"tolerance"`
	Unit      string  `json:"unit"`
	Source    string  `json:"source"`
}

// SheetFigure is one thing asked on the ground; sizes are of the rider's body.
type SheetFigure struct {
	Kind     string  `json:"kind"`
	Pace     string  `json:"pace,omitempty"`
	Hand     string  `json:"hand,omitempty"`
	At       string  `json:"at,omitempty"`
	To       string  `json:"to,omitempty"`
	XM       float64 `json:"x_m"`
	YM       float64 `json:"y_m"`
	StartS   float64 `json:"start_s"`
	EndS     float64 `json:"end_s"`
	NominalM float64 `json:"nominal_m,omitempty"` // the sheet's word
	AskedM   float64 `json:"asked_m,omitempty"`   // what a correct ride measures
	AngleDeg float64 `json:"angle_deg,omitempty"`
	Count    int     `json:"count,omitempty"`
	Seconds  float64 `json:"seconds_s,omitempty"`
}

// SheetDemand is something to prepare. Pressure is needs over has, at most MaxPressure.
type SheetDemand struct {
	What         string  `json:"what"`
	Letter       string  `json:"letter"`
	AtS          float64 `json:"at_s"`
	AtM          float64 `json:"at_m"`
	PrepareM     float64 `json:"prepare_m"` // where along the line preparation must begin
	NeedsS       float64 `json:"needs_s"`
	HasS         float64 `json:"has_s"`
	NeedsStrides float64 `json:"needs_strides"`
	HasStrides   float64 `json:"has_strides"`
	Pressure     float64 `json:"pressure"`
	Source       string  `json:"source"`
}

// MaxPressure stands for "no time at all": JSON has no infinity.
const MaxPressure = 99

// BuildSheet makes the document of a plan. Every list is present, every movement is in it.
func BuildSheet(p *rideplan.Plan) SheetDoc {
	d := SheetDoc{
		Schema: "ringcraft.sheet/1", Name: p.Name, Level: p.Level, Rules: p.Rules,
		TotalS: round(float64(p.Total), 2), TotalM: round(float64(p.Length), 2), PublishedS: float64(p.PublishedS),
		MaxPoints: p.MaxPoints, InsetM: float64(p.Inset),
		Movements: []SheetMovement{}, Collectives: []SheetCollective{}, Habits: SheetHabits(p), Problems: []sheet.Problem{},
	}
	if p.Board != nil {
		d.Arena = SheetArena{float64(p.Board.Width), float64(p.Board.Length)}
	}
	for i := range p.Movements {
		d.Movements = append(d.Movements, sheetMovement(&p.Movements[i]))
	}
	for _, c := range p.Collectives {
		d.Collectives = append(d.Collectives, SheetCollective{c.Name, c.Coefficient})
	}
	d.Problems = append(d.Problems, p.Problems...)
	return d
}

// SheetHabits lists what a horse can learn by heart of a plan.
func SheetHabits(p *rideplan.Plan) []SheetHabit {
	out := []SheetHabit{}
	for _, h := range p.Habits() {
		out = append(out, sheetHabit(h))
	}
	return out
}

func sheetHabit(h rideplan.Habit) SheetHabit {
	out := SheetHabit{What: h.What, Follows: h.Follows, At: h.At, Words: h.String(), Places: []SheetHabitPlace{}}
	for _, p := range h.Places {
		out.Places = append(out.Places, SheetHabitPlace{p.Movement, p.Letter, round(p.AtM, 2)})
	}
	return out
}

func sheetMovement(m *rideplan.Movement) SheetMovement {
	out := SheetMovement{
		Number: m.Number, Letters: m.Letters, Text: m.Text, Coefficient: m.Coefficient,
		StartS: round(float64(m.StartS), 2), EndS: round(float64(m.EndS), 2),
		StartM: round(float64(m.StartM), 2), LengthM: round(float64(m.EndM-m.StartM), 2),
		Strides: round(m.Strides, 1), Reading: m.Reading, Line: m.Line,
		Kinds: kindNames(m), Figures: []SheetFigure{}, Demands: []SheetDemand{}, Accuracy: []SheetAccuracy{},
		Directives: m.Directives, MaxMark: m.MaxMark,
	}
	for _, a := range m.Accuracy {
		out.Accuracy = append(out.Accuracy, SheetAccuracy{What: a.What, At: a.At, Asked: round(a.Asked, 2), Tolerance: round(a.Tolerance, 2), Unit: a.Unit, Source: a.Source})
	}
	for _, f := range m.Figures {
		out.Figures = append(out.Figures, SheetFigure{
			Kind: string(f.Kind), Pace: string(f.Variety), Hand: string(f.Hand), At: f.At, To: f.To,
			XM: round(f.Place.X, 2), YM: round(f.Place.Y, 2),
			StartS: round(float64(f.StartS), 2), EndS: round(float64(f.EndS), 2),
			NominalM: round(float64(f.Nominal), 2), AskedM: round(float64(f.Asked), 2),
			AngleDeg: round(f.Angle.Deg(), 1), Count: f.Count, Seconds: round(float64(f.Seconds), 2),
		})
	}
	for _, q := range m.Demands {
		out.Demands = append(out.Demands, SheetDemand{
			What: q.What, Letter: q.Letter, AtS: round(float64(q.At), 2), AtM: round(float64(q.AtM), 2),
			PrepareM: round(float64(q.PrepareM), 2), NeedsS: round(float64(q.Needs), 2), HasS: round(float64(q.Has), 2),
			NeedsStrides: round(q.NeedsStrides, 1), HasStrides: round(q.HasStrides, 1),
			Pressure: round(finitePressure(q.Pressure), 3), Source: q.Source,
		})
	}
	return out
}

func finitePressure(v float64) float64 {
	if math.IsNaN(v) || v > MaxPressure {
		return MaxPressure
	}
	return v
}

func kindNames(m *rideplan.Movement) []string {
	out := []string{}
	for _, k := range m.Kinds() {
		out = append(out, string(k))
	}
	return out
}
