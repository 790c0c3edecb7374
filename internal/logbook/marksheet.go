package logbook

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/judging"
	"ringcraft/internal/sheet"
)

// MarkRow is one line of a judge's paper sheet as it is typed: Mark is kept as entered.
type MarkRow struct {
	What         string // as the marks file names it: "3" or "collective:Rider"
	Number       int    // of the movement, 0 for a collective
	Letters      string
	Text         string
	Coefficient  int
	Mark, Remark string
	Fault        string // why the mark cannot be, and what is allowed; "" when it can
}

// MarkError is an error of course or another deduction written on the sheet.
type MarkError struct {
	Kind, Note string
	Fault      string
}

// MarkSheet is the sheet of one judge as it is typed.
type MarkSheet struct {
	Judge, Place string
	Rows         []MarkRow
	Errors       []MarkError
	// Taught says that the judge also taught the combination since its last ride.
	Taught bool
}

// faulty reports whether anything on the sheet cannot be.
func (m MarkSheet) faulty() int {
	n := 0
	for _, r := range m.Rows {
		if r.Fault != "" {
			n++
		}
	}
	for _, e := range m.Errors {
		if e.Fault != "" {
			n++
		}
	}
	return n
}

// Marking is a ride's marks on paper: who has marked, and the sheet of one of them.
type Marking struct {
	Ride    Ride
	Pair    Pair
	Sheet   Sheet
	Plan    *Plan
	Rules   *judging.Rules
	Typed   MarkSheet
	Judges  []judging.JudgeScore // of the marks file with this sheet in it
	Result  judging.Result
	Seen    int    // number of the marks file this is made from; -1 before the first
	Tapped  bool   // marks were tapped at the rail; a sheet of paper stands in their place
	Message string // what is wrong with the sheet as a whole
	card    judging.Card
}

// MarkingOf opens the sheet of one judge of a ride: empty, or as it was typed or imported before.
func (b *Book) MarkingOf(ctx context.Context, rideID, judge string) (*Marking, error) {
	m, err := b.markingBase(ctx, rideID)
	if err != nil {
		return nil, err
	}
	m.Typed = MarkSheet{Judge: judge, Rows: markRows(m.Plan), Taught: m.Ride.Taught}
	for _, k := range m.card.Marks {
		if !sameJudge(k.Judge, judge) {
			continue
		}
		m.Typed.Judge, m.Typed.Place = k.Judge, k.Place
		for i, r := range m.Typed.Rows {
			if r.What == whatOf(k) {
				m.Typed.Rows[i].Mark, m.Typed.Rows[i].Remark = k.Mark.String(), k.Remark
			}
		}
	}
	for _, e := range m.card.Errors {
		if sameJudge(e.Judge, judge) {
			m.Typed.Errors = append(m.Typed.Errors, MarkError{Kind: e.Kind, Note: e.Note})
		}
	}
	m.score(m.card)
	return m, nil
}

// markingBase reads what is known of a ride's marks; the last marks file is the one that counts.
func (b *Book) markingBase(ctx context.Context, rideID string) (*Marking, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return nil, err
	}
	g, err := b.gatherRecords(ctx, r)
	if err != nil {
		return nil, err
	}
	m := &Marking{Ride: r, Pair: g.pair, Sheet: g.sheet, Plan: b.PlanOf(g.sheet.Name, g.sheet.Text, g.pair.Horse.Profile), Seen: -1, Tapped: marksOf(g.notes) != nil}
	id := r.Rules
	if id == "" {
		id = m.Plan.Rules
	}
	if m.Rules, err = judging.RulesByID(id); err != nil {
		if m.Rules, err = judging.RulesByID(""); err != nil {
			return nil, err
		}
	}
	if f, ok := lastMarks(r); ok {
		m.Seen = f.Seq
		data, err := b.Recordings.Read(ctx, f.Blob, MaxText)
		if err != nil {
			return nil, err
		}
		m.card, _ = judging.ReadMarks(f.Name, data, m.Plan, m.Rules)
	}
	return m, nil
}

func lastMarks(r Ride) (File, bool) {
	all := r.FilesOf(RoleMarks)
	if len(all) == 0 {
		return File{}, false
	}
	return all[len(all)-1], true
}

// markRows are the lines of a sheet: its movements, then its collective marks.
func markRows(p *Plan) []MarkRow {
	var out []MarkRow
	for _, mv := range p.Movements {
		out = append(out, MarkRow{What: fmt.Sprint(mv.Number), Number: mv.Number, Letters: mv.Letters, Text: mv.Text, Coefficient: max(mv.Coefficient, 1)})
	}
	for _, c := range p.Collectives {
		out = append(out, MarkRow{What: "collective:" + c.Name, Text: c.Name, Coefficient: max(c.Coefficient, 1)})
	}
	return out
}

func whatOf(k judging.Mark) string {
	if k.Collective != "" {
		return "collective:" + k.Collective
	}
	return fmt.Sprint(k.Movement)
}

func sameJudge(a, b string) bool { return strings.EqualFold(a, b) }

// TryMarks reads a sheet as far as it is typed: every line that cannot be has its fault, and the
// total is of what can. replaces is the judge whose sheet this was when it was opened, "" for a new
// one. Nothing is stored.
func (b *Book) TryMarks(ctx context.Context, rideID, replaces string, typed MarkSheet) (*Marking, error) {
	m, err := b.markingBase(ctx, rideID)
	if err != nil {
		return nil, err
	}
	_, err = m.read(replaces, typed)
	return m, err
}

// read checks the typed sheet line by line with the reader of marks files, so that a sheet typed
// and a sheet imported are held to the same rules. It returns the rows of the whole marks file.
func (m *Marking) read(replaces string, typed MarkSheet) ([][]string, error) {
	tidySheet(&typed)
	m.Typed = typed
	m.Typed.Rows = mergeRows(markRows(m.Plan), typed.Rows)
	others := m.without(replaces)
	switch {
	case m.Typed.Judge == "":
		m.Message = "Say which judge marked: a name, or the letter where the judge sits."
	case utf8.RuneCountInString(m.Typed.Judge) > MaxName || utf8.RuneCountInString(m.Typed.Place) > MaxName:
		m.Message = fmt.Sprintf("A judge's name and place have at most %d characters.", MaxName)
	}
	for _, k := range others.Marks {
		if sameJudge(k.Judge, m.Typed.Judge) {
			m.Message = fmt.Sprintf("There is a sheet of %s already. Open that one, or name this judge otherwise.", k.Judge)
		}
	}
	rows, at := m.typedRows()
	card, ps := judging.ReadMarks("marks", csvOf(rows), m.Plan, m.Rules)
	m.blame(ps, at)
	whole := append(cardRows(others), rows[1:]...)
	both := judging.Card{Marks: append(others.Marks, card.Marks...), Errors: append(others.Errors, card.Errors...)}
	m.score(both)
	if len(card.Marks) == 0 && m.Message == "" && m.Typed.faulty() == 0 {
		m.Message = "No mark is typed yet."
	}
	return append([][]string{rows[0]}, whole...), nil
}

// tidySheet puts every field on one line; what a person typed is kept otherwise.
func tidySheet(t *MarkSheet) {
	line := func(s *string) { *s = strings.Join(strings.Fields(strings.ToValidUTF8(*s, "")), " ") }
	line(&t.Judge)
	line(&t.Place)
	t.Rows = slices.Clone(t.Rows)
	for i := range t.Rows {
		line(&t.Rows[i].Mark)
		line(&t.Rows[i].Remark)
		t.Rows[i].Fault = ""
	}
	t.Errors = slices.Clone(t.Errors)
	for i := range t.Errors {
		line(&t.Errors[i].Kind)
		line(&t.Errors[i].Note)
		t.Errors[i].Fault = ""
	}
}

// mergeRows puts what was typed into the lines of the sheet by what they are for.
func mergeRows(rows, typed []MarkRow) []MarkRow {
	for i := range rows {
		for _, t := range typed {
			if t.What == rows[i].What {
				rows[i].Mark, rows[i].Remark = t.Mark, t.Remark
			}
		}
	}
	return rows
}

// without is the card without one judge's sheet.
func (m *Marking) without(judge string) judging.Card {
	var out judging.Card
	for _, k := range m.card.Marks {
		if judge == "" || !sameJudge(k.Judge, judge) {
			out.Marks = append(out.Marks, k)
		}
	}
	for _, e := range m.card.Errors {
		if judge == "" || !sameJudge(e.Judge, judge) {
			out.Errors = append(out.Errors, e)
		}
	}
	return out
}

// lineOfSheet says which field a line of the marks file came from: a row, or an error below them.
type lineOfSheet struct{ row, err int }

// typedRows writes the sheet as lines of a marks file, the header first, and says for each line
// where it came from. A remark without a mark is blamed here: a marks file has no place for it.
func (m *Marking) typedRows() (rows [][]string, at map[int]lineOfSheet) {
	rows, at = [][]string{{"movement", "judge", "mark", "remark", "place"}}, map[int]lineOfSheet{}
	for i, r := range m.Typed.Rows {
		switch {
		case utf8.RuneCountInString(r.Remark) > MaxNoteText || len(r.Mark) > 40:
			m.Typed.Rows[i].Fault = fmt.Sprintf("too long; a remark has at most %d characters", MaxNoteText)
		case r.Mark == "" && r.Remark != "":
			m.Typed.Rows[i].Fault = "a remark needs its mark; allowed: " + m.Rules.AllowedMarks()
		case r.Mark != "":
			rows = append(rows, []string{r.What, m.Typed.Judge, r.Mark, r.Remark, m.Typed.Place})
			at[len(rows)] = lineOfSheet{i, -1}
		}
	}
	for i, e := range m.Typed.Errors {
		if e.Kind == "" {
			if e.Note != "" {
				m.Typed.Errors[i].Fault = "say what it was; allowed: " + strings.Join(m.Rules.Kinds(), ", ")
			}
			continue
		}
		rows = append(rows, []string{errorName(e.Kind), m.Typed.Judge, "", e.Note, m.Typed.Place})
		at[len(rows)] = lineOfSheet{-1, i}
	}
	return rows, at
}

// blame puts what the reader found at the fields it is about.
func (m *Marking) blame(ps []sheet.Problem, at map[int]lineOfSheet) {
	for _, p := range ps {
		if p.Severity != sheet.Error {
			continue
		}
		words := p.Message
		if p.Suggestion != "" {
			words += "; " + p.Suggestion
		}
		where, known := at[p.Line]
		switch {
		case known && where.row >= 0:
			m.Typed.Rows[where.row].Fault = words
		case known:
			m.Typed.Errors[where.err].Fault = words
		case len(at) > 0:
			m.Message = words
		}
	}
}

func (m *Marking) score(card judging.Card) {
	m.Judges, m.Result = nil, judging.Result{}
	if len(card.Marks) > 0 {
		m.Result = judging.Score(m.Plan, card, m.Rules)
		m.Judges = m.Result.Judges
	}
}

// cardRows writes a card as lines of a marks file.
func cardRows(c judging.Card) [][]string {
	var out [][]string
	for _, k := range c.Marks {
		out = append(out, []string{whatOf(k), k.Judge, k.Mark.String(), k.Remark, k.Place})
	}
	for _, e := range c.Errors {
		out = append(out, []string{errorName(e.Kind), e.Judge, "", e.Note, ""})
	}
	return out
}

// errorName is a deduction as a marks file names it.
func errorName(kind string) string {
	if kind == "error" {
		return kind
	}
	return "error:" + kind
}

func csvOf(rows [][]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.WriteAll(rows) // into memory: cannot fail
	return b.Bytes()
}

// KeepMarks stores a judge's sheet, all of it or nothing: as one more marks file of the ride, which
// holds the other judges' sheets too. Earlier files stay. seen is the marks file the sheet was
// opened from; when another was stored meanwhile it is a Conflict and nothing is stored.
func (b *Book) KeepMarks(ctx context.Context, rideID, replaces string, seen int, typed MarkSheet) (*Marking, error) {
	m, err := b.markingBase(ctx, rideID)
	if err != nil {
		return nil, err
	}
	rows, err := m.read(replaces, typed)
	if err != nil {
		return m, err
	}
	if n := m.Typed.faulty(); n > 0 && m.Message == "" {
		m.Message = fmt.Sprintf("%d of the lines cannot be; they say what is allowed.", n)
	}
	if m.Message != "" {
		return m, Errorf(Invalid, "%s Nothing was stored.", m.Message)
	}
	if seen != m.Seen {
		m.Message = "The marks of this ride were changed meanwhile, perhaps on another device. What you typed is still here: look at the sheet as it is now, then keep yours again."
		return m, Errorf(Conflict, "%s", m.Message)
	}
	data := csvOf(rows)
	blob, err := b.Recordings.Put(ctx, bytes.NewReader(data), MaxText)
	if err != nil {
		return m, err
	}
	f := File{Role: RoleMarks, Seq: m.Seen + 1, Blob: blob.SHA256, Name: "marks as typed.csv", Media: "text/csv", Size: blob.Size, Added: b.Now()}
	return m, b.Atomically(ctx, func(s Store) error { return keepMarksFile(ctx, s, rideID, f, m.Typed) })
}

// keepMarksFile adds the file and notes who marked when that was not known.
func keepMarksFile(ctx context.Context, s Store, rideID string, f File, typed MarkSheet) error {
	if err := s.AddFile(ctx, rideID, f); err != nil {
		return err
	}
	r, err := s.Ride(ctx, rideID)
	if err != nil {
		return err
	}
	if r.MarkedBy != "" && r.Taught == typed.Taught {
		return nil
	}
	if r.MarkedBy == "" {
		r.MarkedBy = typed.Judge
	}
	r.Taught = typed.Taught
	return s.PutRide(ctx, r)
}
