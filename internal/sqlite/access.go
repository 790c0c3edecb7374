package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"strings"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/sqlite/gen"
)

// Access is the part of the store that keeps who may come in.
type Access struct {
	s *Store
	// Now is the clock that ends sessions.
	Now func() time.Time
}

var (
	_ access.Store        = (*Access)(nil)
	_ access.SessionStore = (*Access)(nil)
)

// Access returns the access lists of the store; now ends sessions.
func (s *Store) Access(now func() time.Time) *Access { return &Access{s: s, Now: now} }

// lookedUp is one for the access lists, whose "not there" is a value of package access.
func lookedUp[R, T any](row R, err error, from func(R) T) (T, error) {
	var none T
	if errors.Is(err, sql.ErrNoRows) {
		return none, access.ErrNotFound
	}
	if err != nil {
		return none, trouble(err)
	}
	return from(row), nil
}

// changed turns "no row was changed" into not found.
func changed(rows int64, err error) error {
	if err == nil && rows == 0 {
		return access.ErrNotFound
	}
	return trouble(err)
}

func account(r gen.Account) access.Account {
	return access.Account{ID: r.ID, Name: r.Name, Role: access.Role(r.Role), RiderID: r.RiderID, Password: r.Password, Made: unstamp(r.Made)}
}

// Accounts lists by name.
func (a *Access) Accounts(ctx context.Context) ([]access.Account, error) {
	rows, err := a.s.q.Accounts(ctx)
	return many(rows, err, account)
}

// Account finds one.
func (a *Access) Account(ctx context.Context, id string) (access.Account, error) {
	r, err := a.s.q.Account(ctx, id)
	return lookedUp(r, err, account)
}

// AccountNamed finds one by name, case ignored.
func (a *Access) AccountNamed(ctx context.Context, name string) (access.Account, error) {
	r, err := a.s.q.AccountNamed(ctx, strings.ToLower(name))
	return lookedUp(r, err, account)
}

// PutAccount adds or replaces.
func (a *Access) PutAccount(ctx context.Context, c access.Account) error {
	return trouble(a.s.q.PutAccount(ctx, gen.PutAccountParams{ID: c.ID, Name: c.Name, Folded: strings.ToLower(c.Name), Role: string(c.Role), RiderID: c.RiderID, Password: c.Password, Made: stamp(c.Made)}))
}

// RemoveAccount removes an account with its devices and codes.
func (a *Access) RemoveAccount(ctx context.Context, id string) error {
	return changed(a.s.q.RemoveAccount(ctx, id))
}

func device(r gen.Device) access.Device {
	return access.Device{ID: r.ID, Account: r.Account, Name: r.Name, Paired: unstamp(r.Paired), Seen: unstamp(r.Seen), PutOut: unstamp(r.PutOut)}
}

// Devices lists the latest paired first.
func (a *Access) Devices(ctx context.Context) ([]access.Device, error) {
	rows, err := a.s.q.Devices(ctx)
	return many(rows, err, device)
}

// Device finds one.
func (a *Access) Device(ctx context.Context, id string) (access.Device, error) {
	r, err := a.s.q.Device(ctx, id)
	return lookedUp(r, err, device)
}

// PutDevice adds or replaces.
func (a *Access) PutDevice(ctx context.Context, d access.Device) error {
	return trouble(a.s.q.PutDevice(ctx, gen.PutDeviceParams{ID: d.ID, Account: d.Account, Name: d.Name, Paired: stamp(d.Paired), Seen: stamp(d.Seen), PutOut: stamp(d.PutOut)}))
}

// SawDevice notes when a device was last seen.
func (a *Access) SawDevice(ctx context.Context, id string, at time.Time) error {
	return changed(a.s.q.SawDevice(ctx, gen.SawDeviceParams{Seen: stamp(at), ID: id}))
}

// PutOutDevice ends a device.
func (a *Access) PutOutDevice(ctx context.Context, id string, at time.Time) error {
	return changed(a.s.q.PutOutDevice(ctx, gen.PutOutDeviceParams{PutOut: stamp(at), ID: id}))
}

// PutCode keeps a code.
func (a *Access) PutCode(ctx context.Context, c access.Code) error {
	return trouble(a.s.q.PutCode(ctx, gen.PutCodeParams{Hash: c.Hash, Account: c.Account, Made: stamp(c.Made), Expires: stamp(c.Expires)}))
}

// TakeCode removes a code and returns it: of many at once, one succeeds.
func (a *Access) TakeCode(ctx context.Context, hash string, now time.Time) (access.Code, error) {
	var out access.Code
	err := a.s.write(ctx, func(s *Store) error {
		if err := s.q.DropOldCodes(ctx, stamp(now)); err != nil {
			return err
		}
		r, err := s.q.TakeCode(ctx, hash)
		if errors.Is(err, sql.ErrNoRows) {
			return nil // commit the clearing away; out stays empty
		}
		out = access.Code{Hash: r.Hash, Account: r.Account, Made: unstamp(r.Made), Expires: unstamp(r.Expires)}
		return err
	})
	if err == nil && out.Hash == "" {
		err = access.ErrNotFound
	}
	return out, err
}

func link(r gen.Link) access.Link {
	return access.Link{ID: r.ID, Hash: r.Hash, RideID: r.RideID, Note: r.Note, Made: unstamp(r.Made), Expires: unstamp(r.Expires)}
}

// Links lists the latest first.
func (a *Access) Links(ctx context.Context) ([]access.Link, error) {
	rows, err := a.s.q.Links(ctx)
	return many(rows, err, link)
}

// Link finds one.
func (a *Access) Link(ctx context.Context, id string) (access.Link, error) {
	r, err := a.s.q.Link(ctx, id)
	return lookedUp(r, err, link)
}

// LinkByHash finds one by the hash of its token.
func (a *Access) LinkByHash(ctx context.Context, hash string) (access.Link, error) {
	r, err := a.s.q.LinkByHash(ctx, hash)
	return lookedUp(r, err, link)
}

// PutLink keeps a link.
func (a *Access) PutLink(ctx context.Context, l access.Link) error {
	return trouble(a.s.q.PutLink(ctx, gen.PutLinkParams{ID: l.ID, Hash: l.Hash, RideID: l.RideID, Note: l.Note, Made: stamp(l.Made), Expires: stamp(l.Expires)}))
}

// RemoveLink withdraws a link.
func (a *Access) RemoveLink(ctx context.Context, id string) error {
	return trouble(a.s.q.RemoveLink(ctx, id))
}

// FindCtx returns the data of a session that has not ended.
func (a *Access) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	r, err := a.s.q.Session(ctx, token)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, trouble(err)
	}
	if !a.Now().Before(unstamp(r.Expiry)) {
		return nil, false, nil
	}
	return r.Data, true, nil
}

// CommitCtx keeps a session and clears away those that have ended.
func (a *Access) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	return a.s.write(ctx, func(s *Store) error {
		if err := s.q.DropOldSessions(ctx, stamp(a.Now())); err != nil {
			return err
		}
		return s.q.PutSession(ctx, gen.PutSessionParams{Token: token, Data: data, Expiry: stamp(expiry)})
	})
}

// DeleteCtx ends a session.
func (a *Access) DeleteCtx(ctx context.Context, token string) error {
	return trouble(a.s.q.RemoveSession(ctx, token))
}

// Find is FindCtx for callers without a context.
func (a *Access) Find(token string) ([]byte, bool, error) {
	return a.FindCtx(context.Background(), token)
}

// Commit is CommitCtx for callers without a context.
func (a *Access) Commit(token string, data []byte, expiry time.Time) error {
	return a.CommitCtx(context.Background(), token, data, expiry)
}

// Delete is DeleteCtx for callers without a context.
func (a *Access) Delete(token string) error { return a.DeleteCtx(context.Background(), token) }
