package logbook

import (
	"mime"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/track"
)

// Where a recorder sat, which of its tags is meant and which part of it is the ride belong to the
// recording, so they are kept with its file, as parameters of its media type:
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

func checkWorn(worn, tag, from, to string) error {
	if _, err := track.ParsePart(from, to); err != nil {
		return Wrap(Invalid, err, "which part of the recording is the ride")
	}
	if worn != "" && worn != "body" {
		if _, err := track.PlaceByName(worn); err != nil {
			return Wrap(Invalid, err, "where the recorder sat, %q, is not known; allowed: %s", worn, strings.Join(WornPlaces(), ", "))
		}
	}
	if utf8.RuneCountInString(tag) > 40 || !utf8.ValidString(tag) {
		return Errorf(Invalid, "a tag has a name of at most 40 characters")
	}
	return nil
}

// wornTrack writes them into the media type of the recording.
func wornTrack(files []GivenFile, worn, tag, from, to string) {
	params := map[string]string{}
	for name, value := range map[string]string{wornParam: worn, tagParam: tag, fromParam: from, toParam: to} {
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

// wornOf reads the first two back; both are "" when nothing was said.
func wornOf(media string) (worn, tag string) {
	_, params, err := mime.ParseMediaType(media)
	if err != nil {
		return "", ""
	}
	return params[wornParam], params[tagParam]
}

// partOf reads back which part of the recording is the ride, as it was typed; "" for an end that was not.
func partOf(media string) (from, to string) {
	_, params, err := mime.ParseMediaType(media)
	if err != nil {
		return "", ""
	}
	return params[fromParam], params[toParam]
}

// Worn says where the recorder of a ride sat and which tag was meant; "" for what was not said.
func (r Ride) Worn() (worn, tag string) {
	f, _ := r.File(RoleTrack)
	return wornOf(f.Media)
}
