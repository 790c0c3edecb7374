package logbook

import (
	"mime"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/track"
)

// AboutTrack is what was said of a recording when it was given; "" for what was not.
type AboutTrack struct {
	Worn string // where the recorder sat: one of WornPlaces
	Tag  string // which of several tags is meant
	// From and To bound the part of the recording that is the ride, on its clock (12:30, 1:02:30); "" is open.
	From, To string
}

// These belong to the recording, so they are kept with its file, as parameters of its media type:
// "text/csv; tag=7; worn=helmet; from=12:30".
const (
	wornParam = "worn"
	tagParam  = "tag"
	fromParam = "from"
	toParam   = "to"
)

// WornPlaces lists where a recorder can sit.
func WornPlaces() []string {
	out := []string{"body"}
	for _, p := range track.Places() {
		out = append(out, p.Name)
	}
	return out
}

func (a AboutTrack) check() error {
	if err := checkPart(a.From, a.To); err != nil {
		return err
	}
	if a.Worn != "" && a.Worn != "body" {
		if _, err := track.PlaceByName(a.Worn); err != nil {
			return Wrap(Invalid, err, "where the recorder sat, %q, is not known; allowed: %s", a.Worn, strings.Join(WornPlaces(), ", "))
		}
	}
	if utf8.RuneCountInString(a.Tag) > 40 || !utf8.ValidString(a.Tag) {
		return Errorf(Invalid, "a tag has a name of at most 40 characters")
	}
	return nil
}

// checkPart checks the two ends of the part that is the ride.
func checkPart(from, to string) error {
	if _, err := track.ParsePart(from, to); err != nil {
		return Wrap(Invalid, err, "which part of the recording is the ride")
	}
	return nil
}

// keepWith writes them into the media type of the recording among files.
func (a AboutTrack) keepWith(files []GivenFile) {
	params := map[string]string{}
	for name, value := range map[string]string{wornParam: a.Worn, tagParam: a.Tag, fromParam: a.From, toParam: a.To} {
		if value = strings.TrimSpace(value); value != "" {
			params[name] = value
		}
	}
	if len(params) == 0 {
		return
	}
	for i, f := range files {
		if f.Role != RoleTrack {
			continue
		}
		base, _, err := mime.ParseMediaType(f.Media)
		if err != nil {
			base = "application/octet-stream"
		}
		files[i].Media = mime.FormatMediaType(base, params)
	}
}

// aboutOf reads them back as they were typed.
func aboutOf(media string) AboutTrack {
	_, params, err := mime.ParseMediaType(media)
	if err != nil {
		return AboutTrack{}
	}
	return AboutTrack{Worn: params[wornParam], Tag: params[tagParam], From: params[fromParam], To: params[toParam]}
}

// AboutTrack is what was said of the ride's recording when it was given.
func (r Ride) AboutTrack() AboutTrack {
	f, _ := r.File(RoleTrack)
	return aboutOf(f.Media)
}
