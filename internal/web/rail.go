package web

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// railRoutes are the addresses of the arena side.
func railRoutes() []Route {
	return []Route{
		{"GET", "/rail", access.SignedIn, nil, (*server).railShell},
		{"GET", "/sw.js", access.Open, nil, (*server).worker},
		{"GET", "/rides/{id}/rail", access.RideWrite, aboutRide, (*server).railShell},
		{"GET", "/rides/{id}/rail.json", access.RideWrite, aboutRide, (*server).railData},
		{"GET", "/rides/{id}/notes", access.RideRead, aboutRide, (*server).notes},
		{"POST", "/rides/{id}/notes", access.RideWrite, aboutRide, (*server).takeNotes},
		{"POST", "/rides/{id}/notes-file", access.TrainerDo, aboutRide, (*server).takeNotesFile},
		{"POST", "/rides/{id}/consent", access.RideWrite, aboutRide, (*server).takeConsent},
		{"PUT", "/rides/{id}/sound/{seq}", access.RideWrite, aboutRide, (*server).takeSound},
		{"GET", "/rides/{id}/sound/{seq}", access.RideRead, aboutRide, (*server).soundPiece},
		{"GET", "/rides/{id}/listen", access.RideRead, aboutRide, (*server).listen},
		{"GET", "/rides/{id}/listen.json", access.RideRead, aboutRide, (*server).listenData},
		{"POST", "/rides/{id}/transcribe", access.TrainerDo, aboutRide, (*server).transcribe},
		{"POST", "/rides/{id}/close", access.TrainerDo, aboutRide, (*server).closeRide},
		{"POST", "/rides/{id}/reopen", access.TrainerDo, aboutRide, (*server).reopenRide},
	}
}

// Limits of what the arena side sends.
const (
	maxNotesBody  = 2 << 20
	maxNotesFile  = 16 << 20
	maxSoundPiece = logbook.MaxAudio
)

// railShell is the arena-side page. It holds nothing of any ride: the script brings that in, from
// the server or from what the phone keeps, so that the worker may keep the page itself.
func (s *server) railShell(w http.ResponseWriter, r *http.Request) error {
	v := s.newPage(r, "rail", "At the rail")
	v.Who = access.Who{}
	v.Scripts = []string{"rail.js"}
	return s.render(w, r, http.StatusOK, railPage(v))
}

// worker sends the service worker, told which files belong together.
func (s *server) worker(w http.ResponseWriter, r *http.Request) error {
	files := []string{}
	for _, name := range []string{"draw.css", "app.css", "rail.css", "theme.js", "app.js", "rail.js", "railview.js", "phone.js", "outbox.js", "clock.js", "record.js", "idb.js", "icon.svg", "day.js", "lesson_run.js"} {
		files = append(files, s.assets.prefix+name)
	}
	list, err := json.Marshal(files)
	if err != nil {
		return err
	}
	head := "const PREFIX = " + strconv.Quote(s.assets.prefix) + ";\nconst FILES = " + string(list) + ";\n"
	w.Header().Set("Cache-Control", "no-cache")
	return send(w, r, http.StatusOK, "text/javascript; charset=utf-8", append([]byte(head), s.assets.files["sw.js"].plain...))
}

func (s *server) railData(w http.ResponseWriter, r *http.Request) error {
	rail, err := s.book.RailOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, rail)
}

// notes sends all notes of a ride as they are, for other programs and other devices.
func (s *server) notes(w http.ResponseWriter, r *http.Request) error {
	notes, err := s.book.Notes(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, map[string]any{"notes": notes})
}

// refusedNote is a note that cannot be taken; the phone keeps it and goes on with the others.
type refusedNote struct {
	ID  string `json:"id"`
	Why string `json:"why"`
}

// notesAnswer says what became of each note sent: kept means on disk here.
type notesAnswer struct {
	Kept    []string      `json:"kept"`
	Refused []refusedNote `json:"refused"`
}

// takeNotes takes notes from a phone, in order, each once. The answer comes when they are on disk.
func (s *server) takeNotes(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		Notes []logbook.Note `json:"notes"`
	}
	if err := readJSON(w, r, maxNotesBody, &in); err != nil {
		return err
	}
	answer, err := s.keepNotes(r, in.Notes)
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, answer)
}

// keepNotes tries all notes at once, then, when one of them is refused, one by one.
func (s *server) keepNotes(r *http.Request, notes []logbook.Note) (notesAnswer, error) {
	id, ctx := r.PathValue("id"), r.Context()
	a := notesAnswer{Kept: []string{}, Refused: []refusedNote{}}
	_, err := s.book.TakeNotes(ctx, id, slices.Clone(notes))
	if err == nil {
		for _, n := range notes {
			a.Kept = append(a.Kept, n.ID)
		}
		return a, nil
	}
	if len(notes) > logbook.MaxNotes || !mendable(err) {
		return a, err
	}
	for _, n := range notes {
		switch _, err := s.book.TakeNotes(ctx, id, []logbook.Note{n}); {
		case err == nil:
			a.Kept = append(a.Kept, n.ID)
		case mendable(err):
			a.Refused = append(a.Refused, refusedNote{n.ID, logbook.MessageOf(err)})
		default:
			return a, err
		}
	}
	return a, nil
}

// mendable says that an error is about the note itself, not about the store.
func mendable(err error) bool {
	c := logbook.CodeOf(err)
	return c == logbook.Invalid || c == logbook.Conflict || c == logbook.TooLarge
}

// notesFile is a file of notes that left a phone.
type notesFile struct {
	Format string         `json:"format"`
	Notes  []logbook.Note `json:"notes"`
}

const notesFormat = "ringcraft notes"

// takeNotesFile takes notes that left a phone as a file, for the ride the trainer chose.
func (s *server) takeNotesFile(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxNotesFile+1<<16)
	f, _, err := r.FormFile("file")
	if err != nil {
		return logbook.Wrap(logbook.Invalid, err, "choose the file of notes that the phone wrote")
	}
	defer f.Close()
	var in notesFile
	if err := decodeJSON(io.LimitReader(f, maxNotesFile), &in); err != nil {
		return err
	}
	if in.Format != notesFormat {
		return logbook.Errorf(logbook.Invalid, "this is not a file of notes from a phone (format %.40q, wanted %q)", in.Format, notesFormat)
	}
	var all notesAnswer
	for from := 0; from < len(in.Notes); from += logbook.MaxNotes {
		part := in.Notes[from:min(from+logbook.MaxNotes, len(in.Notes))]
		for i := range part {
			part[i].RideID = r.PathValue("id")
		}
		a, err := s.keepNotes(r, part)
		if err != nil {
			return err
		}
		all.Kept, all.Refused = append(all.Kept, a.Kept...), append(all.Refused, a.Refused...)
	}
	if len(all.Refused) > 0 {
		return logbook.Errorf(logbook.Conflict, "%d notes are in the book, %d are not: %s", len(all.Kept), len(all.Refused), all.Refused[0].Why)
	}
	http.Redirect(w, r, path.Join("/rides", r.PathValue("id")), http.StatusSeeOther)
	return nil
}

func (s *server) takeConsent(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		ID       string `json:"id"`
		GivenBy  string `json:"given_by"`
		Guardian bool   `json:"guardian"`
	}
	if err := readJSON(w, r, 1<<14, &in); err != nil {
		return err
	}
	pair, err := s.pairOfRide(r)
	if err != nil {
		return err
	}
	err = s.book.NoteConsent(r.Context(), logbook.Consent{ID: in.ID, RiderID: pair.RiderID, What: logbook.ConsentVoice, GivenBy: in.GivenBy, Guardian: in.Guardian})
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, map[string]bool{"kept": true})
}

func (s *server) pairOfRide(r *http.Request) (logbook.Pair, error) {
	ride, err := s.book.Ride(r.Context(), r.PathValue("id"))
	if err != nil {
		return logbook.Pair{}, err
	}
	return s.book.PairOf(r.Context(), ride.CombinationID)
}

// takeSound keeps one piece of sound, when the rider agreed to being recorded.
func (s *server) takeSound(w http.ResponseWriter, r *http.Request) error {
	seq, err := strconv.Atoi(r.PathValue("seq"))
	if err != nil {
		return logbook.Errorf(logbook.Invalid, "a piece of sound has a number")
	}
	at, err := strconv.ParseFloat(r.URL.Query().Get("at_s"), 64)
	if err != nil || !(at >= -3600 && at <= 24*3600) {
		return logbook.Errorf(logbook.Invalid, "a piece of sound says at which second it begins (at_s)")
	}
	body := http.MaxBytesReader(w, r.Body, maxSoundPiece)
	if _, err := s.book.AddSound(r.Context(), r.PathValue("id"), seq, at, r.Header.Get("Content-Type"), body); err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, map[string]bool{"kept": true})
}

// soundPiece sends one piece back, as it was given.
func (s *server) soundPiece(w http.ResponseWriter, r *http.Request) error {
	ride, err := s.book.Ride(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	for _, f := range ride.FilesOf(logbook.RoleAudio) {
		if strconv.Itoa(f.Seq) != r.PathValue("seq") {
			continue
		}
		b, err := s.book.Recordings.Open(r.Context(), f.Blob)
		if err != nil {
			return err
		}
		defer b.Close()
		media := f.Media
		if !strings.HasPrefix(media, "audio/") {
			media = "application/octet-stream"
		}
		w.Header().Set("Content-Type", media)
		w.Header().Set("Cache-Control", "private, max-age=86400, immutable")
		http.ServeContent(w, r, "", f.Added, b)
		return nil
	}
	return logbook.Errorf(logbook.NotFound, "there is no such piece of sound")
}

// listenData lists pieces of sound and what was noted when, for replay.
type listenData struct {
	Pieces []listenPiece `json:"pieces"`
	Notes  []listenNote  `json:"notes"`
}

type listenPiece struct {
	Seq   int     `json:"seq"`
	AtS   float64 `json:"at_s"`
	Media string  `json:"media"`
}

type listenNote struct {
	AtS      float64 `json:"at_s"`
	Movement int     `json:"movement"`
	Words    string  `json:"words"`
}

func (s *server) listenData(w http.ResponseWriter, r *http.Request) error {
	ride, err := s.book.Ride(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	notes, err := s.book.Notes(r.Context(), ride.ID)
	if err != nil {
		return err
	}
	out := listenData{Pieces: []listenPiece{}, Notes: []listenNote{}}
	for _, f := range ride.FilesOf(logbook.RoleAudio) {
		out.Pieces = append(out.Pieces, listenPiece{f.Seq, f.AtS, f.Media})
	}
	for _, n := range logbook.Standing(notes) {
		if n.Kind != logbook.NoteNow {
			out.Notes = append(out.Notes, listenNote{n.AtS, n.Movement, noteInWords(n)})
		}
	}
	return s.renderJSON(w, r, http.StatusOK, out)
}

func noteInWords(n logbook.Note) string {
	switch n.Kind {
	case logbook.NoteMark:
		return strings.TrimSpace("mark " + n.Mark + " " + n.Collective)
	case logbook.NoteError:
		return strings.TrimSpace("error of course " + n.Text)
	case logbook.NoteLater:
		return strings.TrimSpace("for later " + n.Text)
	}
	return n.Text
}

func (s *server) listen(w http.ResponseWriter, r *http.Request) error {
	v := s.newPage(r, "yard", "Listen to the ride")
	v.Scripts = []string{"listen.js"}
	v.Back = &link{path.Join("/rides", r.PathValue("id")), "Ride"}
	return s.render(w, r, http.StatusOK, listenPage(v))
}

// transcribe hands the sound to the user's own command, in the background.
func (s *server) transcribe(w http.ResponseWriter, r *http.Request) error {
	if s.book.Jobs == nil {
		return logbook.Errorf(logbook.Refused, "no background work runs here")
	}
	if _, err := s.book.Jobs.Start(r.Context(), "transcribe", r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, path.Join("/rides", r.PathValue("id")), http.StatusSeeOther)
	return nil
}

func (s *server) closeRide(w http.ResponseWriter, r *http.Request) error {
	if err := s.book.CloseRide(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, path.Join("/rides", r.PathValue("id")), http.StatusSeeOther)
	return nil
}

// reopenRide lets notes in again, for example those still on a scribe's phone.
func (s *server) reopenRide(w http.ResponseWriter, r *http.Request) error {
	if err := s.book.ReopenRide(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, railPath(r.PathValue("id")), http.StatusSeeOther)
	return nil
}

// readJSON reads a request's body as JSON, bounded in size and, by the type it fills, in depth.
func readJSON(w http.ResponseWriter, r *http.Request, limit int64, into any) error {
	return decodeJSON(http.MaxBytesReader(w, r.Body, limit), into)
}

func decodeJSON(from io.Reader, into any) error {
	d := json.NewDecoder(from)
	if err := d.Decode(into); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return err
		}
		return logbook.Wrap(logbook.Invalid, err, "what was sent is not the JSON expected here")
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return logbook.Errorf(logbook.Invalid, "something follows the JSON")
	}
	return nil
}
