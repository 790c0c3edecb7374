package web

import (
	"context"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strconv"
	"time"

	"ringcraft/internal/access"
)

func itoa(n int) string { return strconv.Itoa(n) }

// seenRequest collects what the log line of a request says.
type seenRequest struct {
	http.ResponseWriter
	status  int
	bytes   int64
	who     access.Who
	pattern string
}

func (s *seenRequest) WriteHeader(code int) {
	if s.status == 0 {
		s.status = code
	}
	s.ResponseWriter.WriteHeader(code)
}

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

// noteWho tells the log line who asked for which route.
func noteWho(r *http.Request, who access.Who) {
	if s, ok := r.Context().Value(seenKey{}).(*seenRequest); ok {
		s.who, s.pattern = who, r.Pattern
	}
}

// logged writes one line for each request: the route's pattern, never the address itself, so that
// no code, token or name of a person gets into a log. A panic becomes a neutral answer and a line.
func (g *gate) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		s := &seenRequest{ResponseWriter: w}
		r = r.WithContext(context.WithValue(r.Context(), seenKey{}, s))
		defer func() {
			if p := recover(); p != nil {
				g.panicked(s, r, p)
			}
			g.line(s, r, time.Since(began))
		}()
		next.ServeHTTP(s, r)
	})
}

func (g *gate) panicked(s *seenRequest, r *http.Request, p any) {
	if p == http.ErrAbortHandler {
		panic(p)
	}
	g.o.Log.Error("fault in a page", "route", s.pattern, "panic", p, "stack", string(debug.Stack()))
	if s.status == 0 {
		http.Error(s, "Something went wrong inside Ringcraft; nothing was changed. The log says more.", http.StatusInternalServerError)
	}
}

func (g *gate) line(s *seenRequest, r *http.Request, took time.Duration) {
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
		route = "none" // no route: an address that does not exist, or was refused before
	}
	g.o.Log.LogAttrs(r.Context(), level, "request", slog.String("method", r.Method), slog.String("route", route),
		slog.Int("status", s.status), slog.Int64("bytes", s.bytes), slog.Float64("ms", float64(took.Microseconds())/1000),
		slog.String("role", role), slog.String("device", s.who.Device))
}
