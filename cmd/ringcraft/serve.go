package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"syscall"
	"time"

	"golang.org/x/term"

	"ringcraft/internal/access"
	"ringcraft/internal/backup"
	"ringcraft/internal/certs"
	"ringcraft/internal/jobs"
	"ringcraft/internal/logbook"
	"ringcraft/internal/web"
)

type serveCmd struct {
	dataOption
	Listen      string `default:"127.0.0.1:8080" help:"Address to listen on. Anything but loopback needs a login and TLS." placeholder:"ADDR"`
	TLS         string `enum:"own,off" default:"own" help:"own: TLS with this machine's own authority (always, when others can reach the server); off: loopback only."`
	Name        string `help:"Name by which phones reach this machine in every yard; chosen once." placeholder:"NAME"`
	TrustListen string `default:":8081" help:"Plain-HTTP address that hands out only the authority's certificate; off for none." placeholder:"ADDR"`
	NoName      bool   `help:"Do not answer for the name on the local network."`
	Cert        string `help:"Your own certificate (PEM), instead of the machine's authority." placeholder:"FILE"`
	Key         string `help:"The key of --cert (PEM)." placeholder:"FILE"`
	ACME        string `name:"acme" help:"Public name to get a certificate for from an ACME authority." placeholder:"NAME"`
	ACMEEmail   string `name:"acme-email" help:"Where the ACME authority writes to." placeholder:"MAIL"`
	ACMEDir     string `name:"acme-directory" help:"Directory of another ACME authority." placeholder:"URL"`
	Login       bool   `help:"Ask for a login on loopback too."`
	SetPassword bool   `help:"Set the trainer's password (read from the terminal or standard input) and end."`
	User        string `default:"trainer" help:"Name for --set-password and --pair."`
	Pair        bool   `help:"Show a one-time pairing code for --user (also while a server runs) and end."`
	Log         string `enum:"text,json" default:"text" help:"Form of the log: text or json."`
}

// site is everything a running server holds.
type site struct {
	o      *serveCmd
	c      *console
	log    *slog.Logger
	store  *openStore
	guard  *access.Guard
	jobs   *jobs.Runner
	way    way
	set    settings
	beside sync.WaitGroup // work that has to end before the store is closed

	health sync.Mutex
	asked  time.Time
	answer error
}

// Run serves the book until it is told to stop.
func (o *serveCmd) Run(c *console) error {
	dir, err := o.dir()
	if err != nil {
		return err
	}
	if o.SetPassword || o.Pair {
		return o.prepare(c, dir)
	}
	if err := portInRange(o.Listen); err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	release, err := backup.Hold(dir)
	if err != nil {
		return err
	}
	defer release()
	s, err := o.open(c, dir)
	if err != nil {
		return c.told(err)
	}
	err = s.serve()
	return c.told(errors.Join(err, s.close()))
}

// open opens all parts in order; what was opened is closed when a later part fails.
func (o *serveCmd) open(c *console, dir string) (*site, error) {
	set, err := readSettings(dir)
	if err != nil {
		return nil, err
	}
	store, err := openData(c.ctx, dir)
	if err != nil {
		return nil, err
	}
	s := &site{o: o, c: c, log: newLog(c.Err, o.Log), store: store, set: set}
	if err := s.begin(dir); err != nil {
		return nil, errors.Join(err, store.Close())
	}
	return s, nil
}

// begin checks that the server may run as asked for, and starts background work.
func (s *site) begin(dir string) (err error) {
	if s.guard, err = newGuard(s.store); err != nil {
		return err
	}
	login, err := s.guard.HasLogin(s.c.ctx)
	if err != nil {
		return err
	}
	if err := s.o.permitted(login); err != nil {
		return err
	}
	if s.way, err = s.o.way(dir, s.log); err != nil {
		return err
	}
	s.jobs, err = startJobs(s.c.ctx, s.store, s.set, s.log)
	return err
}

// permitted refuses to let others in without TLS and a login, and says what to do.
func (o *serveCmd) permitted(login bool) error {
	if certs.Loopback(o.Listen) {
		if o.Login && !login {
			return usageError{"no password is set; set one first: ringcraft serve --set-password"}
		}
		return nil
	}
	if o.TLS == "off" {
		return usageError{fmt.Sprintf("%s can be reached by others: that needs TLS. Leave --tls at own (this machine's own authority), or give --cert and --key, or --acme", o.Listen)}
	}
	if !login {
		return usageError{fmt.Sprintf("%s can be reached by others: that needs a login. Set the trainer's password first: ringcraft serve --set-password", o.Listen)}
	}
	return nil
}

// portInRange refuses a port that cannot be. What else is wrong with an address, listening says.
func portInRange(addr string) error {
	_, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil
	}
	if n, err := strconv.Atoi(port); err == nil && (n < 0 || n > 65535) {
		return usageError{fmt.Sprintf("--listen %s: there is no port %d; allowed: 0 to 65535 (0: any free one)", addr, n)}
	}
	return nil
}

func newLog(w io.Writer, form string) *slog.Logger {
	if form == "json" {
		return slog.New(slog.NewJSONHandler(w, nil))
	}
	return slog.New(slog.NewTextHandler(w, nil))
}

// close ends what open began. Jobs stop first: they write to the store.
func (s *site) close() error {
	s.jobs.Stop()
	err := s.store.Close()
	s.log.Info("stopped")
	return err
}

// handler is the whole web application behind its gate.
func (s *site) handler(ctx context.Context) http.Handler {
	gate := web.NewGate(web.GateOptions{
		Guard: s.guard, Sessions: s.store.db.Access(time.Now), Log: s.log,
		TLS: s.way.config != nil, OwnerOnly: s.way.config == nil && !s.o.Login,
		Hosts: s.way.hosts, Address: s.way.address, TrustURL: s.way.trust, Fingerprint: s.way.fingerprint,
		QR: certs.QRSVG, Health: s.healthy, Version: programVersion(),
		Export: func(ctx context.Context, w io.Writer, rider string) error {
			_, err := backup.Export(ctx, w, s.store.db, s.store.rec, s.store.exportOptions(rider))
			return err
		},
	})
	c := web.Config{Book: s.store.book(s.jobs), Who: gate.Who, Extra: gate.Routes(), Around: gate.Around(), Log: s.log, Alive: ctx, Beside: s.beside.Go}
	return web.New(c)
}

// healthy is the health page's question: can the store be read, and its disk be written? The
// answer holds for five seconds, so that asking often costs nothing.
func (s *site) healthy(ctx context.Context) error {
	s.health.Lock()
	defer s.health.Unlock()
	if now := time.Now(); now.Sub(s.asked).Abs() > 5*time.Second {
		_, err := s.store.db.Yards(ctx)
		if err == nil {
			err = writable(s.store.dir)
		}
		s.asked, s.answer = now, err
	}
	return s.answer
}

// writable tries a small file in the folder.
func writable(dir string) error {
	f, err := os.CreateTemp(dir, ".health-*")
	if err != nil {
		return logbook.Wrap(logbook.Busy, err, "the store's folder cannot be written")
	}
	defer os.Remove(f.Name())
	_, err = f.Write(make([]byte, 4096))
	err = errors.Join(err, f.Sync(), f.Close())
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return logbook.Wrap(logbook.Busy, err, "the disk is full; make room")
	case err != nil:
		return logbook.Wrap(logbook.Busy, err, "the store's folder cannot be written")
	}
	return nil
}

// serve listens, tells where, and works until the context ends; then requests under way are
// finished before it returns.
func (s *site) serve() error {
	l, err := net.Listen("tcp", s.o.Listen)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w (another program may hold the port; choose one with --listen)", s.o.Listen, err)
	}
	ctx, cancel := context.WithCancel(s.c.ctx)
	defer cancel()
	srv := &http.Server{
		Handler: s.handler(ctx), TLSConfig: s.way.config,
		ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 10 * time.Minute, WriteTimeout: 10 * time.Minute,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
		ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelDebug), // handshakes that strangers break off
	}
	if err := s.background(ctx); err != nil {
		l.Close()
		return err
	}
	s.greet(l.Addr())
	failed := make(chan error, 1)
	go func() {
		if srv.TLSConfig != nil {
			failed <- srv.ServeTLS(l, "", "")
		} else {
			failed <- srv.Serve(l)
		}
	}()
	select {
	case err = <-failed:
	case <-s.c.ctx.Done():
		err = s.shutDown(srv)
	}
	cancel()
	s.beside.Wait()
	return err
}

// shutDown lets requests under way finish for ten seconds, then ends them. Nothing acknowledged
// depends on it.
func (s *site) shutDown(srv *http.Server) error {
	s.log.Info("stopping")
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := srv.Shutdown(ctx); err != nil {
		s.log.Warn("requests were cut off", "err", err)
		return srv.Close()
	}
	return nil
}

// background starts what runs beside the pages: the hand-out of the certificate, the name on the
// local network, renewal, the daily backup.
func (s *site) background(ctx context.Context) error {
	if err := s.way.start(ctx, s.log); err != nil {
		return err
	}
	if s.set.BackupDays > 0 {
		d := backup.Daily{Dir: filepath.Join(s.store.dir, backupsName), Days: s.set.BackupDays,
			Source: s.store.source(s.way.name), Now: time.Now, Log: s.log}
		s.log.Warn(backup.SameDisk, "folder", d.Dir, "days", d.Days)
		s.beside.Go(func() { d.Run(ctx) })
	}
	return nil
}

// greet says where the site is. No code is printed here: a log may keep it.
func (s *site) greet(at net.Addr) {
	url := s.way.address
	if url == "" {
		url = "http://" + at.String()
	}
	s.log.Info("serving", "address", url, "listen", at.String(), "data", s.store.dir, "version", programVersion())
	fmt.Fprintf(s.c.Out, "Ringcraft serves %s\n", url)
	if s.set.BackupDays > 0 {
		fmt.Fprintf(s.c.Out, "Note: %s.\n", backup.SameDisk)
	}
	if s.way.config == nil {
		fmt.Fprintln(s.c.Out, "Only this machine can reach it. For a phone: ringcraft serve --set-password, then ringcraft serve --listen :8443")
		return
	}
	if s.way.trust != "" {
		fmt.Fprintf(s.c.Out, "\n%s\n", certs.Steps(s.way.trust, s.way.address+"/pair", s.way.fingerprint))
	}
	s.showSquare()
	fmt.Fprintln(s.c.Out, "To let a device in: ringcraft serve --pair (in another window), or Devices on a page that is signed in.")
}

// showSquare shows the address to scan, to people only: in a service's journal it is noise. It
// holds no code.
func (s *site) showSquare() {
	f, ok := s.c.Out.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) || s.way.name == "" {
		return
	}
	if square, err := certs.QRTerminal(s.way.address + "/pair"); err == nil {
		fmt.Fprintf(s.c.Out, "\nor scan this:\n%s\n", square)
	}
}

func startJobs(ctx context.Context, st *openStore, set settings, log *slog.Logger) (*jobs.Runner, error) {
	work := st.book(nil)
	kinds := map[string]jobs.Work{
		"transcribe": jobs.Transcription(work, jobs.Command{Args: set.Transcriber, Limit: 2 * time.Hour}),
	}
	return jobs.Start(ctx, jobs.Config{Store: st.db, Kinds: kinds, Now: time.Now, NewID: newID, Log: log})
}
