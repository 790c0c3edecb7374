package access

import (
	"context"
	"errors"
	"time"
)

// ErrNotFound is returned by a Store for a record that is not there (or no longer valid).
var ErrNotFound = errors.New("not found")

// Account is a person who may sign in or pair devices.
type Account struct {
	ID       string
	Name     string // what is typed at sign-in; one account a name, case ignored
	Role     Role
	RiderID  string // rider record, for the rider role
	Password string // Argon2id hash in PHC form, "" while only pairing codes open it
	Made     time.Time
}

// Device is a browser that was paired or signed in. It stays listed after it was put out.
type Device struct {
	ID      string
	Account string
	Name    string // as given at pairing, e.g. "Anna's phone"
	Paired  time.Time
	Seen    time.Time // last request, kept to the hour
	PutOut  time.Time // zero while the device is in
}

// In reports whether the device may still be used.
func (d Device) In() bool { return d.PutOut.IsZero() }

// Code is a one-time pairing code; only its hash is stored.
type Code struct {
	Hash    string
	Account string
	Made    time.Time
	Expires time.Time
}

// Link opens one report to whoever holds it, until it expires or is withdrawn.
type Link struct {
	ID      string
	Hash    string // hash of the token in the address
	RideID  string
	Note    string // whom it was made for
	Made    time.Time
	Expires time.Time
}

// Store keeps accounts, devices, codes and links. Every method is atomic and durable when it
// returns nil. Lookups of what is not there return ErrNotFound.
type Store interface {
	Accounts(ctx context.Context) ([]Account, error)
	Account(ctx context.Context, id string) (Account, error)
	AccountNamed(ctx context.Context, name string) (Account, error)
	PutAccount(ctx context.Context, a Account) error
	// RemoveAccount removes the account with its devices and codes.
	RemoveAccount(ctx context.Context, id string) error

	Devices(ctx context.Context) ([]Device, error)
	Device(ctx context.Context, id string) (Device, error)
	PutDevice(ctx context.Context, d Device) error
	SawDevice(ctx context.Context, id string, at time.Time) error
	PutOutDevice(ctx context.Context, id string, at time.Time) error

	PutCode(ctx context.Context, c Code) error
	// TakeCode removes the code and returns it: of many at once, one succeeds. Codes that
	// expired before now are cleared away and are not found.
	TakeCode(ctx context.Context, hash string, now time.Time) (Code, error)

	Links(ctx context.Context) ([]Link, error)
	LinkByHash(ctx context.Context, hash string) (Link, error)
	Link(ctx context.Context, id string) (Link, error)
	PutLink(ctx context.Context, l Link) error
	RemoveLink(ctx context.Context, id string) error
}

// SessionStore keeps browser sessions; the token it is given is already a hash.
type SessionStore interface {
	FindCtx(ctx context.Context, token string) (data []byte, found bool, err error)
	CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error
	DeleteCtx(ctx context.Context, token string) error
	Find(token string) (data []byte, found bool, err error)
	Commit(token string, data []byte, expiry time.Time) error
	Delete(token string) error
}
