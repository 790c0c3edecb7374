package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"mime"
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

type askerKey struct{}

func withAsker(r *http.Request, who access.Who) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), askerKey{}, who))
}

// asker says who asks; nobody outside a request of the site.
func asker(r *http.Request) access.Who {
	who, _ := r.Context().Value(askerKey{}).(access.Who)
	return who
}

// page is what every page shows around its content.
type page struct {
	Title   string
	Section string // which part of the site is marked in the navigation
	Who     access.Who
	Assets  string // prefix of asset addresses
	Note    string
	Scripts []string // modules of this page
	Back    *link    // one step up
	Again   int      // seconds after which the page is asked for again where no script runs; 0 never
	Invented,
	Simulated bool // labels shown under the title
}

// link is an address with its words.
type link struct{ URL, Words string }

// asset gives the address of an asset.
func (p page) asset(name string) string { return p.Assets + name }

// newPage starts a page's frame.
func (s *server) newPage(r *http.Request, section, title string) page {
	return page{Title: title, Section: section, Who: asker(r), Assets: s.assets.prefix, Note: s.note}
}

// render writes a component as the answer. It is rendered whole before anything is sent, so that
// a fault never leaves half a page.
func (s *server) render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	var buf bytes.Buffer
	if err := c.Render(r.Context(), &buf); err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-cache, private")
	return send(w, r, status, "text/html; charset=utf-8", buf.Bytes())
}

// renderJSON writes a value as JSON.
func (s *server) renderJSON(w http.ResponseWriter, r *http.Request, status int, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-cache, private")
	return send(w, r, status, "application/json", b)
}

// send writes an answer, packed when that pays and the browser takes it.
func send(w http.ResponseWriter, r *http.Request, status int, media string, b []byte) error {
	w.Header().Set("Content-Type", media)
	if len(b) > 1400 && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		w.Header().Set("Content-Encoding", "gzip")
		w.Header().Add("Vary", "Accept-Encoding")
		var packed bytes.Buffer
		z, _ := gzip.NewWriterLevel(&packed, gzip.BestSpeed) // the level is a valid constant
		z.Write(b)                                           // into memory: cannot fail
		z.Close()
		b = packed.Bytes()
	}
	w.WriteHeader(status)
	if r.Method == http.MethodHead {
		return nil
	}
	// The reader may have gone; there is nobody left to tell.
	w.Write(b)
	return nil
}

// statusOf maps the code of an error to a status.
func statusOf(code logbook.Code) int {
	switch code {
	case logbook.Invalid:
		return http.StatusUnprocessableEntity
	case logbook.NotFound:
		return http.StatusNotFound
	case logbook.Conflict:
		return http.StatusConflict
	case logbook.Refused:
		return http.StatusForbidden
	case logbook.TooLarge:
		return http.StatusRequestEntityTooLarge
	case logbook.Busy:
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// asProblem gives errors of reading a request their code.
func asProblem(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return logbook.Wrap(logbook.TooLarge, err, "what was sent is larger than %d MB; nothing was stored", large.Limit>>20)
	}
	return err
}

// wantsJSON reports whether a script asks.
func wantsJSON(r *http.Request) bool {
	return strings.HasPrefix(r.Header.Get("Accept"), "application/json") || strings.HasPrefix(r.Header.Get("Content-Type"), "application/json")
}

// fail answers with an error: its sentence for people, its cause for the log.
func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	err = asProblem(err)
	if errors.Is(err, context.Canceled) {
		return // the reader went away
	}
	code := logbook.CodeOf(err)
	status := statusOf(code)
	if status >= 500 {
		s.log.Error("request failed", "route", r.Pattern, "code", string(code), "error", err.Error())
	}
	if wantsJSON(r) {
		s.renderJSON(w, r, status, errorJSON{Code: string(code), Message: logbook.MessageOf(err)})
		return
	}
	v := errorView{page: s.newPage(r, "", http.StatusText(status)), Message: logbook.MessageOf(err), Problems: logbook.ProblemsOf(err)}
	if e := s.render(w, r, status, errorPage(v)); e != nil {
		s.log.Error("error page failed", "error", e.Error())
	}
}

// errorJSON is what scripts get.
type errorJSON struct {
	Code    string `json:"code"`
	Message string `json:"message"`
}

// refuse answers a request that the rules do not allow.
func (s *server) refuse(w http.ResponseWriter, r *http.Request, d access.Decision) {
	status := http.StatusForbidden
	if d.SignIn {
		status = http.StatusUnauthorized
	}
	if wantsJSON(r) {
		s.renderJSON(w, r, status, errorJSON{Code: "refused", Message: d.Reason})
		return
	}
	title := "Not allowed"
	if d.SignIn {
		title = "Sign in first"
	}
	v := errorView{page: s.newPage(r, "", title), Message: d.Reason, SignIn: d.SignIn}
	if err := s.render(w, r, status, errorPage(v)); err != nil {
		s.log.Error("error page failed", "error", err.Error())
	}
}

// hiddenFromStrangers keeps somebody who is not signed in from learning which ids exist: what is
// not there is refused like what is.
func hiddenFromStrangers(who access.Who, err error) bool {
	return who.Role == access.Nobody && logbook.CodeOf(err) == logbook.NotFound
}

// sendFile sends a document with a name to keep it under; browsers show it when they can.
func sendFile(w http.ResponseWriter, r *http.Request, media, name string, b []byte) error {
	w.Header().Set("Content-Disposition", disposition("inline", name))
	w.Header().Set("Cache-Control", "no-cache, private")
	return send(w, r, http.StatusOK, media, b)
}

func disposition(kind, name string) string {
	return mime.FormatMediaType(kind, map[string]string{"filename": name})
}
