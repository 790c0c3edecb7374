package logbook

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"ringcraft/internal/match"
	"ringcraft/internal/report"
	"ringcraft/internal/track"
)

// RidePart is which part of a recording is the ride, as it was typed; "" leaves an end open.
type RidePart struct {
	From string `json:"from"`
	To   string `json:"to"`
}

// Words says a part for people.
func (p RidePart) Words() string {
	switch {
	case p.From == "" && p.To == "":
		return "the whole recording"
	case p.To == "":
		return "from " + p.From + " on"
	case p.From == "":
		return "up to " + p.To
	}
	return "from " + p.From + " to " + p.To
}

// partsOf are the parts that were said of a ride's recording: with the file first, then at the desk, in order.
// The last one counts.
func partsOf(r Ride, notes []Note) []RidePart {
	a := r.AboutTrack()
	out := []RidePart{{a.From, a.To}}
	for _, n := range notes { // of one device, so by sequence
		var p RidePart
		if n.Kind == NotePart && json.Unmarshal([]byte(n.Text), &p) == nil {
			out = append(out, p)
		}
	}
	return out
}

// PartsOf gives the parts that were said of a ride's recording, oldest first; the last one counts.
func (b *Book) PartsOf(ctx context.Context, rideID string) ([]RidePart, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return nil, err
	}
	notes, err := b.Notes(ctx, rideID)
	return partsOf(r, notes), err
}

// SetPart says anew which part of a ride's recording is the ride, when the ride can be read in it. What was
// said before stays in the book.
func (b *Book) SetPart(ctx context.Context, rideID string, p RidePart) error {
	p.From, p.To = strings.TrimSpace(p.From), strings.TrimSpace(p.To)
	if err := checkPart(p.From, p.To); err != nil {
		return err
	}
	g, err := b.gather(ctx, rideID)
	if err != nil {
		return err
	}
	if _, ok := g.ride.File(RoleTrack); !ok {
		return Errorf(Invalid, "the ride has no recording of which a part could be meant")
	}
	if said := partsOf(g.ride, g.notes); said[len(said)-1] == p {
		return nil
	}
	text, err := json.Marshal(p)
	if err != nil {
		return Wrap(Internal, err, "this part cannot be kept")
	}
	n := Note{RideID: rideID, Device: deviceDesk, Kind: NotePart, Text: string(text)}
	g.notes = append(g.notes, n)
	if err := b.readable(ctx, g, nil); err != nil {
		return err
	}
	return b.addAtDesk(ctx, n)
}

// addAtDesk writes down a note made at the desk.
func (b *Book) addAtDesk(ctx context.Context, n Note) error {
	return b.Atomically(ctx, func(s Store) error {
		notes, err := s.Notes(ctx, n.RideID)
		if err != nil {
			return err
		}
		last := int64(0)
		for _, o := range notes {
			if o.Device == deviceDesk {
				last = max(last, o.Seq)
			}
		}
		n.ID, n.Seq, n.Received = fmt.Sprintf("desk-%s-%d", n.RideID, last+1), last+1, b.Now()
		_, err = s.AddNotes(ctx, []Note{n})
		return err
	})
}

// rideUp is how many seconds before a ride a part of it begins: riding up to the entry.
const rideUp = 20

// TwoRides gives the parts of the first ride and of the second where a recording holds two; ok is false where
// it holds one.
func TwoRides(d *report.ReviewDoc) (first, second RidePart, ok bool) {
	for _, x := range d.Departures {
		if x.Kind == "ridden again" && strings.HasPrefix(x.Reason, match.SecondRideWords) {
			return RidePart{To: track.Clock(track.Seconds(x.EndS))}, RidePart{From: track.Clock(track.Seconds(x.EndS - rideUp))}, true
		}
	}
	return first, second, false
}

// FirstRide narrows what is reviewed to the first of several rides in its recording. Where there is one alone it
// stays as it is.
func FirstRide(ctx context.Context, in ReviewInput) (ReviewInput, error) {
	for {
		r, err := ReviewRide(ctx, in)
		if err != nil {
			return in, err
		}
		first, _, two := TwoRides(r.Doc)
		if !two || first.To == in.About.To {
			return in, nil
		}
		in.About.To = first.To
	}
}
