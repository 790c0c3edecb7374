package match

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/track"
)

// Survey is an arena whose letters were surveyed.
type Survey struct {
	File    string
	Board   *arena.Board
	Letters []SurveyedLetter // in alphabetical order
	// SD is the doubt of a surveyed letter, metres per axis; 0 when the file does not say.
	SD float64
}

// SurveyedLetter is one letter's place on the earth.
type SurveyedLetter struct {
	Name string
	At   track.LatLon
}

type surveyFile struct {
	WidthM  *float64 `json:"width_m"`
	LengthM *float64 `json:"length_m"`
	SDM     float64  `json:"sd_m"`
	Letters map[string]struct {
		LatDeg *float64 `json:"lat_deg"`
		LonDeg *float64 `json:"lon_deg"`
	} `json:"letters"`
}

// ReadArena reads an arena file: {"width_m", "length_m", "letters": {"A": {"lat_deg",
// "lon_deg"}, ...}} with two letters or more that place a recording, or one that says which way round
// it lies, and optionally "sd_m", the doubt of a letter.
// Errors name the file and what is allowed.
func ReadArena(file string, data []byte) (*Survey, error) {
	var f surveyFile
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, fmt.Errorf("%s:%s", file, jsonReason(data, err))
	}
	if f.WidthM == nil || f.LengthM == nil {
		return nil, fmt.Errorf("%s: width_m and length_m are needed, for instance 20 and 60", file)
	}
	b, err := arena.BoardFor(arena.Metres(*f.WidthM), arena.Metres(*f.LengthM))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if !(f.SDM >= 0 && f.SDM < 50) {
		return nil, fmt.Errorf("%s: sd_m is %g; allowed: 0 to 50 metres", file, f.SDM)
	}
	s := &Survey{File: file, Board: b, SD: f.SDM}
	for name, at := range f.Letters {
		if at.LatDeg == nil || at.LonDeg == nil {
			return nil, fmt.Errorf("%s: letter %s needs lat_deg and lon_deg", file, name)
		}
		s.Letters = append(s.Letters, SurveyedLetter{strings.ToUpper(strings.TrimSpace(name)), track.LatLon{LatDeg: *at.LatDeg, LonDeg: *at.LonDeg}})
	}
	sort.Slice(s.Letters, func(i, j int) bool { return s.Letters[i].Name < s.Letters[j].Name })
	return s, s.check()
}

// jsonReason turns a decoding error into words with a line where one is known.
func jsonReason(data []byte, err error) string {
	var off int64 = -1
	var se *json.SyntaxError
	var te *json.UnmarshalTypeError
	switch {
	case errors.As(err, &se):
		off = se.Offset
	case errors.As(err, &te):
		off = te.Offset
	}
	if off < 0 || off > int64(len(data)) {
		return " is not an arena file: " + err.Error()
	}
	line := 1 + strings.Count(string(data[:off]), "\n")
	return fmt.Sprintf("%d: is not an arena file: %v", line, err)
}

func (s *Survey) check() error {
	seen := map[string]bool{}
	for _, l := range s.Letters {
		if _, ok := s.Board.Letter(l.Name); !ok {
			return fmt.Errorf("%s: letter %q is not in a %g x %g arena; allowed: %s", s.File, l.Name,
				float64(s.Board.Width), float64(s.Board.Length), strings.Join(s.Board.Letters(), " "))
		}
		if seen[l.Name] {
			return fmt.Errorf("%s: letter %s is given twice", s.File, l.Name)
		}
		seen[l.Name] = true
		if !(math.Abs(l.At.LatDeg) <= 90 && math.Abs(l.At.LonDeg) <= 180) {
			return fmt.Errorf("%s: letter %s lies at %g, %g; allowed: latitude -90 to 90, longitude -180 to 180", s.File, l.Name, l.At.LatDeg, l.At.LonDeg)
		}
	}
	if len(s.Letters) == 0 {
		return fmt.Errorf("%s: no surveyed letter; two or more place a recording, one settles which way round a ride lies that places itself", s.File)
	}
	return nil
}

// pairs returns the letters on the tangent plane against their places in the arena.
func (s *Survey) pairs(plane track.Plane) []pair {
	out := make([]pair, 0, len(s.Letters))
	for _, l := range s.Letters {
		to, _ := s.Board.Letter(l.Name)
		from := plane.ToLocal(l.At)
		out = append(out, pair{from: arena.Point(from), to: to, weight: 1})
	}
	return out
}
