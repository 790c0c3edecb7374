package remarks

import (
	"fmt"
	"sort"
	"strings"

	"ringcraft/internal/sheet"
)

// Read reads a commentary file: WebVTT, SRT or plain text with a time on each line
// ("1:23 text", "00:01:23.5 - text", "[83] text", "83s text"). UTF-8, UTF-16 and Latin-1
// are understood, and line ends of any sort. A cue that cannot be read is reported with its
// line; its neighbours are kept. Cues come back in order of time, text as given: only
// markup is taken out and character escapes are decoded (docs/REMARKS.md).
func Read(file string, data []byte) ([]Cue, []sheet.Problem) {
	r := &reader{file: file}
	text := r.decode(data)
	r.lines = strings.Split(text, "\n")
	switch first := firstLine(r.lines); {
	case strings.TrimSpace(text) == "":
		r.problem(1, sheet.Error, "the file holds no text", howAllowed)
		return nil, r.problems
	case isVTTHeader(first):
		r.readBlocks(true)
	case strings.Contains(text, "-->"):
		r.readBlocks(false)
	default:
		r.readPlain()
	}
	r.finish()
	return r.cues, r.problems
}

const howAllowed = `allowed: WebVTT, SRT, or lines such as "1:23 text", "00:01:23.5 - text", "[83] text", "83s text"`

type reader struct {
	file     string
	lines    []string
	cues     []Cue
	problems []sheet.Problem
}

func (r *reader) problem(line int, sev sheet.Severity, msg, allowed string) {
	r.problems = append(r.problems, sheet.Problem{File: r.file, Pos: sheet.Pos{Line: line, Column: 1},
		Severity: sev, Message: msg, Suggestion: allowed})
}

func firstLine(lines []string) string {
	if len(lines) == 0 {
		return ""
	}
	return lines[0]
}

func isVTTHeader(line string) bool {
	return line == "WEBVTT" || strings.HasPrefix(line, "WEBVTT ") || strings.HasPrefix(line, "WEBVTT\t")
}

// readBlocks reads WebVTT and SRT: a timing line with "-->" begins a cue, which runs to the
// next blank line or the next timing line.
func (r *reader) readBlocks(vtt bool) {
	i := 0
	if vtt {
		for i = 1; i < len(r.lines) && strings.TrimSpace(r.lines[i]) != "" && !strings.Contains(r.lines[i], "-->"); i++ {
		}
	}
	for i < len(r.lines) {
		line := r.lines[i]
		switch {
		case strings.TrimSpace(line) == "":
			i++
		case vtt && isSideBlock(line):
			for i < len(r.lines) && strings.TrimSpace(r.lines[i]) != "" {
				i++
			}
		case strings.Contains(line, "-->"):
			i = r.readCue(i, vtt)
		case r.timingFollows(i):
			i++ // the cue's number or name
		default:
			i = r.readStray(i, vtt)
		}
	}
}

func isSideBlock(line string) bool {
	for _, w := range []string{"NOTE", "STYLE", "REGION", "Region:"} {
		if line == w || strings.HasPrefix(line, w+" ") || strings.HasPrefix(line, w+"\t") {
			return true
		}
	}
	return false
}

func (r *reader) timingFollows(i int) bool {
	return i+1 < len(r.lines) && strings.Contains(r.lines[i+1], "-->")
}

// readCue reads the cue whose timing line is r.lines[at] and returns where the next begins.
func (r *reader) readCue(at int, vtt bool) int {
	end := at + 1
	for end < len(r.lines) && strings.TrimSpace(r.lines[end]) != "" && !strings.Contains(r.lines[end], "-->") {
		if r.timingFollows(end) && isNumber(r.lines[end]) {
			break // the next cue's number; the blank line is missing
		}
		end++
	}
	payload := strings.Join(r.lines[at+1:end], "\n")
	text, voice := cueText(payload, vtt)
	start, stop, problem := timing(r.lines[at])
	switch {
	case problem != "":
		r.problem(at+1, sheet.Error, fmt.Sprintf("cue time not understood: %s; its text was %q", problem, clip(text)),
			"allowed: 00:01:23.500 --> 00:01:26.000 (minutes and seconds below 60)")
		return end
	case strings.TrimSpace(text) == "":
		r.problem(at+1, sheet.Note, "the cue is empty; left out", "")
		return end
	case stop < start:
		r.endsBeforeStart(at+1, start, stop)
		stop = start
	}
	r.cues = append(r.cues, Cue{StartS: start, EndS: stop, Text: text, Voice: voice, Line: at + 1})
	return end
}

func (r *reader) endsBeforeStart(line int, start, stop float64) {
	r.problem(line, sheet.Error, fmt.Sprintf("the cue ends (%.3f s) before it starts (%.3f s); kept at its start", stop, start),
		"allowed: an end at or after the start")
	r.problems[len(r.problems)-1].AtS = &start
}

// readStray deals with text that belongs to no cue: in SRT it continues the cue before (a
// blank line inside a text), in WebVTT it is reported.
func (r *reader) readStray(i int, vtt bool) int {
	end := i
	for end < len(r.lines) && strings.TrimSpace(r.lines[end]) != "" && !r.timingFollows(end) && !strings.Contains(r.lines[end], "-->") {
		end++
	}
	if end == i {
		return i + 1
	}
	text := strings.Join(r.lines[i:end], "\n")
	if n := len(r.cues); !vtt && n > 0 && !isNumber(strings.TrimSpace(text)) {
		more, _ := cueText(text, vtt)
		r.cues[n-1].Text += "\n" + more
		return end
	}
	if isNumber(strings.TrimSpace(text)) {
		r.problem(i+1, sheet.Note, fmt.Sprintf("cue number %s has no cue", strings.TrimSpace(text)), "")
		return end
	}
	if vtt && len(r.cues) == 0 && r.cuesFollow(end) {
		r.problem(i+1, sheet.Note, fmt.Sprintf("not a cue, passed over: %q", clip(text)), "")
		return end
	}
	r.problem(i+1, sheet.Error, fmt.Sprintf("text without a time: %q", clip(text)),
		"allowed: a line 00:01:23.500 --> 00:01:26.000 before the text")
	return end
}

func (r *reader) cuesFollow(i int) bool {
	for ; i < len(r.lines); i++ {
		if strings.Contains(r.lines[i], "-->") {
			return true
		}
	}
	return false
}

func isNumber(s string) bool {
	s = strings.TrimSpace(s)
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// clip shortens a text for a message.
func clip(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if rs := []rune(s); len(rs) > 60 {
		return string(rs[:60]) + "..."
	}
	return s
}

// finish orders the cues and says what was odd about the whole.
func (r *reader) finish() {
	inOrder := sort.SliceIsSorted(r.cues, func(i, j int) bool { return r.cues[i].StartS < r.cues[j].StartS })
	if !inOrder {
		for i := 1; i < len(r.cues); i++ {
			if r.cues[i].StartS < r.cues[i-1].StartS {
				r.problem(r.cues[i].Line, sheet.Warning, "the cues are not in order of time from here; put in order", "")
				break
			}
		}
		sort.SliceStable(r.cues, func(i, j int) bool { return r.cues[i].StartS < r.cues[j].StartS })
	}
	overlaps, first := 0, 0
	for i := 1; i < len(r.cues); i++ {
		if r.cues[i].StartS < r.cues[i-1].EndS-1e-9 {
			if overlaps++; overlaps == 1 {
				first = r.cues[i].Line
			}
		}
	}
	if overlaps > 0 {
		r.problem(first, sheet.Note, fmt.Sprintf("%d cue(s) begin before the one before has ended; all kept", overlaps), "")
	}
	if len(r.cues) == 0 && !sheet.HasErrors(r.problems) {
		r.problem(1, sheet.Warning, "no remark was found in the file", howAllowed)
	}
}
