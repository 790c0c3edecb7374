package web

import (
	"net/http"
	"net/url"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// personRoutes are the pages of what is stored about people and horses, and how it goes.
func (g *Gate) personRoutes() []Route {
	return []Route{
		{"GET", "/people", access.TrainerDo, nil, g.people},
		{"GET", "/riders/{id}", access.TrainerDo, nil, g.person},
		{"GET", "/riders/{id}/stored.zip", access.TrainerDo, nil, g.stored},
		{"POST", "/riders/{id}/consent", access.TrainerDo, nil, g.noteConsent},
		{"POST", "/riders/{id}/withdraw", access.TrainerDo, nil, g.withdraw},
		{"POST", "/riders/{id}/forget", access.TrainerDo, nil, g.forgetRider},
		{"POST", "/horses/{id}/forget", access.TrainerDo, nil, g.forgetHorse},
		{"POST", "/rides/{id}/forget", access.TrainerDo, nil, g.forgetRide},
	}
}

// peopleView lists everybody who is in the book.
type peopleView struct {
	page
	Riders  []logbook.Rider
	Horses  []logbook.Horse
	Devices bool // there is a page of devices
}

func (g *Gate) people(s *server, w http.ResponseWriter, r *http.Request) error {
	v := peopleView{page: s.newPage(r, "people", "People and horses"), Devices: !g.o.OwnerOnly}
	var err error
	if v.Riders, err = s.book.Riders(r.Context()); err != nil {
		return err
	}
	if v.Horses, err = s.book.Horses(r.Context()); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, peoplePage(v))
}

// personView is all that is stored about one rider, counted, and what they agreed to.
type personView struct {
	page
	Rider          logbook.Rider
	Pairs          []logbook.Pair
	Rides, Notes   int
	Tracks, Sounds int
	Bytes          int64
	Lessons        int
	Consents       []logbook.Consent
	Accounts       []access.Account
	Voice, Ride    bool
}

func (g *Gate) person(s *server, w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	rider, err := s.book.Rider(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	v := personView{page: s.newPage(r, "people", rider.Name), Rider: rider}
	v.Back = &link{"/people", "People and horses"}
	v.Invented = rider.Invented
	if err := v.count(s, r); err != nil {
		return err
	}
	if v.Consents, err = s.book.Consents(ctx, rider.ID); err != nil {
		return err
	}
	if v.Voice, err = s.book.Agreed(ctx, rider.ID, logbook.ConsentVoice); err != nil {
		return err
	}
	if v.Ride, err = s.book.Agreed(ctx, rider.ID, logbook.ConsentRide); err != nil {
		return err
	}
	if v.Accounts, err = g.accountsOf(r, rider.ID); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, personPage(v))
}

func (v *personView) count(s *server, r *http.Request) error {
	pairs, err := s.book.Pairs(r.Context())
	if err != nil {
		return err
	}
	for _, p := range pairs {
		if p.RiderID != v.Rider.ID {
			continue
		}
		v.Pairs = append(v.Pairs, p)
		rides, err := s.book.Rides(r.Context(), logbook.RideFilter{CombinationID: p.ID})
		if err != nil {
			return err
		}
		lessons, err := s.book.Lessons(r.Context(), logbook.LessonFilter{CombinationID: p.ID})
		if err != nil {
			return err
		}
		v.Lessons += len(lessons)
		for _, ride := range rides {
			notes, err := s.book.Notes(r.Context(), ride.ID)
			if err != nil {
				return err
			}
			v.ride(ride, len(notes))
		}
	}
	return nil
}

func (v *personView) ride(r logbook.Ride, notes int) {
	v.Rides++
	v.Notes += notes
	for _, f := range r.Files {
		v.Bytes += f.Size
		switch f.Role {
		case logbook.RoleTrack:
			v.Tracks++
		case logbook.RoleAudio:
			v.Sounds++
		}
	}
}

func (g *Gate) accountsOf(r *http.Request, riderID string) ([]access.Account, error) {
	if g.o.Guard == nil {
		return nil, nil
	}
	all, err := g.o.Guard.Store().Accounts(r.Context())
	var out []access.Account
	for _, a := range all {
		if a.RiderID == riderID {
			out = append(out, a)
		}
	}
	return out, err
}

// stored gives everything about one person, in open formats, to be shown or handed to them.
func (g *Gate) stored(s *server, w http.ResponseWriter, r *http.Request) error {
	if g.o.Export == nil {
		return logbook.Errorf(logbook.Refused, "export runs from the command line here: ringcraft export --rider NAME")
	}
	if _, err := s.book.Rider(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="stored.zip"`)
	w.Header().Set("Cache-Control", "no-store")
	return g.o.Export(r.Context(), w, r.PathValue("id"))
}

func (g *Gate) noteConsent(s *server, w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	err := s.book.NoteConsent(r.Context(), logbook.Consent{RiderID: id, What: r.PostFormValue("what"), GivenBy: r.PostFormValue("given_by"), Guardian: r.PostFormValue("guardian") != ""})
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/riders/"+url.PathEscape(id), http.StatusSeeOther)
	return nil
}

func (g *Gate) withdraw(s *server, w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	n, err := s.book.WithdrawConsent(r.Context(), id, r.PostFormValue("what"))
	if err != nil {
		return err
	}
	g.o.Log.Info("consent withdrawn", "what", r.PostFormValue("what"), "recordings", n)
	http.Redirect(w, r, "/riders/"+url.PathEscape(id), http.StatusSeeOther)
	return nil
}

// sure asks that the name is typed before something is removed for good.
func sure(r *http.Request, name string) error {
	if strings.EqualFold(strings.Join(strings.Fields(r.PostFormValue("name")), " "), name) {
		return nil
	}
	return logbook.Errorf(logbook.Refused, "nothing was removed: type the name %q to be sure", name)
}

func (g *Gate) forgetRider(s *server, w http.ResponseWriter, r *http.Request) error {
	rider, err := s.book.Rider(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if err := sure(r, rider.Name); err != nil {
		return err
	}
	accounts, err := g.accountsOf(r, rider.ID)
	if err != nil {
		return err
	}
	for _, a := range accounts {
		if err := g.o.Guard.Store().RemoveAccount(r.Context(), a.ID); err != nil {
			return err
		}
	}
	if err := s.book.ForgetRider(r.Context(), rider.ID); err != nil {
		return err
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (g *Gate) forgetHorse(s *server, w http.ResponseWriter, r *http.Request) error {
	horse, err := s.book.Horse(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if err := sure(r, horse.Name); err != nil {
		return err
	}
	if err := s.book.ForgetHorse(r.Context(), horse.ID); err != nil {
		return err
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (g *Gate) forgetRide(s *server, w http.ResponseWriter, r *http.Request) error {
	ride, err := s.book.Ride(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if err := sure(r, string(ride.Date)); err != nil {
		return err
	}
	if err := s.book.ForgetRide(r.Context(), ride.ID); err != nil {
		return err
	}
	http.Redirect(w, r, "/combinations/"+url.PathEscape(ride.CombinationID), http.StatusSeeOther)
	return nil
}
