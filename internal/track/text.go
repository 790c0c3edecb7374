package track

import (
	"bufio"
	"bytes"
	"io"

	"golang.org/x/text/encoding/unicode"
)

// headBytes is how much of a file is looked at to know what it is.
const headBytes = 8 << 10

// plainText hands a file on as text that the readers of formats know: UTF-16, as spreadsheets export
// it, becomes UTF-8, a byte-order mark goes, and the line ends of old programs, a carriage return alone,
// become newlines. Binary formats pass unchanged.
func plainText(r io.Reader) (*bufio.Reader, []byte, error) {
	br := bufio.NewReaderSize(r, 64<<10)
	head, err := peekHead(br)
	if err != nil {
		return nil, nil, err
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		_, err = br.Discard(3)
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("\xfe\xff")):
		br = bufio.NewReaderSize(unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder().Reader(br), 64<<10)
	}
	if err == nil {
		head, err = peekHead(br)
	}
	if err == nil && bytes.IndexByte(head, '\n') < 0 && bytes.IndexByte(head, '\r') >= 0 && bytes.IndexByte(head, 0) < 0 {
		br = bufio.NewReaderSize(newlines{br}, 64<<10)
		head, err = peekHead(br)
	}
	return br, head, err
}

func peekHead(br *bufio.Reader) ([]byte, error) {
	head, err := br.Peek(headBytes)
	if err == io.EOF || err == bufio.ErrBufferFull {
		err = nil
	}
	return head, err
}

// newlines turns carriage returns into newlines.
type newlines struct{ r io.Reader }

// Read hands bytes on; it implements io.Reader.
func (n newlines) Read(p []byte) (int, error) {
	k, err := n.r.Read(p)
	for i := range p[:k] {
		if p[i] == '\r' {
			p[i] = '\n'
		}
	}
	return k, err
}

// others are files that people hand in by mistake, known by their first bytes.
var others = []struct{ magic, what, instead string }{
	{"PK\x03\x04", "a ZIP archive (a spreadsheet file is one too)", "unpack it, or save the sheet as CSV"},
	{"\x1f\x8b", "a gzip archive", "unpack it first"},
	{"Rar!", "a RAR archive", "unpack it first"},
	{"7z\xbc\xaf", "a 7z archive", "unpack it first"},
	{"%PDF", "a PDF", "export the recording itself"},
	{"\x89PNG", "a picture", "export the recording itself"},
	{"\xff\xd8\xff", "a picture", "export the recording itself"},
	{"RIFF", "a sound or film", "export the recording itself"},
	{"SQLite format 3", "a database", "export the recording from the program that made it"},
	{"\xd0\xcf\x11\xe0", "an old spreadsheet or document", "save the sheet as CSV"},
	{"{", "JSON", "export it as GPX, FIT or CSV"},
	{"[", "JSON", "export it as GPX, FIT or CSV"},
}

// other names what a file is that no reader is for; nil when that is not known.
func other(head []byte) *Error {
	text := bytes.TrimLeft(head, " \t\r\n")
	for _, o := range others {
		if bytes.HasPrefix(text, []byte(o.magic)) {
			return &Error{Message: "this is " + o.what + "; " + o.instead, Allowed: allowedFormats}
		}
	}
	if len(head) > 8 && string(head[4:8]) == "ftyp" {
		return &Error{Message: "this is a film; export the recording itself", Allowed: allowedFormats}
	}
	return nil
}
