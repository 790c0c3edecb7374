// Package demo fills a book with an invented yard: two combinations over some weeks, rides of
// one sheet with lessons between, a show that left only a judge's sheet. Its recordings come
// from the simulator and say so; whoever looks at them sees the label.
//
// One of the two combinations really rides better the second time. The other is only marked
// better by the person who taught it; what was measured did not move beyond its doubt.
package demo

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"ringcraft/internal/logbook"
	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// version is raised when the yard changes, so that an older one is replaced.
const version = "2"

// SheetID is the demo sheet's id in the book.
const SheetID = "demo-sheet"

// The rides of the demo, for those who show or check it.
const (
	BetterBefore, BetterAfter = "demo-quillon-1", "demo-quillon-2"   // a real improvement
	SeemsBefore, SeemsAfter   = "demo-larkspur-1", "demo-larkspur-2" // only the marks went up
	ShowRide                  = "demo-quillon-3"                     // a judge's sheet, nothing else
)

//go:embed data/yard.json
var yardJSON []byte

//go:embed data/willow-ford-elementary.sheet
var sheetText string

// SheetText is the text of the demo sheet.
func SheetText() string { return sheetText }

type yardData struct {
	Yards        []logbook.Yard    `json:"yards"`
	Pairs        []pairData        `json:"pairs"`
	Rides        []rideData        `json:"rides"`
	Lessons      []lessonData      `json:"lessons"`
	Appointments []appointmentData `json:"appointments"`
}

type pairData struct {
	ID, Rider, Horse, Yard, Level, Remark string
	Minor                                 bool
	Guardian                              string
	HorseRemark                           string `json:"horse_remark"`
	Profile                               json.RawMessage
}

type rideData struct {
	ID, Pair string
	DaysAgo  int `json:"days_ago"`
	Kind     logbook.RideKind
	Place    string
	Recorder string
	Seed     uint64
	MarkedBy string `json:"marked_by"`
	Judge    string
	Taught   bool
	Faults   *sim.Faults // nil: no recording
	Motion   bool        // a motion sensor with a gyroscope was worn as well
	Marks    [][3]any    // movement or collective, mark, remark
	Said     [][3]any    // movement, seconds after it begins, words
}

type lessonData struct {
	Pair, Ride string
	DaysAgo    int `json:"days_ago"`
	Minutes    int
	Ended      bool
}

type appointmentData struct {
	Pair      string
	DaysAhead int `json:"days_ahead"`
	Start     string
	Minutes   int
	Kind      string
	Lesson    bool // the lesson planned for that day
	Remark    string
}

func data() (yardData, error) {
	var y yardData
	dec := json.NewDecoder(bytes.NewReader(yardJSON))
	if err := dec.Decode(&y); err != nil {
		return y, fmt.Errorf("demo yard: %w", err)
	}
	return y, nil
}

// builder loads the yard into a book of its own clock and ids over the same store.
type builder struct {
	book    *logbook.Book
	today   logbook.Date
	yard    yardData
	lessons map[string]string // lesson planned for today, by pair
	tell    func(string)
}

const (
	kindDemo    = "demo"
	subjectDemo = "yard"
)

// Load puts the demo yard into the book, with its days counted back from today, once: a yard that
// is there already is left as it is. What an interrupted load or an older version left behind is
// replaced. tell hears what is being done; it may be nil.
func Load(ctx context.Context, b *logbook.Book, today logbook.Date, tell func(string)) error {
	if c, err := b.Computed(ctx, kindDemo, subjectDemo); err == nil && c.Stamp == version {
		return nil
	}
	noon, err := time.Parse("2006-01-02 15:04", string(today)+" 12:00")
	if err != nil {
		return err
	}
	y, err := data()
	if err != nil {
		return err
	}
	n := 0
	own := &logbook.Book{Store: b.Store, Recordings: b.Recordings, Now: func() time.Time { return noon },
		NewID: func() string { n++; return fmt.Sprintf("demo-%03d", n) }}
	if tell == nil {
		tell = func(string) {}
	}
	d := &builder{book: own, today: today, yard: y, lessons: map[string]string{}, tell: tell}
	for _, step := range []func(context.Context) error{d.clear, d.people, d.rides, d.teach, d.plans, d.reviews} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return b.PutComputed(ctx, logbook.Computed{Kind: kindDemo, Subject: subjectDemo, Stamp: version, Value: []byte("{}"), Made: noon})
}

// clear removes what an earlier load left.
func (d *builder) clear(ctx context.Context) error {
	for _, p := range d.yard.Pairs {
		if err := d.book.ForgetRider(ctx, riderID(p)); err != nil {
			return err
		}
		if err := d.book.ForgetHorse(ctx, horseID(p)); err != nil {
			return err
		}
	}
	return d.book.RemoveSheet(ctx, SheetID)
}

func riderID(p pairData) string { return p.ID + "-rider" }
func horseID(p pairData) string { return p.ID + "-horse" }

func (d *builder) people(ctx context.Context) error {
	return d.book.Atomically(ctx, func(s logbook.Store) error {
		for _, y := range d.yard.Yards {
			y.Invented = true
			if err := s.PutYard(ctx, y); err != nil {
				return err
			}
		}
		for _, p := range d.yard.Pairs {
			if err := d.pair(ctx, s, p); err != nil {
				return err
			}
		}
		plan := rideplan.CompileText("demo sheet", sheetText, rideplan.Options{})
		return s.PutSheet(ctx, logbook.Sheet{ID: SheetID, Name: plan.Name, Version: 1, Text: sheetText, Saved: d.book.Now(), Invented: true})
	})
}

func (d *builder) pair(ctx context.Context, s logbook.Store, p pairData) error {
	rider := logbook.Rider{ID: riderID(p), Name: p.Rider, Minor: p.Minor, Invented: true}
	horse := logbook.Horse{ID: horseID(p), Name: p.Horse, Profile: string(p.Profile), Remark: p.HorseRemark, Invented: true}
	if err := s.PutRider(ctx, rider); err != nil {
		return err
	}
	if err := s.PutHorse(ctx, horse); err != nil {
		return err
	}
	for _, what := range []string{logbook.ConsentRide, logbook.ConsentVoice} {
		by := p.Rider
		if p.Minor {
			by = p.Guardian
		}
		c := logbook.Consent{ID: p.ID + "-" + what, RiderID: rider.ID, What: what, GivenBy: by, Guardian: p.Minor, Given: d.book.Now().AddDate(0, 0, -60)}
		if err := s.PutConsent(ctx, c); err != nil {
			return err
		}
	}
	return s.PutCombination(ctx, logbook.Combination{ID: p.ID, RiderID: rider.ID, HorseID: horse.ID, YardID: p.Yard, Level: p.Level, Remark: p.Remark})
}

func (d *builder) rides(ctx context.Context) error {
	for _, r := range d.yard.Rides {
		d.tell("ride " + r.ID)
		n := logbook.NewRide{ID: r.ID, CombinationID: r.Pair, SheetID: SheetID, Date: d.today.Add(-r.DaysAgo), Kind: r.Kind, Place: r.Place, Recorder: r.Recorder,
			MarkedBy: r.MarkedBy, Taught: r.Taught, Simulated: r.Faults != nil, Files: d.files(r)}
		if _, err := d.book.AddRide(ctx, n); err != nil {
			return fmt.Errorf("%s: %w", r.ID, err)
		}
	}
	return nil
}

// files makes what was given with a ride: the recording from the simulator, the commentary on
// its clock, the marks.
func (d *builder) files(r rideData) []logbook.GivenFile {
	out := []logbook.GivenFile{{Role: logbook.RoleMarks, Name: r.ID + "-marks.csv", Media: "text/csv", Data: marksCSV(r)}}
	if r.Faults == nil {
		return out
	}
	horse, _ := prepare.ReadHorse("demo horse", []byte(d.profileOf(r.Pair))) // embedded, checked by a test
	plan := rideplan.CompileText("demo sheet", sheetText, rideplan.Options{Horse: horse.Profile})
	truth := sim.Ride(plan, *r.Faults, r.Seed)
	sensor, err := sim.Profile(r.Recorder)
	if err != nil {
		sensor = sim.Sensor{}
	}
	if r.Motion {
		felt := sim.RecordMotion(truth, truth.Legs(plan, sim.Going{}, r.Seed), sim.MotionSensor{RateHz: 50, Gyro: true}, r.Seed)
		out = append(out, logbook.GivenFile{Role: logbook.RoleMotion, Name: r.ID + "-motion-simulated.csv", Media: "text/csv", Data: felt})
	}
	return append(out,
		logbook.GivenFile{Role: logbook.RoleTrack, Name: r.ID + "-simulated.csv", Media: "text/csv", Data: sim.Record(truth, sensor, r.Seed)},
		logbook.GivenFile{Role: logbook.RoleCommentary, Name: r.ID + "-said.vtt", Media: "text/vtt", Data: commentary(r, truth)})
}

func (d *builder) profileOf(pair string) string {
	for _, p := range d.yard.Pairs {
		if p.ID == pair {
			return string(p.Profile)
		}
	}
	return ""
}

func marksCSV(r rideData) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write([]string{"movement", "judge", "mark", "remark"})
	for _, m := range r.Marks {
		w.Write([]string{fmt.Sprint(m[0]), r.Judge, fmt.Sprint(m[1]), fmt.Sprint(m[2])})
	}
	w.Flush() // into memory: cannot fail
	return b.Bytes()
}

// commentary writes what was said as WebVTT on the recording's clock.
func commentary(r rideData, truth sim.Truth) []byte {
	var b strings.Builder
	b.WriteString("WEBVTT\n\nNOTE invented commentary of the demo yard\n")
	for _, s := range r.Said {
		movement, after := int(number(s[0])), number(s[1])
		for _, span := range truth.Spans {
			if span.Movement == movement {
				at := float64(span.Start) + after
				fmt.Fprintf(&b, "\n%s --> %s\n%v\n", vtt(at), vtt(at+2.2), s[2])
			}
		}
	}
	return []byte(b.String())
}

func number(v any) float64 {
	f, _ := v.(float64) // the data is embedded and checked by a test
	return f
}

func vtt(s float64) string {
	ms := int(math.Round(s * 1000))
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}

func (d *builder) teach(ctx context.Context) error {
	for _, x := range d.yard.Lessons {
		d.tell("lesson of " + x.Pair)
		l, err := d.book.PlanLesson(ctx, logbook.NewLesson{CombinationID: x.Pair, RideID: x.Ride, Date: d.today.Add(-x.DaysAgo), Minutes: x.Minutes})
		if err != nil {
			return fmt.Errorf("lesson of %s: %w", x.Pair, err)
		}
		if x.Ended {
			begun := d.book.Now().AddDate(0, 0, -x.DaysAgo)
			l.Started, l.Ended = begun, begun.Add(time.Duration(x.Minutes)*time.Minute)
			if err := d.book.PutLesson(ctx, l); err != nil {
				return err
			}
		} else {
			d.lessons[x.Pair] = l.ID
		}
	}
	return nil
}

func (d *builder) plans(ctx context.Context) error {
	for i, x := range d.yard.Appointments {
		a := logbook.Appointment{ID: fmt.Sprintf("demo-appointment-%d", i+1), CombinationID: x.Pair, Date: d.today.Add(x.DaysAhead), Start: x.Start, Minutes: x.Minutes, Kind: x.Kind, Remark: x.Remark}
		if x.Kind == "show" {
			a.SheetID = SheetID
		}
		if x.Lesson {
			a.LessonID = d.lessons[x.Pair]
		}
		if err := d.book.PutAppointment(ctx, a); err != nil {
			return err
		}
	}
	return nil
}

// reviews makes what the pages show, so that the first look need not wait.
func (d *builder) reviews(ctx context.Context) error {
	for _, r := range d.yard.Rides {
		if _, err := d.book.ReviewOf(ctx, r.ID); err != nil {
			return fmt.Errorf("%s: %w", r.ID, err)
		}
	}
	return nil
}
