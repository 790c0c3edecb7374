package track

import "bytes"

// sniff names the format of a file from its first bytes: "gpx", "fit", "nmea", "csv" or "".
func sniff(head []byte) string {
	if len(head) >= 12 && string(head[8:12]) == ".FIT" && (head[0] == 12 || head[0] == 14) {
		return "fit"
	}
	text := bytes.TrimPrefix(head, []byte("\xef\xbb\xbf"))
	trimmed := bytes.TrimLeft(text, " \t\r\n")
	if bytes.HasPrefix(trimmed, []byte("<")) {
		return "gpx" // the reader says so when the root is another element
	}
	if hasSentence(text) || looksLikeSentences(trimmed) {
		return "nmea"
	}
	if len(trimmed) == 0 || bytes.IndexByte(text, 0) >= 0 {
		return ""
	}
	return "csv"
}

// looksLikeSentences reports whether text begins with a sentence, whatever its checksum: the reader then
// says what is wrong with it.
func looksLikeSentences(b []byte) bool {
	return len(b) > 0 && b[0] == '$' && plausible(b)
}

// hasSentence reports whether a NMEA sentence with a right checksum lies in the bytes. The
// sentence may follow anything: loggers put comments, their own clock or binary packets before it.
func hasSentence(b []byte) bool {
	for {
		i := bytes.IndexByte(b, '$')
		if i < 0 {
			return false
		}
		b = b[i:]
		end := bytes.IndexAny(b, "\r\n")
		if end < 0 {
			end = len(b)
		}
		if _, ok := sentence(b[:end]); ok {
			return true
		}
		b = b[1:]
	}
}
