package remarks

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/sheet"
)

// maxClock is the longest time taken seriously in a commentary, in seconds: a thousand
// hours. It keeps sums exact and catches numbers that are no times.
const maxClock = 1000 * 3600

// cueTime is looser than WebVTT 1, section 4.3, asks (three digits after the point, two
// for minutes): transcribers write all of these, and nothing else they could mean is lost.
var cueTime = regexp.MustCompile(`^(?:(\d{1,4}):)?(\d{1,4}):(\d{1,2})(?:[.,](\d{1,9}))?$`)

// cueSetting begins a setting of a cue (WebVTT 1, section 4.4).
var cueSetting = regexp.MustCompile(`^(?:align|line|position|size|vertical|region|[XY][12]):`)

// timing reads "start --> end settings". The problem is "" when both were understood.
func timing(line string) (start, end float64, problem string) {
	left, right, _ := strings.Cut(line, "-->")
	fields := strings.Fields(right)
	if len(fields) == 0 {
		return 0, 0, fmt.Sprintf("no end in %q", clip(line))
	}
	start, ok := clock(strings.TrimSpace(left))
	if !ok {
		return 0, 0, fmt.Sprintf("start %q", clip(left))
	}
	// Settings may follow without a space ("00:02.000align:left"): the time is the longest
	// run of digits and separators.
	stop := fields[0]
	if n := strings.IndexFunc(stop, func(r rune) bool { return !strings.ContainsRune("0123456789:.,", r) }); n > 0 && cueSetting.MatchString(stop[n:]) {
		stop = stop[:n]
	}
	end, ok = clock(stop)
	if !ok {
		return 0, 0, fmt.Sprintf("end %q", clip(fields[0]))
	}
	return start, end, ""
}

// clock reads a time of a cue in seconds.
func clock(s string) (float64, bool) {
	m := cueTime.FindStringSubmatch(s)
	if m == nil {
		return 0, false
	}
	return hms(m[1], m[2], m[3], m[4])
}

func hms(h, m, s, frac string) (float64, bool) {
	var v [3]int
	for i, t := range []string{h, m, s} {
		if t == "" {
			continue
		}
		n, err := strconv.Atoi(t)
		if err != nil {
			return 0, false
		}
		v[i] = n
	}
	if v[2] > 59 || v[1] > 59 && h != "" {
		return 0, false
	}
	sec := float64(v[0])*3600 + float64(v[1]*60+v[2])
	if frac != "" {
		f, err := strconv.ParseFloat("0."+frac, 64)
		if err != nil {
			return 0, false
		}
		sec += f
	}
	return sec, sec <= maxClock
}

var (
	// lineMinutes: "1m50 text", "1 m 50 s text", "1h02m03 text", "1'50\" text", "1.50 text" (two digits).
	lineMinutes = regexp.MustCompile(`^[\[(]?(?:(?:(\d{1,3})\s*h\s*)?(\d{1,4})\s*(?:min|m|['’′])\s*(\d{1,2})(?:[.,](\d{1,9}))?(?:\s*(?:sec|s|''|["”″]))?|()(\d{1,3})\.(\d{2})())[\])]?(?:\s*[-–—:|,]\s*|\s+|$)(.*)$`)
	// lineLooksTimed: a line that begins with a figure or bracket as times do, and that nothing above read.
	lineLooksTimed = regexp.MustCompile(`^[\[(]?\d{1,4}\s*(?:[:;.,hm'’′]\s*\d|[-–—/]\s*\d{2}\b|(?:s|sec|min)\b)`)
	// lineClock: "1:23 text", "(1:23) text", "[00:01:23.5] - text", "1:23-1:27 text".
	lineClock = regexp.MustCompile(`^[\[(]?(?:(\d{1,4}):)?(\d{1,3}):(\d{2})(?:[.,](\d{1,9}))?[\])]?(?:\s*(?:-|–|to)\s*[\[(]?(?:(\d{1,4}):)?(\d{1,3}):(\d{2})(?:[.,](\d{1,9}))?[\])]?)?(?:\s*[-–—:|,]\s*|\s+|$)(.*)$`)
	// lineSeconds: "[83] text", "83s text", "83.5 sec - text", "83.5<tab>text".
	lineSeconds = regexp.MustCompile(`^(?:[\[(](\d{1,7}(?:[.,]\d{1,9})?)\s*(?:s|sec|seconds)?[\])]|(\d{1,7}(?:[.,]\d{1,9})?)\s*(?:s|sec|seconds)\b|(\d{1,7}(?:[.,]\d{1,9})?)\t)(?:\s*[-–—:|,]\s*|\s*)(.*)$`)
)

// readPlain reads one remark a line. A line without a time continues the one above.
func (r *reader) readPlain() {
	known := map[int]bool{} // cues whose end the file gives
	for i, line := range r.lines {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		start, end, text, ok, problem := lineTime(line)
		switch {
		case problem != "":
			kept := "the line was"
			if n := len(r.cues); n > 0 {
				r.cues[n-1].Text += "\n" + line
				kept = "kept with the remark above, the line was"
			}
			r.problem(i+1, sheet.Error, fmt.Sprintf("time not understood: %s; %s %q", problem, kept, clip(line)),
				"allowed: minutes:seconds with seconds below 60, or [seconds]")
		case !ok && len(r.cues) > 0:
			if lineLooksTimed.MatchString(line) {
				r.problem(i+1, sheet.Warning, fmt.Sprintf("the line begins as a time does, but none is understood: %q; kept with the remark above", clip(line)),
					"allowed: 1:50, 1.50, 1m50, 1'50\", 110s, [00:01:50], (1:50)")
			}
			r.cues[len(r.cues)-1].Text += "\n" + line
		case !ok:
			r.problem(i+1, sheet.Error, fmt.Sprintf("no time before the text %q", clip(line)), howAllowed)
		case text == "":
			r.problem(i+1, sheet.Note, "a time without a remark; left out", "")
		default:
			if end >= 0 && end < start {
				r.endsBeforeStart(i+1, start, end)
				end = start
			}
			known[len(r.cues)] = end >= 0
			r.cues = append(r.cues, Cue{StartS: start, EndS: end, Text: text, Line: i + 1})
		}
	}
	for i := range r.cues {
		if !known[i] {
			r.cues[i].EndS = r.cues[i].StartS + spoken(r.cues[i].Text)
			if i+1 < len(r.cues) && r.cues[i+1].StartS > r.cues[i].StartS && r.cues[i+1].StartS < r.cues[i].EndS {
				r.cues[i].EndS = r.cues[i+1].StartS
			}
		}
	}
}

// spoken is about how long a text takes to say, in seconds: 2.5 words a second (common
// practice for English speech), one second at least.
func spoken(text string) float64 { return max(1, float64(len(strings.Fields(text)))/2.5) }

// lineTime splits a line of plain text into time and remark; end is -1 when not given.
func lineTime(line string) (start, end float64, text string, ok bool, problem string) {
	end = -1
	if m := lineClock.FindStringSubmatch(line); m != nil {
		start, ok = hms(m[1], m[2], m[3], m[4])
		if !ok {
			return 0, -1, "", false, fmt.Sprintf("%q", clip(line[:len(line)-len(m[9])]))
		}
		if m[7] != "" {
			if end, ok = hms(m[5], m[6], m[7], m[8]); !ok {
				return 0, -1, "", false, fmt.Sprintf("%q", clip(line[:len(line)-len(m[9])]))
			}
		}
		return start, end, strings.TrimSpace(m[9]), true, ""
	}
	if m := lineSeconds.FindStringSubmatch(line); m != nil {
		n := m[1] + m[2] + m[3]
		v, err := strconv.ParseFloat(strings.Replace(n, ",", ".", 1), 64)
		if err != nil || v > maxClock {
			return 0, -1, "", false, fmt.Sprintf("%q", n)
		}
		return v, -1, strings.TrimSpace(m[4]), true, ""
	}
	if m := lineMinutes.FindStringSubmatch(line); m != nil {
		dotted := m[6] != ""
		if start, ok = hms(m[1], m[2]+m[6], m[3]+m[7], m[4]); !ok {
			if dotted {
				return 0, -1, "", false, "" // "6.75 marks" is no time
			}
			return 0, -1, "", false, fmt.Sprintf("%q", clip(line[:len(line)-len(m[9])]))
		}
		return start, -1, strings.TrimSpace(m[9]), true, ""
	}
	return 0, -1, "", false, ""
}

// validText reports whether b is UTF-8 that people could have meant as text.
func validText(b []byte) bool { return utf8.Valid(b) }
