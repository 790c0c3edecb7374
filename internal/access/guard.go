package access

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
	"unicode/utf8"
)

// How long things last.
const (
	CodeLife   = 10 * time.Minute
	PairedLife = 365 * 24 * time.Hour // a paired phone: a season and a winter
	SignedLife = 30 * 24 * time.Hour  // a browser signed in by password
	LinkLife   = 14 * 24 * time.Hour  // a guest link, unless another time is given
	MaxLink    = 90 * 24 * time.Hour
)

// ErrRefused is returned when a name, password, code or link does not open anything. It never
// says which part was wrong.
var ErrRefused = errors.New("that does not open anything")

// Guard is the use cases of access over a store.
type Guard struct {
	store  Store
	now    func() time.Time
	random io.Reader
	busy   chan struct{} // password hashes under way: each takes 64 MiB
	// decoy is the hash compared when there is no such account, so that both take as long; it is
	// made at the first sign-in.
	decoy func() (string, error)
}

// NewGuard returns a guard over a store, with the clock and the source of randomness it shall use.
func NewGuard(store Store, now func() time.Time, random io.Reader) (*Guard, error) {
	if store == nil || now == nil || random == nil {
		return nil, errors.New("a guard needs a store, a clock and randomness")
	}
	decoy := sync.OnceValues(func() (string, error) { return HashPassword(random, "no account has this password") })
	return &Guard{store: store, now: now, random: random, busy: make(chan struct{}, 2), decoy: decoy}, nil
}

// HasLogin reports whether a trainer with a password exists.
func (g *Guard) HasLogin(ctx context.Context) (bool, error) {
	all, err := g.store.Accounts(ctx)
	if err != nil {
		return false, err
	}
	for _, a := range all {
		if a.Role == Trainer && a.Password != "" {
			return true, nil
		}
	}
	return false, nil
}

// SetPassword sets the password of a named account; a first trainer is made when there is none
// of that name.
func (g *Guard) SetPassword(ctx context.Context, name, password string) (Account, error) {
	name = strings.TrimSpace(name)
	if err := CheckNewPassword(password, name); err != nil {
		return Account{}, err
	}
	a, err := g.store.AccountNamed(ctx, name)
	if errors.Is(err, ErrNotFound) {
		a, err = g.newAccount(name, Trainer, "")
	}
	if err != nil {
		return Account{}, err
	}
	if a.Password, err = HashPassword(g.random, password); err != nil {
		return Account{}, err
	}
	return a, g.store.PutAccount(ctx, a)
}

// AddAccount makes an account that pairing codes can be made for.
func (g *Guard) AddAccount(ctx context.Context, name string, role Role, riderID string) (Account, error) {
	a, err := g.newAccount(name, role, riderID)
	if err != nil {
		return a, err
	}
	if _, err := g.store.AccountNamed(ctx, a.Name); err == nil {
		return a, fmt.Errorf("there is already someone called %q; names must differ", a.Name)
	} else if !errors.Is(err, ErrNotFound) {
		return a, err
	}
	return a, g.store.PutAccount(ctx, a)
}

func (g *Guard) newAccount(name string, role Role, riderID string) (Account, error) {
	name = strings.TrimSpace(name)
	if name == "" || !utf8.ValidString(name) || utf8.RuneCountInString(name) > 80 {
		return Account{}, errors.New("a name has 1 to 80 characters")
	}
	if role, err := ParseRole(string(role)); err != nil {
		return Account{}, err
	} else if role == Rider && riderID == "" {
		return Account{}, errors.New("a rider's account needs the rider it belongs to")
	} else if role != Rider {
		riderID = "" // a trainer who rides keeps the way in when the rider's records go
	}
	id, err := newID(g.random)
	return Account{ID: id, Name: name, Role: role, RiderID: riderID, Made: g.now()}, err
}

// SignIn checks a name and password and lists the browser as a device.
func (g *Guard) SignIn(ctx context.Context, name, password, deviceName string) (Device, error) {
	a, err := g.store.AccountNamed(ctx, strings.TrimSpace(name))
	if err != nil && !errors.Is(err, ErrNotFound) {
		return Device{}, err
	}
	stored := a.Password
	if stored == "" {
		if stored, err = g.decoy(); err != nil {
			return Device{}, err
		}
	}
	select {
	case g.busy <- struct{}{}:
		defer func() { <-g.busy }()
	case <-ctx.Done():
		return Device{}, ctx.Err()
	}
	if !PasswordMatches(stored, password) || a.Password == "" {
		return Device{}, ErrRefused
	}
	return g.addDevice(ctx, a.ID, deviceName)
}

// NewPairing makes a one-time code for an account and returns it as it is shown.
func (g *Guard) NewPairing(ctx context.Context, account string) (string, Code, error) {
	if _, err := g.store.Account(ctx, account); err != nil {
		return "", Code{}, err
	}
	shown, err := NewCode(g.random)
	if err != nil {
		return "", Code{}, err
	}
	h, err := CodeHash(shown)
	if err != nil {
		return "", Code{}, err
	}
	c := Code{Hash: h, Account: account, Made: g.now(), Expires: g.now().Add(CodeLife)}
	return shown, c, g.store.PutCode(ctx, c)
}

// Pair takes a code, once, and lists the device. A wrong, used or expired code is ErrRefused.
func (g *Guard) Pair(ctx context.Context, typed, deviceName string) (Device, error) {
	h, err := CodeHash(typed)
	if err != nil {
		return Device{}, fmt.Errorf("%w: %s", ErrRefused, err)
	}
	c, err := g.store.TakeCode(ctx, h, g.now())
	if errors.Is(err, ErrNotFound) {
		return Device{}, ErrRefused
	}
	if err != nil {
		return Device{}, err
	}
	return g.addDevice(ctx, c.Account, deviceName)
}

func (g *Guard) addDevice(ctx context.Context, account, name string) (Device, error) {
	id, err := newID(g.random)
	if err != nil {
		return Device{}, err
	}
	d := Device{ID: id, Account: account, Name: cutName(name), Paired: g.now(), Seen: g.now()}
	return d, g.store.PutDevice(ctx, d)
}

// cutName keeps a device's name short and printable; it comes from a stranger's form.
func cutName(s string) string {
	s = strings.Join(strings.Fields(strings.ToValidUTF8(s, "")), " ")
	if r := []rune(s); len(r) > 60 {
		s = string(r[:60])
	}
	if s == "" {
		return "unnamed device"
	}
	return s
}

// WhoHas says who holds a device; nobody when it is unknown or was put out.
func (g *Guard) WhoHas(ctx context.Context, deviceID string) (Who, error) {
	d, err := g.store.Device(ctx, deviceID)
	if errors.Is(err, ErrNotFound) || (err == nil && !d.In()) {
		return Who{}, nil
	}
	if err != nil {
		return Who{}, err
	}
	a, err := g.store.Account(ctx, d.Account)
	if errors.Is(err, ErrNotFound) {
		return Who{}, nil
	}
	if err != nil {
		return Who{}, err
	}
	// A clock that jumped back must not make a device look unseen: only forward steps are kept.
	if now := g.now(); now.Sub(d.Seen) >= time.Hour {
		if err := g.store.SawDevice(ctx, d.ID, now); err != nil {
			return Who{}, err
		}
	}
	return Who{Role: a.Role, Account: a.ID, Name: a.Name, Device: d.ID, RiderID: a.RiderID}, nil
}

// NewLink makes a guest link to one ride's report. life 0 means LinkLife.
func (g *Guard) NewLink(ctx context.Context, rideID, note string, life time.Duration) (token string, l Link, err error) {
	if life == 0 {
		life = LinkLife
	}
	if life < time.Hour || life > MaxLink {
		return "", l, fmt.Errorf("a guest link lasts from 1 hour to %d days", MaxLink/(24*time.Hour))
	}
	if rideID == "" {
		return "", l, errors.New("a guest link needs a ride")
	}
	if token, err = NewToken(g.random); err != nil {
		return "", l, err
	}
	id, err := newID(g.random)
	if err != nil {
		return "", l, err
	}
	l = Link{ID: id, Hash: TokenHash(token), RideID: rideID, Note: cutName(note), Made: g.now(), Expires: g.now().Add(life)}
	return token, l, g.store.PutLink(ctx, l)
}

// OpenLink finds the link of a token; ErrRefused when unknown, withdrawn or expired.
func (g *Guard) OpenLink(ctx context.Context, token string) (Link, error) {
	l, err := g.store.LinkByHash(ctx, TokenHash(token))
	return g.valid(l, err)
}

// GuestOf says who holds a link that was opened earlier; nobody when it has ended.
func (g *Guard) GuestOf(ctx context.Context, linkID string) (Who, error) {
	l, err := g.store.Link(ctx, linkID)
	l, err = g.valid(l, err)
	if errors.Is(err, ErrRefused) {
		return Who{}, nil
	}
	if err != nil {
		return Who{}, err
	}
	return Who{Role: Guest, Name: l.Note, RideID: l.RideID}, nil
}

func (g *Guard) valid(l Link, err error) (Link, error) {
	if errors.Is(err, ErrNotFound) {
		return Link{}, ErrRefused
	}
	if err != nil {
		return Link{}, err
	}
	if now := g.now(); !now.Before(l.Expires) || now.Before(l.Made.Add(-24*time.Hour)) {
		return Link{}, ErrRefused // also when the clock went back behind the day it was made
	}
	return l, nil
}

// Store gives the pages that list devices, accounts and links their data.
func (g *Guard) Store() Store { return g.store }

// Now is the guard's clock.
func (g *Guard) Now() time.Time { return g.now() }
