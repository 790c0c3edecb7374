package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// Routes are the gate's own pages, for Config.Extra.
func (g *Gate) Routes() []Route {
	all := append(g.personRoutes(), Route{"GET", "/health", access.Open, nil, g.health})
	if g.o.OwnerOnly {
		return all
	}
	return append(all,
		Route{"GET", "/sign-in", access.Open, nil, g.signInPage},
		Route{"POST", "/sign-in", access.Open, nil, g.signIn},
		Route{"POST", "/sign-out", access.SignedIn, nil, g.signOut},
		Route{"GET", "/pair", access.Open, nil, g.pairPage},
		Route{"POST", "/pair", access.Open, nil, g.pair},
		Route{"GET", "/guest/{token}", access.Open, nil, g.guest},
		Route{"GET", "/me", access.SignedIn, nil, g.me},
		Route{"GET", "/devices", access.TrainerDo, nil, g.devices},
		Route{"POST", "/devices/pair", access.TrainerDo, nil, g.newPairing},
		Route{"POST", "/devices/out", access.TrainerDo, nil, g.putOut},
		Route{"POST", "/people/remove", access.TrainerDo, nil, g.removeAccount},
		Route{"POST", "/links", access.TrainerDo, nil, g.newLink},
		Route{"POST", "/links/remove", access.TrainerDo, nil, g.removeLink},
	)
}

// health says in one line of JSON whether the server works; it tells nothing about the book.
func (g *Gate) health(s *server, w http.ResponseWriter, r *http.Request) error {
	answer := map[string]string{"status": "ok", "version": g.o.Version}
	status := http.StatusOK
	if g.o.Health != nil {
		ctx, stop := context.WithTimeout(r.Context(), 5*time.Second)
		defer stop()
		if err := g.o.Health(ctx); err != nil {
			answer["status"], status = logbook.MessageOf(err), http.StatusServiceUnavailable
		}
	}
	return s.renderJSON(w, r, status, answer)
}

// signView is the page that asks for name and password, or for a pairing code.
type signView struct {
	page
	Name, Code, Device string
	Wrong              string
}

func (g *Gate) signInPage(s *server, w http.ResponseWriter, r *http.Request) error {
	return s.render(w, r, http.StatusOK, signInPage(signView{page: s.newPage(r, "", "Sign in")}))
}

// signIn checks name and password. What was wrong is never said more precisely than "that".
func (g *Gate) signIn(s *server, w http.ResponseWriter, r *http.Request) error {
	v := signView{page: s.newPage(r, "", "Sign in"), Name: r.PostFormValue("name")}
	if wait, slow := g.slowed(g.logins, w, r); slow {
		v.Wrong = wait
		return s.render(w, r, http.StatusTooManyRequests, signInPage(v))
	}
	d, err := g.o.Guard.SignIn(r.Context(), v.Name, r.PostFormValue("password"), browserName(r))
	if errors.Is(err, access.ErrRefused) {
		g.o.Log.Warn("sign-in refused", "from", addressOf(r))
		v.Wrong = "That name and password do not open this book."
		return s.render(w, r, http.StatusUnauthorized, signInPage(v))
	}
	if err != nil {
		return err
	}
	g.logins.Forgive(addressOf(r))
	return g.enter(w, r, d, access.SignedLife)
}

func (g *Gate) pairPage(s *server, w http.ResponseWriter, r *http.Request) error {
	v := signView{page: s.newPage(r, "", "Pair this device"), Code: r.URL.Query().Get("code"), Device: browserName(r)}
	v.Scripts = []string{"pair.js"}
	w.Header().Set("Referrer-Policy", "no-referrer") // the address may hold the code
	return s.render(w, r, http.StatusOK, pairPage(v))
}

// pair takes a one-time code. Opening the page does not use the code up: only this form does.
func (g *Gate) pair(s *server, w http.ResponseWriter, r *http.Request) error {
	v := signView{page: s.newPage(r, "", "Pair this device"), Code: r.PostFormValue("code"), Device: r.PostFormValue("device")}
	if wait, slow := g.slowed(g.pairs, w, r); slow {
		v.Wrong = wait
		return s.render(w, r, http.StatusTooManyRequests, pairPage(v))
	}
	d, err := g.o.Guard.Pair(r.Context(), v.Code, v.Device)
	if errors.Is(err, access.ErrRefused) {
		g.o.Log.Warn("pairing refused", "from", addressOf(r))
		v.Wrong = "This code is not valid. A code works once and for ten minutes; ask for a new one."
		return s.render(w, r, http.StatusUnauthorized, pairPage(v))
	}
	if err != nil {
		return err
	}
	g.pairs.Forgive(addressOf(r))
	return g.enter(w, r, d, access.PairedLife)
}

// enter opens the session and shows the way to the right start page.
func (g *Gate) enter(w http.ResponseWriter, r *http.Request, d access.Device, life time.Duration) error {
	if err := g.begin(r, sessionDevice, d.ID, g.o.Guard.Now().Add(life)); err != nil {
		return err
	}
	g.o.Log.Info("device let in", "device", d.ID)
	who, err := g.o.Guard.WhoHas(r.Context(), d.ID)
	if err != nil {
		return err
	}
	to := "/me"
	if who.Role == access.Trainer {
		to = "/"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// signOut ends the session; the device is put out, so that a copied cookie is worth nothing.
func (g *Gate) signOut(s *server, w http.ResponseWriter, r *http.Request) error {
	if d := asker(r).Device; d != "" {
		if err := g.o.Guard.Store().PutOutDevice(r.Context(), d, g.o.Guard.Now()); err != nil {
			return err
		}
	}
	if err := g.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// guest opens a link to one report. The token leaves the address at once.
func (g *Gate) guest(s *server, w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Referrer-Policy", "no-referrer")
	if wait, slow := g.slowed(g.pairs, w, r); slow {
		return logbook.Errorf(logbook.Refused, "%s", wait)
	}
	l, err := g.o.Guard.OpenLink(r.Context(), r.PathValue("token"))
	if errors.Is(err, access.ErrRefused) {
		return logbook.Errorf(logbook.NotFound, "this link is not valid any more; ask the trainer for a new one")
	}
	if err != nil {
		return err
	}
	g.pairs.Forgive(addressOf(r))
	if who := asker(r); who.Role == access.Nobody || who.Role == access.Guest {
		if err := g.begin(r, sessionLink, l.ID, l.Expires); err != nil {
			return err
		}
	}
	http.Redirect(w, r, reportPath(l.RideID), http.StatusSeeOther)
	return nil
}

// browserName guesses what to call a device from what the browser says about itself.
func browserName(r *http.Request) string {
	ua := r.UserAgent()
	for _, k := range []struct{ has, name string }{
		{"iPhone", "iPhone"}, {"iPad", "iPad"}, {"Android", "Android phone"}, {"Macintosh", "Mac"},
		{"Windows", "Windows laptop"}, {"CrOS", "Chromebook"}, {"Linux", "Linux laptop"},
	} {
		if strings.Contains(ua, k.has) {
			return k.name
		}
	}
	return "device"
}
