package backup

import (
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"ringcraft/internal/access"
)

// accountRecord is a person who may come in, without the password.
type accountRecord struct {
	ID          string    `json:"id"`
	Name        string    `json:"name"`
	Role        string    `json:"role"`
	RiderID     string    `json:"rider_id,omitempty"`
	HasPassword bool      `json:"has_password,omitempty"`
	Made        time.Time `json:"made,omitzero"`
}

// deviceRecord is a browser that was let in.
type deviceRecord struct {
	ID      string    `json:"id"`
	Account string    `json:"account"`
	Name    string    `json:"name"`
	Paired  time.Time `json:"paired,omitzero"`
	Seen    time.Time `json:"seen,omitzero"`
	PutOut  time.Time `json:"put_out,omitzero"`
}

// linkRecord is a link to one report, without what opens it.
type linkRecord struct {
	ID      string    `json:"id"`
	RideID  string    `json:"ride_id"`
	Note    string    `json:"note"`
	Made    time.Time `json:"made,omitzero"`
	Expires time.Time `json:"expires,omitzero"`
}

// mayComeIn reads people, devices and links.
func (r *records) mayComeIn(ctx context.Context, s access.Store) error {
	if s == nil {
		return nil
	}
	accounts, err := s.Accounts(ctx)
	if err != nil {
		return err
	}
	devices, err := s.Devices(ctx)
	if err != nil {
		return err
	}
	links, err := s.Links(ctx)
	if err != nil {
		return err
	}
	for _, a := range accounts {
		r.Accounts = append(r.Accounts, accountRecord{ID: a.ID, Name: a.Name, Role: string(a.Role), RiderID: a.RiderID, HasPassword: a.Password != "", Made: a.Made})
	}
	for _, d := range devices {
		r.Devices = append(r.Devices, deviceRecord{ID: d.ID, Account: d.Account, Name: d.Name, Paired: d.Paired, Seen: d.Seen, PutOut: d.PutOut})
	}
	for _, l := range links {
		r.Links = append(r.Links, linkRecord{ID: l.ID, RideID: l.RideID, Note: l.Note, Made: l.Made, Expires: l.Expires})
	}
	return nil
}

// waysInOf keeps a rider's own account with its devices, and the links to the rides that are left.
func (r *records) waysInOf(rider string) {
	own, rides := map[string]bool{}, map[string]bool{}
	r.Accounts = slices.DeleteFunc(r.Accounts, func(a accountRecord) bool { return a.RiderID != rider })
	for _, a := range r.Accounts {
		own[a.ID] = true
	}
	for _, x := range r.Rides {
		rides[x.ID] = true
	}
	r.Devices = slices.DeleteFunc(r.Devices, func(d deviceRecord) bool { return !own[d.Account] })
	r.Links = slices.DeleteFunc(r.Links, func(l linkRecord) bool { return !rides[l.RideID] })
}

// horses writes the horse files as they were given.
func (e *exporter) horses() error {
	for _, h := range e.r.Horses {
		if err := e.text(fmt.Sprintf("horses/%s-%s.json", safeName(h.Name), safeName(h.ID)), h.Profile); err != nil {
			return err
		}
	}
	return nil
}

// exercises writes the trainer's own, as exercise files.
func (e *exporter) exercises() error {
	for _, x := range e.r.Exercises {
		if err := e.text(fmt.Sprintf("exercises/%s.json", safeName(x.ID)), x.Text); err != nil {
			return err
		}
	}
	return nil
}

// lessons writes each lesson's plan and homework.
func (e *exporter) lessons() error {
	for _, l := range e.r.Lessons {
		name := fmt.Sprintf("lessons/%s-%s-", safeName(string(l.Date)), safeName(l.ID))
		if err := e.text(name+"plan.json", l.Plan); err != nil {
			return err
		}
		if err := e.text(name+"homework.json", l.Homework); err != nil {
			return err
		}
	}
	return nil
}

func (e *exporter) setting() error { return e.text("settings.json", string(e.settings)) }

// text writes a file as it stands; nothing when there is nothing.
func (e *exporter) text(name, text string) error {
	if text == "" {
		return nil
	}
	w, err := e.create(name)
	if err != nil {
		return err
	}
	_, err = io.WriteString(w, text)
	return err
}
