package web

import (
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"slices"
	"strconv"
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
	// Address is the site's own address as phones use it, https://name:port; "" where phones
	// cannot reach it.
	Address string
	// TrustURL is where a new phone fetches the certificate; "" when it needs none.
	TrustURL string
	// Fingerprint is that of the authority phones come to trust; "" when there is none.
	Fingerprint string
	// QR draws text as an SVG code.
	QR func(text string) (string, error)
	// Health says what does not work, nil when all does.
	Health func(ctx context.Context) error
	// Export writes everything stored about one rider as a zip; nil where there is none.
	Export func(ctx context.Context, w io.Writer, riderID string) error
	// Version is the program's.
	Version string
}

// Gate decides who comes in: sessions, rate limits, host names, the log line of every request,
// and the pages for signing in, pairing and putting out. Rules are enforced by the route table.
type Gate struct {
	o        GateOptions
	sessions *scs.SessionManager
	logins   *access.Limit
	pairs    *access.Limit
}

// Keys of a session's values.
const (
	sessionDevice = "device"
	sessionLink   = "link"
)

// NewGate returns a gate. Guessing is slowed to five tries at once and one every 20 seconds for
// each address, twenty times that for all together: in the ten minutes a pairing code of 40 bits
// lives, at most 700 guesses, a chance of 1 in 1,500 million.
func NewGate(o GateOptions) *Gate {
	g := &Gate{o: o, logins: access.NewLimit(20*time.Second, 5), pairs: access.NewLimit(20*time.Second, 5)}
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
	s.ErrorFunc = func(w http.ResponseWriter, _ *http.Request, err error) { g.unavailable(w, err) }
	g.sessions = s
	return g
}

// Around is what Config.Around needs, innermost first.
func (g *Gate) Around() []func(http.Handler) http.Handler {
	if g.o.OwnerOnly {
		return []func(http.Handler) http.Handler{g.identified, g.hosts, g.logged}
	}
	return []func(http.Handler) http.Handler{g.identified, g.sessions.LoadAndSave, g.hosts, g.logged}
}

func (g *Gate) hosts(next http.Handler) http.Handler {
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

// Who is what Config.Who needs.
func (g *Gate) Who(r *http.Request) access.Who {
	who, _ := r.Context().Value(whoKey{}).(access.Who)
	return who
}

// identified finds out who asks before any rule is looked at. A store that does not answer is
// said so: a phone must not take it for having been put out.
func (g *Gate) identified(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var who access.Who
		if !strings.HasPrefix(r.URL.Path, "/assets/") {
			var err error
			if who, err = g.identify(r); err != nil {
				g.unavailable(w, err)
				return
			}
		}
		r = r.WithContext(context.WithValue(r.Context(), whoKey{}, who))
		next.ServeHTTP(w, r)
		if s, ok := r.Context().Value(seenKey{}).(*seenRequest); ok {
			s.who, s.pattern = who, r.Pattern // the router has noted the pattern in this request
		}
	})
}

func (g *Gate) unavailable(w http.ResponseWriter, err error) {
	g.o.Log.Error("the store did not say who asks", "err", err)
	w.Header().Set("Retry-After", "5")
	http.Error(w, "The store did not answer; nothing was changed. Try again in a moment.", http.StatusServiceUnavailable)
}

func (g *Gate) identify(r *http.Request) (access.Who, error) {
	if g.o.OwnerOnly {
		return access.Owner(), nil
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

// slowed refuses a try of a secret that comes too soon. The key is the address, not the name
// tried: nobody can lock the trainer out by guessing from elsewhere.
func (g *Gate) slowed(l *access.Limit, w http.ResponseWriter, r *http.Request) (string, bool) {
	ok, wait := l.Try(addressOf(r), g.o.Guard.Now())
	if ok {
		return "", false
	}
	seconds := strconv.Itoa(int(wait/time.Second) + 1)
	w.Header().Set("Retry-After", seconds)
	return "Too many tries. Wait " + seconds + " seconds, then try again.", true
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

// begin opens a new session; whatever session there was is left behind.
func (g *Gate) begin(r *http.Request, key, value string, until time.Time) error {
	ctx := r.Context()
	if err := g.sessions.Clear(ctx); err != nil {
		return err
	}
	if err := g.sessions.RenewToken(ctx); err != nil {
		return err
	}
	g.sessions.Put(ctx, key, value)
	g.sessions.SetDeadline(ctx, until)
	return nil
}
