package remarks

import (
	"bytes"
	"html"
	"regexp"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"ringcraft/internal/sheet"
)

// decode turns the bytes of a file into text with "\n" line ends. What is not UTF-8 is
// taken as UTF-16 when it looks so, else as Windows-1252 (a superset of Latin-1), and said.
func (r *reader) decode(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		data = data[3:]
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || looksUTF16(data, 1):
		data = r.convert(data, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "UTF-16")
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}) || looksUTF16(data, 0):
		data = r.convert(data, unicode.UTF16(unicode.BigEndian, unicode.UseBOM), "UTF-16")
	}
	if !validText(data) {
		data = r.convert(data, charmap.Windows1252, "Windows-1252 (Latin-1)")
	}
	s := strings.ReplaceAll(string(data), "\r\n", "\n")
	s = strings.ReplaceAll(s, "\r", "\n")
	return strings.ReplaceAll(s, "\x00", "\uFFFD") // as WebVTT 1, section 6.1, asks
}

// looksUTF16 reports whether nearly every second byte, beginning at the given one, is zero.
func looksUTF16(b []byte, at int) bool {
	n, zero := 0, 0
	for i := at; i < len(b) && i < 400; i += 2 {
		n++
		if b[i] == 0 {
			zero++
		}
	}
	return n >= 4 && zero*10 >= n*8
}

func (r *reader) convert(data []byte, enc encoding.Encoding, name string) []byte {
	if name == "UTF-16" && !bytes.HasPrefix(data, []byte{0xFF, 0xFE}) && !bytes.HasPrefix(data, []byte{0xFE, 0xFF}) {
		order := unicode.LittleEndian
		if looksUTF16(data, 0) {
			order = unicode.BigEndian
		}
		enc = unicode.UTF16(order, unicode.IgnoreBOM)
	}
	out, err := enc.NewDecoder().Bytes(data)
	if err != nil {
		return data
	}
	r.problem(1, sheet.Note, "the file is not UTF-8; read as "+name, "")
	return out
}

var (
	vttTag   = regexp.MustCompile(`</?(?:[a-zA-Z][^<>]*|\d[\d:.]*\s*|)>`)
	vttVoice = regexp.MustCompile(`<v(?:\.[^\s<>]*)*[ \t\n]+([^<>]*)(?:>|$)`)
	srtTag   = regexp.MustCompile(`(?i)</?(?:b|i|u|s|font)(?:\s[^<>]*)?>|\{\\[^{}]*\}`)
	invisble = strings.NewReplacer("\u200e", "", "\u200f", "", "\u00a0", " ")
)

// cueText takes markup out of a cue's text and decodes its escapes; the first voice tag
// names the speaker. Words, line breaks and spelling stay as given.
func cueText(payload string, vtt bool) (text, voice string) {
	if vtt {
		if m := vttVoice.FindStringSubmatch(payload); m != nil {
			voice = strings.Join(strings.Fields(html.UnescapeString(m[1])), " ")
		}
		payload = vttTag.ReplaceAllString(payload, "")
	} else {
		payload = srtTag.ReplaceAllString(payload, "")
	}
	return strings.TrimSpace(invisble.Replace(html.UnescapeString(payload))), voice
}
