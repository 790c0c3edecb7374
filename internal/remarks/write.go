package remarks

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

// vttEscape writes what WebVTT 1, section 4.2.2, does not allow in a cue's text.
var vttEscape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "\r", "")

// WriteVTT writes cues as WebVTT, times to the millisecond; Read gives them back as they were.
// Blank lines, which would end a cue, are left out of its text.
func WriteVTT(cues []Cue) []byte {
	var out bytes.Buffer
	out.WriteString("WEBVTT\n")
	for _, c := range cues {
		fmt.Fprintf(&out, "\n%s --> %s\n", vttClock(c.StartS), vttClock(c.EndS))
		voice := ""
		if c.Voice != "" {
			voice = "<v " + vttEscape.Replace(strings.Join(strings.Fields(c.Voice), " ")) + ">"
		}
		for _, line := range strings.Split(c.Text, "\n") {
			if line = strings.TrimSpace(line); line != "" {
				out.WriteString(voice + vttEscape.Replace(line) + "\n")
				voice = ""
			}
		}
	}
	return out.Bytes()
}

func vttClock(s float64) string {
	ms := int64(math.Round(max(s, 0) * 1000))
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}
