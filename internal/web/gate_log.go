package web

import (
	"context"
	"log/slog"
	"net/http"
	"runtime/debug"
	"time"

	"ringcraft/internal/access"
)

// seenRequest collects what the log line of a request says.
type seenRequest struct {
	http.ResponseWriter
	status  int
	bytes   int64
	who     access.Who
	pattern string
}

// WriteHeader notes the status.
func (s *seenRequest) WriteHeader(code int) {
	if s.status == 0 {
		s.status = code
	}
	s.ResponseWriter.WriteHeader(code)
}

// Write counts bytes.
func (s *seenRequest) Write(b []byte) (int, error) {
	if s.status == 0 {
		s.status = http.StatusOK
	}
	n, err := s.ResponseWriter.Write(b)
	s.bytes += int64(n)
	return n, err
}

// Unwrap lets http.ResponseController reach the connection.
func (s *seenRequest) Unwrap() http.ResponseWriter { return s.ResponseWriter }

type seenKey struct{}

// logged writes one line for each request: the route's pattern, never the address itself, so that
// no code, token or name of a person gets into a log. A panic becomes a neutral answer and a line.
func (g *Gate) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		s := &seenRequest{ResponseWriter: w}
		r = r.WithContext(context.WithValue(r.Context(), seenKey{}, s))
		defer func() {
			if p := recover(); p != nil {
				g.panicked(s, p)
			}
			g.line(s, r, time.Since(began))
		}()
		next.ServeHTTP(s, r)
	})
}

func (g *Gate) panicked(s *seenRequest, p any) {
	if p == http.ErrAbortHandler {
		panic(p)
	}
	g.o.Log.Error("fault in a page", "panic", p, "stack", string(debug.Stack()))
	if s.status == 0 {
		http.Error(s, "Something went wrong inside Ringcraft; nothing was changed. The log says more.", http.StatusInternalServerError)
	}
}

func (g *Gate) line(s *seenRequest, r *http.Request, took time.Duration) {
	level := slog.LevelInfo
	if s.status >= 500 {
		level = slog.LevelError
	}
	role := string(s.who.Role)
	if role == "" {
		role = "nobody"
	}
	route := s.pattern
	if route == "" {
		route = "none" // refused before the routes: wrong host, other origin, store away
	}
	g.o.Log.LogAttrs(r.Context(), level, "request", slog.String("method", r.Method), slog.String("route", route),
		slog.Int("status", s.status), slog.Int64("bytes", s.bytes), slog.Float64("ms", float64(took.Microseconds())/1000),
		slog.String("role", role), slog.String("device", s.who.Device))
}
