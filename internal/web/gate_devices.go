package web

import (
	"net/http"
	"net/url"
	"strconv"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// reportPath is the address of a ride's report as a page; it and its paper are all a guest may read.
func reportPath(ride string) string { return "/rides/" + url.PathEscape(ride) + "/report.html" }

// devicesView is the page of who can come in.
type devicesView struct {
	page
	Address, TrustURL, Fingerprint string
	Devices                        []deviceRow
	Accounts                       []access.Account
	Links                          []access.Link
	Riders                         []logbook.Rider
	New                            *newPairing
	NewLink                        string // address of a link just made, shown once
}

type deviceRow struct {
	access.Device
	Who  access.Account
	This bool // the one this page is seen on
}

// newPairing is a code just made, shown once.
type newPairing struct {
	Code, URL, QR, For string
	Until              time.Time
}

func (g *Gate) devicesView(s *server, r *http.Request) (devicesView, error) {
	v := devicesView{page: s.newPage(r, "devices", "Devices and people"), Address: g.o.Address, TrustURL: g.o.TrustURL, Fingerprint: g.o.Fingerprint}
	ctx, st := r.Context(), g.o.Guard.Store()
	var err error
	if v.Accounts, err = st.Accounts(ctx); err != nil {
		return v, err
	}
	devices, err := st.Devices(ctx)
	if err != nil {
		return v, err
	}
	names := map[string]access.Account{}
	for _, a := range v.Accounts {
		names[a.ID] = a
	}
	for _, d := range devices {
		v.Devices = append(v.Devices, deviceRow{Device: d, Who: names[d.Account], This: d.ID == v.Who.Device})
	}
	if v.Links, err = st.Links(ctx); err != nil {
		return v, err
	}
	v.Riders, err = s.book.Riders(ctx)
	return v, err
}

func (g *Gate) devices(s *server, w http.ResponseWriter, r *http.Request) error {
	v, err := g.devicesView(s, r)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, devicesPage(v))
}

// newPairing makes a code for somebody who has an account, or makes the account first.
func (g *Gate) newPairing(s *server, w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	id := r.PostFormValue("account")
	if id == "" {
		a, err := g.o.Guard.AddAccount(ctx, r.PostFormValue("name"), access.Role(r.PostFormValue("role")), r.PostFormValue("rider"))
		if err != nil {
			return logbook.Wrap(logbook.Invalid, err, "%s", err.Error())
		}
		id = a.ID
	}
	shown, code, err := g.o.Guard.NewPairing(ctx, id)
	if err != nil {
		return err
	}
	account, err := g.o.Guard.Store().Account(ctx, id)
	if err != nil {
		return err
	}
	v, err := g.devicesView(s, r)
	if err != nil {
		return err
	}
	v.New = &newPairing{Code: shown, For: account.Name, Until: code.Expires}
	if g.o.Address != "" {
		v.New.URL = g.o.Address + "/pair?code=" + shown
		if v.New.QR, err = g.o.QR(v.New.URL); err != nil {
			return err
		}
	}
	w.Header().Set("Cache-Control", "no-store")
	return s.render(w, r, http.StatusOK, devicesPage(v))
}

func (g *Gate) putOut(s *server, w http.ResponseWriter, r *http.Request) error {
	if err := g.o.Guard.Store().PutOutDevice(r.Context(), r.PostFormValue("device"), g.o.Guard.Now()); err != nil {
		return err
	}
	g.o.Log.Info("device put out", "device", r.PostFormValue("device"))
	http.Redirect(w, r, "/devices", http.StatusSeeOther)
	return nil
}

// removeAccount takes somebody's way in; the last trainer who can sign in stays.
func (g *Gate) removeAccount(s *server, w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PostFormValue("account")
	if id == asker(r).Account {
		return logbook.Errorf(logbook.Refused, "nobody removes their own way in; let another trainer do it")
	}
	if err := g.o.Guard.Store().RemoveAccount(ctx, id); err != nil {
		return err
	}
	http.Redirect(w, r, "/devices", http.StatusSeeOther)
	return nil
}

// newLink makes a guest link to one report and shows it once.
func (g *Gate) newLink(s *server, w http.ResponseWriter, r *http.Request) error {
	ride, err := s.book.Ride(r.Context(), r.PostFormValue("ride"))
	if err != nil {
		return err
	}
	days, err := strconv.Atoi(r.PostFormValue("days"))
	if err != nil || days < 1 {
		days = int(access.LinkLife / (24 * time.Hour))
	}
	token, _, err := g.o.Guard.NewLink(r.Context(), ride.ID, r.PostFormValue("note"), time.Duration(days)*24*time.Hour)
	if err != nil {
		return logbook.Wrap(logbook.Invalid, err, "%s", err.Error())
	}
	v, err := g.devicesView(s, r)
	if err != nil {
		return err
	}
	v.NewLink = g.o.Address + "/guest/" + token
	w.Header().Set("Cache-Control", "no-store")
	return s.render(w, r, http.StatusOK, devicesPage(v))
}

func (g *Gate) removeLink(s *server, w http.ResponseWriter, r *http.Request) error {
	if err := g.o.Guard.Store().RemoveLink(r.Context(), r.PostFormValue("link")); err != nil {
		return err
	}
	http.Redirect(w, r, "/devices", http.StatusSeeOther)
	return nil
}

// meView is the start page of a rider or a scribe.
type meView struct {
	page
	Rides   []meRide
	Lessons []logbook.Lesson
}

type meRide struct {
	logbook.Ride
	Sheet string
	Pair  string
}

// me lists what a rider may read, or the rides a scribe may write notes for now.
func (g *Gate) me(s *server, w http.ResponseWriter, r *http.Request) error {
	who, ctx := asker(r), r.Context()
	v := meView{page: s.newPage(r, "me", "Your rides")}
	pairs, err := s.book.Pairs(ctx)
	if err != nil {
		return err
	}
	for _, p := range pairs {
		own := who.Role == access.Trainer || (who.Role == access.Rider && p.Rider.ID == who.RiderID)
		if !own && who.Role != access.Scribe {
			continue
		}
		rides, err := s.book.Rides(ctx, logbook.RideFilter{CombinationID: p.ID, Limit: 50})
		if err != nil {
			return err
		}
		for _, ride := range rides {
			if !own && !ride.Riding() {
				continue
			}
			sheet, err := s.book.SheetVersion(ctx, ride.SheetID, ride.SheetVersion)
			if err != nil {
				return err
			}
			v.Rides = append(v.Rides, meRide{ride, sheet.Name, p.Rider.Name + " on " + p.Horse.Name})
		}
		if own {
			lessons, err := s.book.Lessons(ctx, logbook.LessonFilter{CombinationID: p.ID, Limit: 20})
			if err != nil {
				return err
			}
			v.Lessons = append(v.Lessons, lessons...)
		}
	}
	return s.render(w, r, http.StatusOK, mePage(v))
}

// meLink is where a ride of the start page leads: the scribe to the notes, others to the report.
func meLink(role access.Role, ride string) string {
	if role == access.Scribe {
		return railPath(ride)
	}
	return reportPath(ride)
}

// railPath is the arena-side page of a ride.
func railPath(ride string) string { return "/rides/" + url.PathEscape(ride) + "/rail" }

func homeworkPath(lesson string) string { return "/lessons/" + url.PathEscape(lesson) + "/homework" }
