package judging

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// ReadMarks reads a marks file, CSV with the columns movement,judge,mark,remark and
// optionally place. A movement is a number, "collective:Rider" or "error" ("error:late
// entry" for another kind). A judge may be a name or the letter where the judge sits. Bad
// lines are reported with their line and what is allowed; good ones are kept.
func ReadMarks(file string, data []byte, plan *rideplan.Plan, rules *Rules) (Card, []sheet.Problem) {
	m := &marksReader{file: file, plan: plan, rules: rules, seen: map[string]int{}}
	data = m.decode(data)
	if len(bytes.TrimSpace(data)) == 0 {
		m.say(1, 1, sheet.Error, "the marks file is empty", "allowed: lines movement,judge,mark,remark")
		return m.card, m.problems
	}
	cr := csv.NewReader(bytes.NewReader(data))
	cr.Comma = delimiter(data)
	cr.FieldsPerRecord = -1
	cr.LazyQuotes = true
	cr.TrimLeadingSpace = true
	for first := true; ; {
		rec, err := cr.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line, col := 1, 1
			var pe *csv.ParseError
			if errors.As(err, &pe) {
				line, col = pe.Line, pe.Column
			}
			m.say(line, col, sheet.Error, "the line cannot be read as CSV: "+err.Error(), "allowed: movement,judge,mark,remark")
			continue
		}
		line, _ := cr.FieldPos(0)
		if blank(rec) || strings.HasPrefix(strings.TrimSpace(rec[0]), "#") {
			continue
		}
		if first && m.header(rec, line) {
			first = false
			continue
		}
		if first {
			m.columns = []string{"movement", "judge", "mark", "remark", "place"}
			first = false
		}
		m.row(rec, line, cr)
	}
	m.missing()
	return m.card, m.problems
}

type marksReader struct {
	file     string
	plan     *rideplan.Plan
	rules    *Rules
	columns  []string
	card     Card
	seen     map[string]int
	problems []sheet.Problem
}

func (m *marksReader) say(line, col int, sev sheet.Severity, msg, allowed string) {
	m.problems = append(m.problems, sheet.Problem{File: m.file, Pos: sheet.Pos{Line: line, Column: col}, Severity: sev, Message: msg, Suggestion: allowed})
}

func (m *marksReader) decode(data []byte) []byte {
	if bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF}) { // "Unicode text" of a spreadsheet
		if out, err := unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder().Bytes(data); err == nil {
			m.say(1, 1, sheet.Note, "the file is not UTF-8; read as UTF-16", "")
			data = out
		}
	}
	data = bytes.TrimPrefix(data, []byte{0xEF, 0xBB, 0xBF})
	if !utf8.Valid(data) {
		if out, err := charmap.Windows1252.NewDecoder().Bytes(data); err == nil {
			m.say(1, 1, sheet.Note, "the file is not UTF-8; read as Windows-1252 (Latin-1)", "")
			data = out
		}
	}
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	return bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
}

// delimiter is the one of comma, semicolon and tab that the first line has most of.
func delimiter(data []byte) rune {
	line, _, _ := bytes.Cut(data, []byte("\n"))
	best, n := ',', bytes.Count(line, []byte(","))
	for _, d := range []rune{';', '\t'} {
		if c := bytes.Count(line, []byte(string(d))); c > n {
			best, n = d, c
		}
	}
	return best
}

func blank(rec []string) bool {
	for _, f := range rec {
		if strings.TrimSpace(f) != "" {
			return false
		}
	}
	return true
}

var markColumns = []string{"movement", "judge", "mark", "remark", "place"}

// header reads the names of the columns; false when the first line is no header.
func (m *marksReader) header(rec []string, line int) bool {
	known := 0
	var cols []string
	for _, f := range rec {
		name := strings.ToLower(strings.TrimSpace(f))
		for _, c := range markColumns {
			if name == c || name == c+"s" {
				name = c
				known++
			}
		}
		cols = append(cols, name)
	}
	if known < 2 {
		return false
	}
	m.columns = cols
	for _, need := range []string{"movement", "mark"} {
		if !contains(cols, need) {
			m.say(line, 1, sheet.Error, fmt.Sprintf("the column %q is missing", need), "allowed: movement,judge,mark,remark and place")
		}
	}
	for i, c := range cols {
		if c != "" && !contains(markColumns, c) {
			m.say(line, i+1, sheet.Warning, fmt.Sprintf("the column %q is not used", c), "did you mean "+nearest(c, markColumns)+"?")
		}
	}
	return true
}

func contains(list []string, s string) bool {
	for _, l := range list {
		if l == s {
			return true
		}
	}
	return false
}

func (m *marksReader) field(rec []string, name string) (string, int) {
	for i, c := range m.columns {
		if c == name && i < len(rec) {
			return strings.TrimSpace(rec[i]), i
		}
	}
	return "", 0
}

func (m *marksReader) row(rec []string, line int, cr *csv.Reader) {
	col := func(i int) int {
		if i >= len(rec) {
			return 1
		}
		_, c := cr.FieldPos(i)
		return c
	}
	if m.tooManyCells(rec, line, col) {
		return
	}
	movement, mi := m.field(rec, "movement")
	judge, _ := m.field(rec, "judge")
	text, ti := m.field(rec, "mark")
	mark := Mark{Judge: judge, Line: line}
	mark.Remark, _ = m.field(rec, "remark")
	mark.Place, _ = m.field(rec, "place")
	if judge == "" {
		mark.Judge = firstOf(mark.Place, "judge")
	}
	if m := placeInName.FindStringSubmatch(mark.Judge); m != nil && mark.Place == "" {
		mark.Place = strings.ToUpper(m[1])
	}
	if isPlace(mark.Judge) {
		mark.Judge = strings.ToUpper(mark.Judge)
	}
	if mark.Place == "" && isPlace(mark.Judge) {
		mark.Place = strings.ToUpper(mark.Judge)
	}
	if kind, ok := errorRow(movement); ok {
		m.errorOfCourse(kind, mark, text, line, col(mi))
		return
	}
	if !m.name(&mark, movement, line, col(mi)) {
		return
	}
	t, ok := parseMark(text)
	if inside := strings.Count(text, "\n"); !ok && inside > 0 {
		m.say(line, col(ti), sheet.Error, fmt.Sprintf("a quotation mark opened here is not closed: %d line(s) after it were not read", inside), "allowed: the mark without quotation marks, or closed ones")
		return
	}
	if !ok {
		m.say(line, col(ti), sheet.Error, fmt.Sprintf("%q is not a mark", text), "allowed: "+m.rules.AllowedMarks())
		return
	}
	if allowed, ok := m.rules.CheckMark(Tenths(t)); !ok || t != float64(int(t)) {
		if ok {
			allowed = "allowed: " + m.rules.AllowedMarks()
		} else if _, fits := m.rules.CheckMark(Tenths(t / 10)); fits && t > 100 && t == float64(int(t/10)*10) {
			allowed = fmt.Sprintf("allowed: %s; did you mean %g?", m.rules.AllowedMarks(), t/100)
		}
		m.say(line, col(ti), sheet.Error, fmt.Sprintf("the mark %s for %s is not allowed", text, movement), allowed)
		return
	}
	mark.Mark = Tenths(t)
	key := strings.ToLower(fmt.Sprintf("%d|%s|%s", mark.Movement, mark.Collective, mark.Judge))
	if before, twice := m.seen[key]; twice {
		m.problems = append(m.problems, sheet.Problem{File: m.file, Pos: sheet.Pos{Line: line, Column: col(mi)}, Severity: sheet.Error,
			Message:    fmt.Sprintf("%s has two marks from %s; the first is kept", movement, mark.Judge),
			Suggestion: "allowed: one mark for each movement and judge", Also: &sheet.Pos{Line: before, Column: 1}})
		return
	}
	m.seen[key] = line
	if mark.Mark == 0 {
		m.say(line, col(ti), sheet.Note, fmt.Sprintf("a zero for %s: only where nothing of it was shown", movement), "")
	}
	m.card.Marks = append(m.card.Marks, mark)
}

// tooManyCells refuses a line that a decimal comma, or a comma inside a remark, has cut into
// more cells than meant: read on, half a mark would be lost without a word.
func (m *marksReader) tooManyCells(rec []string, line int, col func(int) int) bool {
	const allowed = "write 6.5 or \"6,5\", put a remark with a comma in quotes, or use ; between the cells"
	for i := len(m.columns); i < len(rec); i++ {
		if strings.TrimSpace(rec[i]) != "" {
			m.say(line, col(i), sheet.Error, fmt.Sprintf("the line has %d cells, the header has %d: a decimal comma?", len(rec), len(m.columns)), allowed)
			return true
		}
	}
	remark, at := m.field(rec, "remark")
	mark, mi := m.field(rec, "mark")
	if _, err := strconv.Atoi(mark); err == nil && at == mi+1 && (remark == "5" || remark == "0") {
		m.say(line, col(at), sheet.Error, fmt.Sprintf("the mark %s with the remark %q: a decimal comma?", mark, remark), allowed)
		return true
	}
	return false
}

func firstOf(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// placeInName finds the place in "judge at C" and "Judge E".
var placeInName = regexp.MustCompile(`(?i)^(?:.* at|judge) ([CEBHMKF])$`)

// isPlace reports whether a judge is named by a letter of the arena where judges sit.
func isPlace(s string) bool { return len(s) == 1 && strings.Contains("CEBHMKF", strings.ToUpper(s)) }

func errorRow(movement string) (kind string, ok bool) {
	head, kind, _ := strings.Cut(movement, ":")
	switch strings.ToLower(strings.TrimSpace(head)) {
	case "error", "errors", "error of course":
		return strings.TrimSpace(kind), true
	}
	return "", false
}

// parseMark reads a mark in tenths; "6,5" and "6.5" are both half marks.
func parseMark(s string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(s), ",", ".", 1), 64)
	if err != nil || v != v || v > 1e6 || v < -1e6 {
		return 0, false
	}
	t := v * 10
	if n := float64(int(t + 0.5)); t >= 0 && t-n < 1e-9 && n-t < 1e-9 {
		t = n
	}
	return t, true
}

// name finds the movement or collective that a line speaks of.
func (m *marksReader) name(mark *Mark, movement string, line, col int) bool {
	if head, name, ok := strings.Cut(movement, ":"); ok && strings.EqualFold(strings.TrimSpace(head), "collective") {
		return m.collective(mark, strings.TrimSpace(name), line, col)
	}
	n, err := strconv.Atoi(strings.TrimSpace(strings.TrimPrefix(strings.ToLower(strings.TrimSuffix(movement, ".")), "movement")))
	if err == nil && m.plan.MovementByNumber(n) != nil {
		mark.Movement = n
		return true
	}
	for _, c := range m.plan.Collectives {
		if strings.EqualFold(c.Name, strings.TrimSpace(movement)) {
			mark.Collective = c.Name
			return true
		}
	}
	m.say(line, col, sheet.Error, fmt.Sprintf("the sheet has no movement %q", movement), m.movementsAllowed(movement))
	return false
}

func (m *marksReader) movementsAllowed(near string) string {
	var names []string
	for _, mv := range m.plan.Movements {
		names = append(names, strconv.Itoa(mv.Number))
	}
	span := "none"
	if len(names) > 0 {
		span = names[0] + " to " + names[len(names)-1]
	}
	for _, c := range m.plan.Collectives {
		names = append(names, "collective:"+c.Name)
	}
	names = append(names, "error")
	return fmt.Sprintf("allowed: %s, collective:NAME, error; the nearest is %s", span, nearest(near, names))
}

func (m *marksReader) collective(mark *Mark, name string, line, col int) bool {
	var names []string
	for _, c := range m.plan.Collectives {
		if strings.EqualFold(c.Name, name) {
			mark.Collective = c.Name
			return true
		}
		names = append(names, c.Name)
	}
	allowed := "the sheet has no collective marks"
	if len(names) > 0 {
		allowed = "allowed: " + strings.Join(names, ", ") + "; the nearest is " + nearest(name, names)
	}
	m.say(line, col, sheet.Error, fmt.Sprintf("the sheet has no collective mark %q", name), allowed)
	return false
}

func (m *marksReader) errorOfCourse(kind string, mark Mark, text string, line, col int) {
	if kind != "" && !strings.EqualFold(kind, "error") {
		if d, ok := m.rules.otherKind(kind); ok {
			kind = d.Kind
		} else {
			m.say(line, col, sheet.Error, fmt.Sprintf("the rule set %s has no deduction %q", m.rules.ID, kind),
				"allowed: "+strings.Join(m.rules.Kinds(), ", ")+"; the nearest is "+nearest(kind, m.rules.Kinds()))
			return
		}
	} else {
		kind = "error"
	}
	if text != "" {
		m.say(line, col, sheet.Note, fmt.Sprintf("an error line counts as one error; the figure %q beside it is not used, the deduction comes from the rule set %s", text, m.rules.ID), "")
	}
	m.card.Errors = append(m.card.Errors, ErrorOfCourse{Judge: mark.Judge, Kind: kind, Note: mark.Remark, Line: line})
}

// missing lists, for each judge, what has no mark.
func (m *marksReader) missing() {
	for _, j := range judges(m.card) {
		s := addUp(m.plan, m.card, j, m.rules)
		if len(s.Missing) > 0 {
			m.say(1, 1, sheet.Warning, fmt.Sprintf("%s gave no mark for %s; the percent is of what was marked", s.name(), strings.Join(s.Missing, ", ")),
				"add the marks, or leave them out knowingly")
		}
	}
	for _, e := range m.card.Errors {
		known := e.Judge == "judge"
		for _, j := range judges(m.card) {
			known = known || j.Judge == e.Judge
		}
		if !known {
			m.say(e.Line, 1, sheet.Warning, fmt.Sprintf("%s has an error of course but no marks", e.Judge), "add the judge's marks")
		}
	}
	if len(m.card.Marks) == 0 && !sheet.HasErrors(m.problems) {
		m.say(1, 1, sheet.Warning, "the file holds no mark", "allowed: lines movement,judge,mark,remark")
	}
}
