package main

import (
	"bufio"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/term"

	"ringcraft/internal/access"
	"ringcraft/internal/backup"
	"ringcraft/internal/certs"
	"ringcraft/internal/logbook"
)

func newGuard(s *openStore) (*access.Guard, error) {
	return access.NewGuard(s.db.Access(time.Now), time.Now, rand.Reader)
}

// prepare is --set-password and --pair: it works beside a running server.
func (o *serveCmd) prepare(c *console, dir string) error {
	s, err := openData(c.ctx, dir)
	if err != nil {
		return c.told(err)
	}
	defer s.Close()
	g, err := newGuard(s)
	if err != nil {
		return err
	}
	if o.SetPassword {
		return o.setPassword(c, g)
	}
	return o.showPairing(c, s, g)
}

func (o *serveCmd) setPassword(c *console, g *access.Guard) error {
	password, err := readPassword(c)
	if err != nil {
		return err
	}
	a, err := g.SetPassword(c.ctx, o.User, password)
	if err != nil {
		return c.told(logbook.Wrap(logbook.Invalid, err, "the password was not set"))
	}
	fmt.Fprintf(c.Out, "The password of %s (%s) is set. Now: ringcraft serve --listen :8443\n", a.Name, a.Role)
	return nil
}

// readPassword reads it twice from a terminal, unseen, or one line from standard input.
func readPassword(c *console) (string, error) {
	fd := int(os.Stdin.Fd())
	if !term.IsTerminal(fd) {
		line, err := bufio.NewReader(io.LimitReader(os.Stdin, 4096)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	fmt.Fprint(c.Err, "New password: ")
	first, err := term.ReadPassword(fd)
	if err != nil {
		return "", err
	}
	fmt.Fprint(c.Err, "\nOnce more: ")
	second, err := term.ReadPassword(fd)
	fmt.Fprintln(c.Err)
	if err != nil {
		return "", err
	}
	if string(first) != string(second) {
		return "", usageError{"the two are not the same; nothing was changed"}
	}
	return string(first), nil
}

// showPairing prints a one-time code with a square to scan.
func (o *serveCmd) showPairing(c *console, s *openStore, g *access.Guard) error {
	a, err := s.db.Access(time.Now).AccountNamed(c.ctx, o.User)
	if errors.Is(err, access.ErrNotFound) {
		return c.told(logbook.Errorf(logbook.NotFound, "nobody is called %q; make people under Devices, or the trainer with --set-password", o.User))
	}
	if err != nil {
		return err
	}
	code, made, err := g.NewPairing(c.ctx, a.ID)
	if err != nil {
		return err
	}
	served := certs.StoredAddress(filepath.Join(s.dir, certsName))
	fmt.Fprintf(c.Out, "Pairing code for %s (%s): %s\nIt works once, until %s.\n", a.Name, a.Role, code, made.Expires.Format("15:04"))
	if served == "" {
		fmt.Fprintln(c.Out, "No address for phones yet: start ringcraft serve --listen :8443 first.")
		return nil
	}
	square, err := certs.QRTerminal(served + "/pair?code=" + code)
	if err != nil {
		return err
	}
	fmt.Fprintf(c.Out, "\n%s\nOr open %s/pair on the phone and type the code.\n", square, served)
	return nil
}

// settings is settings.json in the store's folder; a missing file means the defaults.
type settings struct {
	// Transcriber is the command that turns sound into WebVTT: program and arguments, {audio}
	// for the sound file. Empty: none; sound and taps still work.
	Transcriber []string `json:"transcriber"`
	// BackupDays is how long daily backups are kept; 0 switches them off.
	BackupDays int `json:"backup_days"`
}

const settingsName = "settings.json"

func readSettings(dir string) (settings, error) {
	set := settings{BackupDays: backup.DefaultDays}
	f, err := os.Open(filepath.Join(dir, settingsName))
	if errors.Is(err, fs.ErrNotExist) {
		return set, nil
	}
	if err != nil {
		return set, err
	}
	defer f.Close()
	return decodeSettings(f, set)
}

// decodeSettings reads settings over the defaults.
func decodeSettings(r io.Reader, set settings) (settings, error) {
	d := json.NewDecoder(io.LimitReader(r, 1<<20))
	d.DisallowUnknownFields()
	if err := d.Decode(&set); err != nil {
		return set, logbook.Wrap(logbook.Invalid, err, "%s cannot be read; allowed are transcriber (a list of words) and backup_days (a number)", settingsName)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return set, logbook.Errorf(logbook.Invalid, "%s: something follows the settings; allowed is one pair of braces", settingsName)
	}
	if set.BackupDays < 0 || set.BackupDays > 3650 {
		return set, logbook.Errorf(logbook.Invalid, "%s: backup_days %d; allowed: 0 (off) to 3650", settingsName, set.BackupDays)
	}
	return set, nil
}
