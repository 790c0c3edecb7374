package web

import (
	"io"
	"mime/multipart"
	"net/http"
	"strings"

	"ringcraft/internal/logbook"
)

// badForm is the error for a form that cannot be read at all.
func badForm(err error) error {
	if e := asProblem(err); logbook.CodeOf(e) != logbook.Internal {
		return e
	}
	return logbook.Wrap(logbook.Invalid, err, "the form did not arrive whole; nothing was stored. Send it again")
}

// normalLines undoes what browsers do to line ends, so that a text that was not changed stays the
// same text.
func normalLines(s string) string { return strings.ReplaceAll(s, "\r\n", "\n") }

// maxField bounds one text field of an upload form.
const maxField = 64 << 10

// upload reads a form with files part by part: fields by name, files by the role their field
// names. A file field that was left empty is no file. The whole is bounded by the body's limit,
// each part by its own.
func upload(r *http.Request) (fields map[string]string, files []logbook.GivenFile, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, nil, badForm(err)
	}
	fields = map[string]string{}
	for n := 0; ; n++ {
		part, err := parts.NextPart()
		if err == io.EOF {
			return fields, files, nil
		}
		if err != nil {
			return nil, nil, badForm(err)
		}
		if n > 60 {
			return nil, nil, logbook.Errorf(logbook.TooLarge, "the form has too many parts")
		}
		if err := readPart(part, fields, &files); err != nil {
			return nil, nil, err
		}
	}
}

func readPart(part *multipart.Part, fields map[string]string, files *[]logbook.GivenFile) error {
	limit := int64(maxField)
	if part.FileName() != "" {
		limit = logbook.MaxTrack
	}
	data, err := io.ReadAll(io.LimitReader(part, limit+1))
	if err != nil {
		return badForm(err)
	}
	if int64(len(data)) > limit {
		return logbook.Errorf(logbook.TooLarge, "%q is larger than it can be; nothing was stored", part.FormName())
	}
	if part.FileName() == "" {
		if part.Header.Get("Content-Type") == "" { // a file field left empty has a type
			fields[part.FormName()] = normalLines(string(data))
		}
		return nil
	}
	*files = append(*files, logbook.GivenFile{Role: logbook.Role(part.FormName()), Name: part.FileName(), Media: part.Header.Get("Content-Type"), Data: data})
	return nil
}
