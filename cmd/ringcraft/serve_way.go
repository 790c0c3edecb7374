package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"time"

	"ringcraft/internal/certs"
)

// way is how people reach the site.
type way struct {
	config      *tls.Config // nil: plain, loopback only
	name        string      // name phones use; "" when they cannot
	address     string      // https://name:port
	hosts       []string    // the only hosts served; empty: any
	trust       string      // where a new phone fetches the authority's certificate
	fingerprint string
	start       func(ctx context.Context, log *slog.Logger) error
}

// way prepares TLS as asked for.
func (o *serveCmd) way(dir string, log *slog.Logger) (way, error) {
	dir = filepath.Join(dir, certsName)
	_, port, err := net.SplitHostPort(o.Listen)
	if err != nil {
		return way{}, usageError{fmt.Sprintf("--listen %s: give a host and a port, for example :8443", o.Listen)}
	}
	switch {
	case (o.Cert == "") != (o.Key == ""):
		return way{}, usageError{"--cert and --key belong together"}
	case o.Cert != "":
		return o.ownWay(port)
	case o.ACME != "":
		return o.publicWay(dir, port)
	case certs.Loopback(o.Listen) && !o.tlsAsked():
		return loopbackWay(), nil
	}
	return o.yardWay(dir, port, log)
}

// tlsAsked reports whether TLS was asked for on loopback by naming the machine.
func (o *serveCmd) tlsAsked() bool { return o.TLS == "own" && o.Name != "" }

// loopbackWay is plain HTTP for this machine; only its own names are served, so that no foreign
// page can reach it under a name of its own.
func loopbackWay() way {
	return way{hosts: []string{"localhost", "127.0.0.1", "::1"}, start: func(context.Context, *slog.Logger) error { return nil }}
}

func (o *serveCmd) ownWay(port string) (way, error) {
	own, err := certs.OpenOwn(o.Cert, o.Key, time.Now)
	if err != nil {
		return way{}, err
	}
	w := way{config: certs.Config(own.GetCertificate), start: func(context.Context, *slog.Logger) error { return nil }}
	if names := own.Names(); len(names) > 0 {
		w.name = names[0]
		w.address = address(w.name, port)
	}
	return w, nil
}

func (o *serveCmd) publicWay(dir, port string) (way, error) {
	p, err := certs.OpenPublic(filepath.Join(dir, "acme"), []string{o.ACME}, o.ACMEEmail, o.ACMEDir)
	if err != nil {
		return way{}, err
	}
	return way{config: p.Config(), name: o.ACME, address: address(o.ACME, port),
		start: func(ctx context.Context, log *slog.Logger) error {
			return listenPlain(ctx, o.TrustListen, p.Challenges(), log)
		}}, nil
}

// yardWay is the machine's own authority, for a yard's Wi-Fi.
func (o *serveCmd) yardWay(dir, port string, log *slog.Logger) (way, error) {
	k, err := certs.Open(dir, o.Name, certs.ThisMachine(), time.Now, log)
	if err != nil {
		return way{}, err
	}
	w := way{config: certs.Config(k.GetCertificate), name: k.Name(), address: address(k.Name(), port), fingerprint: certs.Fingerprint(k.Authority())}
	if o.TrustListen != "off" {
		if _, p, err := net.SplitHostPort(o.TrustListen); err == nil {
			w.trust = "http://" + net.JoinHostPort(k.Name(), p) + "/"
		}
	}
	before, err := k.Served(w.address)
	if err != nil {
		return way{}, err
	}
	if before != "" {
		log.Warn("the address phones use changed: what a phone still keeps offline belongs to the old one. Start once more with the old name and port to fetch it, or take it from the phone as a file", "old", before, "new", w.address)
	}
	w.start = func(ctx context.Context, log *slog.Logger) error {
		go follow(ctx, k, log)
		if !o.NoName && !certs.Loopback(o.Listen) {
			if err := certs.Respond(ctx, k.Name(), log); err != nil {
				log.Warn("phones must use this machine's number address, which changes from yard to yard", "err", err, "addresses", fmt.Sprint(k.Addresses()))
			}
		}
		if o.TrustListen == "off" {
			return nil
		}
		return listenPlain(ctx, o.TrustListen, certs.Handout(k, w.address+"/pair"), log)
	}
	return w, nil
}

func address(name, port string) string {
	if port == "443" {
		return "https://" + name
	}
	return "https://" + net.JoinHostPort(name, port)
}

// follow renews the certificate when it nears its end or the machine moves to another network.
func follow(ctx context.Context, k *certs.Keeper, log *slog.Logger) {
	tick := time.NewTicker(3 * time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if _, err := k.Refresh(); err != nil {
				log.Error("certificate not renewed", "err", err)
			}
		}
	}
}

// listenPlain serves a small handler over plain HTTP until ctx ends.
func listenPlain(ctx context.Context, addr string, h http.Handler, log *slog.Logger) error {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return fmt.Errorf("cannot listen on %s for new phones: %w (choose another with --trust-listen, or off)", addr, err)
	}
	srv := &http.Server{Handler: h, ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second, IdleTimeout: 10 * time.Second,
		MaxHeaderBytes: 16 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)}
	go func() {
		<-ctx.Done()
		srv.Close()
	}()
	go func() {
		if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			log.Error("plain listener ended", "err", err)
		}
	}()
	return nil
}
