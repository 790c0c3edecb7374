package web

import (
	"net/http"
	"strconv"

	"ringcraft/internal/logbook"
)

// rideLine is a ride in a list.
type rideLine struct {
	Ride  logbook.Ride
	Title string // combination
	Sheet string
	Score string // "" without marks
}

// rideLines gives rides the words they are listed with.
func (s *server) rideLines(r *http.Request, rides []logbook.Ride) ([]rideLine, error) {
	if len(rides) == 0 {
		return nil, nil
	}
	pairs, err := s.book.Pairs(r.Context())
	if err != nil {
		return nil, err
	}
	titles := map[string]string{}
	for _, p := range pairs {
		titles[p.ID] = p.Title()
	}
	sheets, err := s.book.Sheets(r.Context())
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, sh := range sheets {
		names[sh.ID] = sh.Name
	}
	out := make([]rideLine, len(rides))
	for i, ride := range rides {
		out[i] = rideLine{Ride: ride, Title: titles[ride.CombinationID], Sheet: names[ride.SheetID]}
		if percent, ok := s.book.PeekScore(r.Context(), ride.ID); ok {
			out[i].Score = strconv.FormatFloat(percent, 'f', 1, 64) + " %"
		}
	}
	return out, nil
}

// given says in words what a ride was given.
func givenWords(r logbook.Ride) string {
	words := ""
	for _, part := range []struct {
		role logbook.Role
		word string
	}{{logbook.RoleTrack, "recording"}, {logbook.RoleCommentary, "commentary"}, {logbook.RoleMarks, "marks"}, {logbook.RoleAudio, "sound"}} {
		if _, ok := r.File(part.role); ok {
			if words != "" {
				words += ", "
			}
			words += part.word
		}
	}
	if words == "" {
		return "notes only"
	}
	return words
}
