package web

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/logbook"
)

var ctx = context.Background()

// testBook is an empty book in memory with a clock that stands still and ids that count.
func testBook() *logbook.Book {
	n := 0
	return &logbook.Book{
		Store: logbook.NewMemory(),
		Now:   func() time.Time { return time.Date(2026, 6, 1, 9, 0, 0, 0, time.UTC) },
		NewID: func() string { n++; return fmt.Sprintf("id%d", n) },
	}
}

// site is patient: a page that takes long on a busy machine is waited for.
func site(t testing.TB, b *logbook.Book) http.Handler {
	t.Helper()
	return New(Config{Book: b, Patience: time.Minute, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
}

// get asks for a page and returns status and body.
func get(t testing.TB, h http.Handler, path string) (int, string) {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
	return w.Code, w.Body.String()
}

func has(t *testing.T, body string, want ...string) {
	t.Helper()
	for _, s := range want {
		if !strings.Contains(body, s) {
			t.Errorf("page lacks %q", s)
		}
	}
}
