package web

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// Config is what the pages need.
type Config struct {
	Book *logbook.Book
	// Who says who asks; nil: the person at the machine itself, who may do everything. A server
	// that others can reach must set it.
	Who func(*http.Request) access.Who
	// Extra are routes that the wiring adds (sign-in, pairing, health), under the same checks.
	Extra []Route
	// Around wraps the whole site, outermost last (sessions, logging); nil for none.
	Around []func(http.Handler) http.Handler
	Log    *slog.Logger // nil: slog.Default
	// Note is shown on top of every page, for example that another backup disk is wiser.
	Note string
	// Alive ends when the program does, and work under way with it; Beside runs work that must end before the
	// store is closed. nil: to the end, and in a goroutine.
	Alive  context.Context
	Beside func(func())
	// Patience is how long a request may last before it is answered with a page that says how far it is; 0: a second.
	Patience time.Duration
}

// server holds what all handlers share.
type server struct {
	book   *logbook.Book
	who    func(*http.Request) access.Who
	log    *slog.Logger
	assets *assets
	note   string
	works  *works
}

// New returns the whole site. It panics when a route has no known rule or two routes clash:
// both are mistakes of the program, found at its start.
func New(c Config) http.Handler {
	s := &server{book: c.Book, who: c.Who, log: c.Log, assets: loadAssets(), note: c.Note, works: newWorks(c)}
	if s.who == nil {
		s.who = func(*http.Request) access.Who { return access.Owner() }
	}
	if s.log == nil {
		s.log = slog.Default()
	}
	mux := http.NewServeMux()
	for _, route := range append(routes(), c.Extra...) {
		if !route.Rule.Known() {
			panic("web: route " + route.Pattern + " has no known rule")
		}
		mux.Handle(route.Method+" "+route.Pattern, s.guarded(route))
	}
	mux.Handle("/", s.guarded(Route{Rule: access.Open, Handler: func(s *server, w http.ResponseWriter, r *http.Request) error {
		return logbook.Errorf(logbook.NotFound, "there is no page at this address")
	}}))
	var site http.Handler = protected(mux)
	for _, around := range c.Around {
		site = around(site)
	}
	return site
}

// protected refuses changes that another site asks for and sends the headers of every answer.
func protected(next http.Handler) http.Handler {
	return http.NewCrossOriginProtection().Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(self), screen-wake-lock=(self)")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		next.ServeHTTP(w, r)
	}))
}

// policy allows our own files and nothing else: no inline script or style, no frame around us.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; " +
	"connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
