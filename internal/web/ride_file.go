package web

import (
	"net/http"
	"strconv"
	"time"

	"ringcraft/internal/logbook"
)

// rideFile sends a file of a ride as it was given. It is sent as a download: what somebody else
// made is never shown as a page of ours.
func (s *server) rideFile(w http.ResponseWriter, r *http.Request) error {
	ride, err := s.book.Ride(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	seq, err := strconv.Atoi(r.PathValue("seq"))
	if err != nil {
		return logbook.Errorf(logbook.NotFound, "there is no such file")
	}
	for _, f := range ride.FilesOf(logbook.Role(r.PathValue("role"))) {
		if f.Seq == seq {
			return s.sendBlob(w, r, f)
		}
	}
	return logbook.Errorf(logbook.NotFound, "there is no such file")
}

func (s *server) sendBlob(w http.ResponseWriter, r *http.Request, f logbook.File) error {
	blob, err := s.book.Recordings.Open(r.Context(), f.Blob)
	if err != nil {
		return err
	}
	defer blob.Close()
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	if f.Role == logbook.RoleAudio {
		h.Set("Content-Type", f.Media) // one of the sound types the book keeps
	} else {
		h.Set("Content-Disposition", disposition("attachment", f.Name))
	}
	h.Set("ETag", `"`+f.Blob+`"`)
	h.Set("Cache-Control", "private, no-cache")
	http.ServeContent(w, r, "", time.Time{}, blob)
	return nil
}

// rideAddFiles gives a ride what came later: a judge's sheet after the show, a commentary, a
// recording with the consent to it.
func (s *server) rideAddFiles(w http.ResponseWriter, r *http.Request) error {
	f, files, err := upload(r)
	if err != nil {
		return err
	}
	for _, f := range files {
		switch f.Role {
		case logbook.RoleTrack, logbook.RoleMotion, logbook.RoleArena, logbook.RoleCommentary, logbook.RoleMarks:
		default:
			return logbook.Errorf(logbook.Invalid, "a ride takes a recording, motion, an arena file, a commentary and marks, not %q", f.Role)
		}
	}
	id := r.PathValue("id")
	added := logbook.AddedFiles{Files: files, Recorder: f["recorder"], About: aboutTrack(f), Consent: consentGiven(f)}
	return s.lasting(w, r, adding, func(w http.ResponseWriter, r *http.Request) error {
		if err := s.book.AddFilesTo(r.Context(), id, added); err != nil {
			return err
		}
		http.Redirect(w, r, "/rides/"+id, http.StatusSeeOther)
		return nil
	})
}
