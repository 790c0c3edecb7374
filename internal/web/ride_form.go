package web

import (
	"net/http"

	"ringcraft/internal/logbook"
)

// rideFormView is the form with which a ride is added. What was typed comes back when something
// is wrong; files must be chosen again, a browser does not let a page fill them in.
type rideFormView struct {
	page
	Pair                       logbook.Pair
	Sheets                     []logbook.Sheet
	SheetID, Date, Kind, Place string
	Recorder, MarkedBy         string
	Taught                     bool
	Recorders, Places          []recorderChoice
	About                      logbook.AboutTrack
	Ask                        consentAsk
	Message                    string
	Problems                   []logbook.Problem
	HadFiles                   bool
}

type recorderChoice struct{ Class, Words string }

// recorders are the classes of track.ImportOptions in the words of the form.
var recorders = []recorderChoice{
	{"unknown", "I do not know"},
	{"phone", "a phone in a pocket"},
	{"sport", "a sports watch or tracker"},
	{"rtk", "satellite receiver with correction (RTK)"},
	{"uwb", "radio beacons around the arena (UWB)"},
	{"survey", "surveying instrument"},
}

// places are where a recorder can sit (logbook.WornPlaces) in the words of the form.
var places = []recorderChoice{
	{"", "I do not know"},
	{"body", "on the rider's body"},
	{"pocket", "in a pocket"},
	{"helmet", "on the helmet"},
	{"saddle", "on the saddle"},
	{"poll", "at the horse's poll"},
}

// consentAsk asks, where a recording is given, who agreed to it; once, so not when it was noted.
type consentAsk struct {
	Rider    string
	Minor    bool
	Agreed   bool
	By       string
	Guardian bool
}

func (s *server) askOf(r *http.Request, rider logbook.Rider) (consentAsk, error) {
	agreed, err := s.book.Agreed(r.Context(), rider.ID, logbook.ConsentRide)
	return consentAsk{Rider: rider.Name, Minor: rider.Minor, Agreed: agreed}, err
}

// consentGiven reads what the form said about consent.
func consentGiven(f map[string]string) *logbook.GivenConsent {
	return &logbook.GivenConsent{By: f["agreed_by"], Guardian: f["guardian"] != ""}
}

// aboutTrack reads what the form said of the recording.
func aboutTrack(f map[string]string) logbook.AboutTrack {
	return logbook.AboutTrack{Worn: f["worn"], Tag: f["tag"], From: f["from"], To: f["to"]}
}

func (s *server) rideNew(w http.ResponseWriter, r *http.Request) error {
	v := rideFormView{Date: string(logbook.DateOf(s.book.Now())), Kind: "training", SheetID: r.URL.Query().Get("sheet")}
	if v.SheetID == "" { // the sheet this pair rode last
		last, err := s.book.Rides(r.Context(), logbook.RideFilter{CombinationID: r.PathValue("id"), Limit: 1})
		if err != nil {
			return err
		}
		if len(last) > 0 {
			v.SheetID = last[0].SheetID
		}
	}
	return s.rideForm(w, r, http.StatusOK, v)
}

func (s *server) rideForm(w http.ResponseWriter, r *http.Request, status int, v rideFormView) error {
	pair, err := s.book.PairOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v.page = s.newPage(r, "yard", "Add a ride of "+pair.Title())
	v.Pair, v.Recorders, v.Places, v.Back = pair, recorders, places, &link{"/combinations/" + pair.ID, pair.Title()}
	by, guardian := v.Ask.By, v.Ask.Guardian
	if v.Ask, err = s.askOf(r, pair.Rider); err != nil {
		return err
	}
	v.Ask.By, v.Ask.Guardian = by, guardian
	if v.Sheets, err = s.book.Sheets(r.Context()); err != nil {
		return err
	}
	return s.render(w, r, status, rideFormPage(v))
}

func (s *server) rideSave(w http.ResponseWriter, r *http.Request) error {
	f, files, err := upload(r)
	if err != nil {
		return err
	}
	v := rideFormView{SheetID: f["sheet"], Date: f["date"], Kind: f["kind"], Place: f["place"], Recorder: f["recorder"],
		MarkedBy: f["marked_by"], Taught: f["taught"] != "", HadFiles: len(files) > 0, About: aboutTrack(f),
		Ask: consentAsk{By: f["agreed_by"], Guardian: f["guardian"] != ""}}
	n := logbook.NewRide{CombinationID: r.PathValue("id"), SheetID: v.SheetID, Date: logbook.Date(v.Date), Kind: logbook.RideKind(v.Kind),
		Place: v.Place, Recorder: v.Recorder, MarkedBy: v.MarkedBy, Taught: v.Taught, Files: files, Watch: f["watch"] != "",
		About: v.About, Consent: consentGiven(f)}
	return s.lasting(w, r, keeping, func(w http.ResponseWriter, r *http.Request) error { return s.rideKeep(w, r, n, v) })
}

// rideKeep keeps the ride, or shows the form again with what is wrong.
func (s *server) rideKeep(w http.ResponseWriter, r *http.Request, n logbook.NewRide, v rideFormView) error {
	ride, err := s.book.AddRide(r.Context(), n)
	switch logbook.CodeOf(err) {
	case "":
		http.Redirect(w, r, "/rides/"+ride.ID, http.StatusSeeOther)
		return nil
	case logbook.Invalid, logbook.TooLarge, logbook.Refused:
		v.Message, v.Problems = logbook.MessageOf(err), logbook.ProblemsOf(err)
		return s.rideForm(w, r, statusOf(logbook.CodeOf(err)), v)
	}
	return err
}
