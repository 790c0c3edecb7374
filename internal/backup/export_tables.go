package backup

import (
	"strconv"
	"strings"
)

// sheetTable is one CSV file of an export.
type sheetTable struct {
	name, head string
	rows       [][]string
}

// tables writes the records as CSV, the names of riders and horses in place of their ids.
func (e *exporter) tables() error {
	names := e.names()
	for _, t := range append(e.peopleTables(names), e.workTables(names)...) {
		if err := e.table(t.name, strings.Split(t.head, ","), t.rows); err != nil {
			return err
		}
	}
	return nil
}

func (e *exporter) peopleTables(names map[string]string) []sheetTable {
	var riders, horses, yards, combos, consents [][]string
	for _, r := range e.r.Riders {
		riders = append(riders, []string{r.ID, r.Name, strconv.FormatBool(r.Minor), r.Remark})
	}
	for _, h := range e.r.Horses {
		horses = append(horses, []string{h.ID, h.Name, h.Remark})
	}
	yardNames := map[string]string{}
	for _, y := range e.r.Yards {
		yardNames[y.ID] = y.Name
		yards = append(yards, []string{y.ID, y.Name, y.Place, y.Arena, y.Remark})
	}
	for _, c := range e.r.Combinations {
		combos = append(combos, []string{c.ID, names[c.ID], yardNames[c.YardID], c.Level, c.Remark})
	}
	for _, c := range e.r.Consents {
		consents = append(consents, []string{names[c.RiderID], c.What, c.GivenBy, strconv.FormatBool(c.Guardian), instant(c.Given), instant(c.Withdrawn)})
	}
	return []sheetTable{
		{"riders.csv", "id,name,minor,remark", riders},
		{"horses.csv", "id,name,remark", horses},
		{"yards.csv", "id,name,place,arena,remark", yards},
		{"combinations.csv", "id,combination,yard,level,remark", combos},
		{"consents.csv", "rider,what,given_by,guardian,given,withdrawn", consents},
	}
}

func (e *exporter) workTables(names map[string]string) []sheetTable {
	var rides, notes, lessons, steps, days [][]string
	for _, r := range e.r.Rides {
		rides = append(rides, []string{r.ID, string(r.Date), names[r.CombinationID], r.SheetID, strconv.Itoa(r.SheetVersion),
			string(r.Kind), r.Place, r.Recorder, r.MarkedBy, strconv.Itoa(len(r.Files))})
	}
	for _, n := range e.r.Notes {
		notes = append(notes, []string{n.RideID, n.Device, strconv.FormatInt(n.Seq, 10), seconds(n.AtS), string(n.Kind),
			number(n.Movement), n.Collective, n.Judge, n.Mark, n.Text, n.Undoes, instant(n.Received)})
	}
	for _, l := range e.r.Lessons {
		lessons = append(lessons, []string{l.ID, string(l.Date), names[l.CombinationID], strconv.Itoa(l.Minutes), instant(l.Started), instant(l.Ended), l.Homework})
	}
	for _, s := range e.r.Steps {
		steps = append(steps, []string{s.LessonID, strconv.FormatInt(s.Seq, 10), seconds(s.AtS), string(s.Kind), strconv.Itoa(s.Block), s.Text, instant(s.Received)})
	}
	for _, a := range e.r.Appointments {
		days = append(days, []string{a.ID, string(a.Date), a.Start, strconv.Itoa(a.Minutes), names[a.CombinationID], a.Kind, a.SheetID, a.LessonID, a.Remark})
	}
	return []sheetTable{
		{"rides.csv", "id,date,combination,sheet,sheet_version,kind,place,recorder,marked_by,files", rides},
		{"notes.csv", "ride,device,seq,at_s,kind,movement,collective,judge,mark,text,undoes,received", notes},
		{"lessons.csv", "id,date,combination,minutes,started,ended,homework", lessons},
		{"steps.csv", "lesson,seq,at_s,kind,block,text,received", steps},
		{"appointments.csv", "id,date,start,minutes,combination,kind,sheet,lesson,remark", days},
	}
}
