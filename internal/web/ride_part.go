package web

import (
	"net/http"
	"slices"

	"ringcraft/internal/logbook"
)

// twoRides are the parts of a recording that holds the test twice.
type twoRides struct{ First, Second logbook.RidePart }

func twoRidesOf(d *logbook.ReviewDoc) *twoRides {
	first, second, ok := logbook.TwoRides(d)
	if !ok {
		return nil
	}
	return &twoRides{first, second}
}

// part is the part that counts.
func (v rideView) part() logbook.RidePart { return v.Parts[len(v.Parts)-1] }

// earlierParts are those that were said before and are not the one that counts, each once, latest first.
func (v rideView) earlierParts() []logbook.RidePart {
	var out []logbook.RidePart
	for _, p := range slices.Backward(v.Parts) {
		if p != v.part() && !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	return out
}

// ridePartSave says anew which part of the recording is the ride.
func (s *server) ridePartSave(w http.ResponseWriter, r *http.Request) error {
	f, _, err := upload(r)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	return s.lasting(w, r, reckoning, func(w http.ResponseWriter, r *http.Request) error {
		if err := s.book.SetPart(r.Context(), id, logbook.RidePart{From: f["from"], To: f["to"]}); err != nil {
			return err
		}
		http.Redirect(w, r, "/rides/"+id+"#part", http.StatusSeeOther)
		return nil
	})
}
