package main

import (
	"context"
	"fmt"
	"mime"
	"path/filepath"
	"strings"
	"time"

	"ringcraft/internal/logbook"
)

type rideKeepCmd struct {
	dataOption
	Rider  string `required:"" help:"The rider; written down when new." placeholder:"NAME"`
	Horse  string `required:"" help:"The horse; written down when new." placeholder:"NAME"`
	Minor  bool   `help:"The rider is a minor: a guardian must agree to recordings."`
	Sheet  string `required:"" help:"The sheet that was ridden; kept when it is not in the book yet." placeholder:"FILE"`
	Date   string `help:"The day; default: today." placeholder:"2026-05-31"`
	Show   bool   `help:"It was ridden at a show."`
	Place  string `help:"Where it was." placeholder:"WHERE"`
	Track  string `help:"The recording: GPX, FIT, NMEA or CSV. Needs consent." placeholder:"F"`
	Motion string `help:"Accelerometer and gyroscope beside the positions, from the same device or another: CSV." placeholder:"F.csv"`
	aboutTrack
	Recorder   string `help:"Class of recorder: survey, uwb, rtk, sport, phone or unknown." placeholder:"CLASS"`
	Arena      string `help:"Surveyed letters of the arena." placeholder:"F.json"`
	Commentary string `help:"WebVTT, SRT, or text with a time on each line." placeholder:"F"`
	Marks      string `help:"Marks: movement,judge,mark,remark." placeholder:"F.csv"`
	Rules      string `help:"Rule set; default: the sheet's own." placeholder:"ID"`
	GivenBy    string `help:"Who agreed to the recording; asked once." placeholder:"NAME"`
	Guardian   bool   `help:"They agreed as the guardian of a minor."`
}

// Run keeps a ride in the book, or, when something cannot be read or nobody agreed to the recording,
// nothing.
func (o *rideKeepCmd) Run(c *console) error {
	text, err := readFile(o.Sheet)
	if err != nil {
		return err
	}
	files, err := o.files()
	if err != nil {
		return err
	}
	dir, err := o.dir()
	if err != nil {
		return err
	}
	s, err := openData(c.ctx, dir)
	if err != nil {
		return c.told(err)
	}
	defer s.Close()
	ride, err := o.keep(c, s.book(nil), string(text), files)
	if err != nil {
		return stopped(c.told(err), "the ride was not kept, nor any file of it; rider, horse and sheet stay written down")
	}
	fmt.Fprintf(c.Out, "kept in %s: ride %s; see it with: ringcraft serve\n", dir, ride.ID)
	return nil
}

func (o *rideKeepCmd) files() ([]logbook.GivenFile, error) {
	var out []logbook.GivenFile
	for _, f := range []struct {
		role logbook.Role
		name string
	}{{logbook.RoleTrack, o.Track}, {logbook.RoleMotion, o.Motion}, {logbook.RoleArena, o.Arena}, {logbook.RoleCommentary, o.Commentary}, {logbook.RoleMarks, o.Marks}} {
		if f.name == "" {
			continue
		}
		b, err := readFile(f.name)
		if err != nil {
			return nil, err
		}
		out = append(out, logbook.GivenFile{Role: f.role, Name: f.name, Media: mime.TypeByExtension(filepath.Ext(f.name)), Data: b})
	}
	return out, nil
}

// keep writes down what is new of rider, horse and sheet, then the ride.
func (o *rideKeepCmd) keep(c *console, book *logbook.Book, sheetText string, files []logbook.GivenFile) (logbook.Ride, error) {
	date := logbook.Date(o.Date)
	if date == "" {
		date = logbook.DateOf(time.Now())
	}
	pair, err := o.pair(c, book)
	if err != nil {
		return logbook.Ride{}, err
	}
	sh, err := sheetInBook(c, book, sheetText)
	if err != nil {
		return logbook.Ride{}, err
	}
	kind := logbook.Training
	if o.Show {
		kind = logbook.Show
	}
	ctx, end := c.withProgress()
	defer end()
	about := o.about()
	if o.Ride == "first" {
		if about, err = o.firstRide(ctx, sheetText, files); err != nil {
			return logbook.Ride{}, err
		}
	}
	return book.AddRide(ctx, logbook.NewRide{CombinationID: pair, SheetID: sh, Date: date, Kind: kind, Place: o.Place, Recorder: o.Recorder, Rules: o.Rules,
		Files: files, About: about, Tell: func(ps []logbook.Problem) { o.tell(c, ps) }, Consent: &logbook.GivenConsent{By: o.GivenBy, Guardian: o.Guardian}})
}

// firstRide says of the recording that the first ride in it is meant.
func (o *rideKeepCmd) firstRide(ctx context.Context, sheetText string, files []logbook.GivenFile) (logbook.AboutTrack, error) {
	in := logbook.ReviewInput{Sheet: logbook.Given{Name: o.Sheet, Data: []byte(sheetText)}, Recorder: o.Recorder, About: o.about()}
	for _, f := range files {
		switch f.Role {
		case logbook.RoleTrack:
			in.Track = &logbook.Given{Name: f.Name, Data: f.Data}
		case logbook.RoleArena:
			in.Arena = &logbook.Given{Name: f.Name, Data: f.Data}
		}
	}
	in, err := logbook.FirstRide(ctx, in)
	return in.About, err
}

// tell shows what was noticed about the files; what there is to say of the sheet stands at its name in the book.
func (o *rideKeepCmd) tell(c *console, ps []logbook.Problem) {
	for _, f := range []string{o.Track, o.Motion, o.Arena, o.Commentary, o.Marks} {
		for _, p := range ps {
			if f != "" && p.File == filepath.Base(f) {
				fmt.Fprintln(c.Err, p)
			}
		}
	}
}

func (o *rideKeepCmd) pair(c *console, book *logbook.Book) (string, error) {
	pairs, err := book.Pairs(c.ctx)
	if err != nil {
		return "", err
	}
	for _, p := range pairs {
		if strings.EqualFold(p.Rider.Name, o.Rider) && strings.EqualFold(p.Horse.Name, o.Horse) && (p.Rider.Minor || !o.Minor) {
			return p.ID, nil
		}
	}
	n, err := book.AddCombination(c.ctx, logbook.NewCombination{Rider: o.Rider, Horse: o.Horse, Minor: o.Minor})
	return n.ID, err
}

// sheetInBook finds the sheet of this text, or keeps it: as a new version when there is one of its
// name.
func sheetInBook(c *console, book *logbook.Book, text string) (string, error) {
	plan, err := book.TrySheet("sheet", text)
	if err != nil {
		return "", err
	}
	all, err := book.Sheets(c.ctx)
	if err != nil {
		return "", err
	}
	for _, sh := range all {
		if sh.Text == text {
			return sh.ID, nil
		}
	}
	for _, sh := range all {
		if strings.EqualFold(sh.Name, strings.TrimSpace(plan.Name)) {
			_, _, err := book.SaveSheet(c.ctx, sh.ID, sh.Version, text)
			return sh.ID, err
		}
	}
	sh, _, err := book.SaveSheet(c.ctx, "", 0, text)
	return sh.ID, err
}
