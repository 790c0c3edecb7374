package web

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"ringcraft/internal/access"
)

// GateOptions is how the gate stands; the command wires it.
type GateOptions struct {
	Guard    *access.Guard
	Sessions access.SessionStore
	Log      *slog.Logger
	// TLS says that people come over TLS: cookies are then marked so and bound to this host.
	TLS bool
	// OwnerOnly is loopback without a login: whoever sits at the machine is the trainer.
	OwnerOnly bool
	// Hosts, when not empty, are the only host names served (without port): a page of another
	// site that got a name pointed at this machine is refused.
	Hosts []string
	// PairURL is the pairing address phones use, for the QR code; "" where phones cannot reach us.
	PairURL string
	// TrustURL is where a new phone fetches the certificate; "" when it needs none.
	TrustURL    string
	Fingerprint string // of the authority phones come to trust, "" when none is needed
	// QR draws text as an SVG code.
	QR func(text string) (string, error)
}

// gate decides who comes in: sessions, rules, cross-origin protection, headers, rate limits.
type gate struct {
	o        GateOptions
	sessions *scs.SessionManager
	origin   *http.CrossOriginProtection
	logins   *access.Limit
	pairs    *access.Limit
}

// Keys of a session's values.
const (
	sessionDevice = "device"
	sessionLink   = "link"
)

func newGate(o GateOptions) *gate {
	g := &gate{o: o, origin: http.NewCrossOriginProtection(),
		logins: access.NewLimit(20*time.Second, 5), pairs: access.NewLimit(20*time.Second, 5)}
	if o.Sessions == nil {
		return g
	}
	s := scs.New()
	s.Store = o.Sessions
	s.HashTokenInStore = true
	s.Lifetime = access.SignedLife
	s.Cookie.Name = "ringcraft"
	s.Cookie.HttpOnly = true
	s.Cookie.SameSite = http.SameSiteLaxMode // strict would lose the session on a scanned link
	s.Cookie.Path = "/"
	if o.TLS {
		s.Cookie.Name = "__Host-ringcraft" // browsers bind it to this host and to TLS
		s.Cookie.Secure = true
	}
	s.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) {
		o.Log.Error("session", "err", err)
		http.Error(w, "The store did not answer; nothing was changed. Try again in a moment.", http.StatusServiceUnavailable)
	}
	g.sessions = s
	return g
}

// contentPolicy lets a page use what this server sends and nothing else: no inline script, no
// other origin, no frame around it.
const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; " +
	"media-src 'self' blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'"

// wrap puts the gate around all routes: log line, panic net, headers, host, origin, session.
func (g *gate) wrap(next http.Handler) http.Handler {
	h := g.origin.Handler(next)
	if g.sessions != nil {
		h = g.sessions.LoadAndSave(h)
	}
	return g.logged(g.headers(g.hosts(h)))
}

func (g *gate) headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", contentPolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Permissions-Policy", "microphone=(self), camera=(), geolocation=()")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "private, no-cache") // pages say otherwise where they may be kept
		next.ServeHTTP(w, r)
	})
}

func (g *gate) hosts(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if len(g.o.Hosts) > 0 && !slices.Contains(g.o.Hosts, hostOf(r.Host)) {
			http.Error(w, "This address is not one of this machine's.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func hostOf(hostport string) string {
	host, _, err := net.SplitHostPort(hostport)
	if err != nil {
		host = hostport
	}
	return strings.ToLower(strings.Trim(host, "[]"))
}

type whoKey struct{}

// whoIs says who asks; the gate has put it there. Without a gate it is nobody.
func whoIs(ctx context.Context) access.Who {
	who, _ := ctx.Value(whoKey{}).(access.Who)
	return who
}

// identify finds out who asks from the session.
func (g *gate) identify(r *http.Request) (access.Who, error) {
	if g.o.OwnerOnly {
		return access.Owner(), nil
	}
	if g.sessions == nil {
		return access.Who{}, nil
	}
	ctx := r.Context()
	if device := g.sessions.GetString(ctx, sessionDevice); device != "" {
		who, err := g.o.Guard.WhoHas(ctx, device)
		if err != nil || who.Role != access.Nobody {
			return who, err
		}
	}
	if link := g.sessions.GetString(ctx, sessionLink); link != "" {
		return g.o.Guard.GuestOf(ctx, link)
	}
	return access.Who{}, nil
}

// thingOf says what a request is about.
type thingOf func(r *http.Request) (access.Thing, error)

// protect enforces a rule before a handler. thing may be nil for routes about nothing in particular.
func (g *gate) protect(rule access.Rule, thing thingOf, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who, err := g.identify(r)
		if err != nil {
			g.o.Log.Error("who asks", "err", err)
			http.Error(w, "The store did not answer; nothing was changed. Try again in a moment.", http.StatusServiceUnavailable)
			return
		}
		noteWho(r, who)
		var about access.Thing
		if thing != nil && who.Role != access.Nobody && who.Role != access.Trainer {
			// What does not exist is refused like what is another's: a stranger learns nothing.
			about, _ = thing(r)
		}
		d := access.Allow(rule, who, about)
		if !d.Allowed {
			g.refuse(w, r, d)
			return
		}
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), whoKey{}, who)))
	})
}

func (g *gate) refuse(w http.ResponseWriter, r *http.Request, d access.Decision) {
	w.Header().Set("Cache-Control", "no-store")
	if !d.SignIn {
		http.Error(w, d.Reason, http.StatusForbidden)
		return
	}
	if r.Method == http.MethodGet && strings.Contains(r.Header.Get("Accept"), "text/html") {
		http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
		return
	}
	http.Error(w, d.Reason, http.StatusUnauthorized)
}

// limited refuses a try of a secret that comes too soon. The key is the address, not the name
// tried: nobody can lock the trainer out by guessing from elsewhere.
func (g *gate) limited(l *access.Limit, w http.ResponseWriter, r *http.Request) bool {
	ok, wait := l.Try(addressOf(r), g.o.Guard.Now())
	if ok {
		return false
	}
	seconds := int(wait/time.Second) + 1
	w.Header().Set("Retry-After", itoa(seconds))
	http.Error(w, "Too many tries. Wait "+itoa(seconds)+" seconds.", http.StatusTooManyRequests)
	return true
}

// addressOf is the address a request came from, without its port; of IPv6 the network, since one
// machine has many addresses in it.
func addressOf(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	ip := net.ParseIP(host)
	if ip != nil && ip.To4() == nil {
		return ip.Mask(net.CIDRMask(64, 128)).String()
	}
	return host
}

// begin opens a new session for a device; whatever session there was is left behind.
func (g *gate) begin(r *http.Request, device string, life time.Duration) error {
	ctx := r.Context()
	if err := g.sessions.Clear(ctx); err != nil {
		return err
	}
	if err := g.sessions.RenewToken(ctx); err != nil {
		return err
	}
	g.sessions.Put(ctx, sessionDevice, device)
	g.sessions.SetDeadline(ctx, g.o.Guard.Now().Add(life))
	return nil
}

var errNoAccess = errors.New("this server runs without sign-in, for the person at the machine only")
