package logbook

import (
	"mime"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/track"
)

// Where a recorder sat and which of its tags is meant belong to the recording, so they are kept with
// its file, as parameters of its media type: "text/csv; tag=7; worn=helmet".
const (
	wornParam = "worn"
	tagParam  = "tag"
)

// WornPlaces lists where a recorder can sit.
func WornPlaces() []string {
	out := []string{"body"}
	for _, p := range track.Places() {
		out = append(out, p.Name)
	}
	return out
}

func checkWorn(worn, tag string) error {
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

// wornTrack writes both into the media type of the recording.
func wornTrack(files []GivenFile, worn, tag string) {
	params := map[string]string{}
	if worn != "" {
		params[wornParam] = worn
	}
	if tag = strings.TrimSpace(tag); tag != "" {
		params[tagParam] = tag
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

// wornOf reads them back; both are "" when nothing was said.
func wornOf(media string) (worn, tag string) {
	_, params, err := mime.ParseMediaType(media)
	if err != nil {
		return "", ""
	}
	return params[wornParam], params[tagParam]
}

// Worn says where the recorder of a ride sat and which tag was meant; "" for what was not said.
func (r Ride) Worn() (worn, tag string) {
	f, _ := r.File(RoleTrack)
	return wornOf(f.Media)
}
