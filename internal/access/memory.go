package access

import (
	"context"
	"sort"
	"strings"
	"sync"
	"time"
)

// Memory is a Store that forgets when the program ends: for the demo and for tests. It passes
// the same contract test as the store on disk.
type Memory struct {
	mu       sync.Mutex
	accounts map[string]Account
	devices  map[string]Device
	codes    map[string]Code
	links    map[string]Link
}

// NewMemory returns an empty store in memory.
func NewMemory() *Memory {
	return &Memory{accounts: map[string]Account{}, devices: map[string]Device{}, codes: map[string]Code{}, links: map[string]Link{}}
}

func get[T any](m *Memory, from map[string]T, id string) (T, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	v, ok := from[id]
	if !ok {
		return v, ErrNotFound
	}
	return v, nil
}

func list[T any](m *Memory, from map[string]T, less func(a, b T) bool) []T {
	m.mu.Lock()
	defer m.mu.Unlock()
	all := make([]T, 0, len(from))
	for _, v := range from {
		all = append(all, v)
	}
	sort.Slice(all, func(i, j int) bool { return less(all[i], all[j]) })
	return all
}

// Accounts lists accounts by name.
func (m *Memory) Accounts(context.Context) ([]Account, error) {
	return list(m, m.accounts, func(a, b Account) bool { return strings.ToLower(a.Name) < strings.ToLower(b.Name) }), nil
}

// Account finds an account by id.
func (m *Memory) Account(_ context.Context, id string) (Account, error) {
	return get(m, m.accounts, id)
}

// AccountNamed finds an account by name, case ignored.
func (m *Memory) AccountNamed(_ context.Context, name string) (Account, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, a := range m.accounts {
		if strings.EqualFold(a.Name, name) {
			return a, nil
		}
	}
	return Account{}, ErrNotFound
}

// PutAccount adds or replaces an account.
func (m *Memory) PutAccount(_ context.Context, a Account) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.accounts[a.ID] = a
	return nil
}

// RemoveAccount removes an account with its devices and codes.
func (m *Memory) RemoveAccount(_ context.Context, id string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.accounts[id]; !ok {
		return ErrNotFound
	}
	delete(m.accounts, id)
	for k, d := range m.devices {
		if d.Account == id {
			delete(m.devices, k)
		}
	}
	for k, c := range m.codes {
		if c.Account == id {
			delete(m.codes, k)
		}
	}
	return nil
}

// Devices lists devices, the latest paired first.
func (m *Memory) Devices(context.Context) ([]Device, error) {
	return list(m, m.devices, func(a, b Device) bool {
		if !a.Paired.Equal(b.Paired) {
			return a.Paired.After(b.Paired)
		}
		return a.ID < b.ID
	}), nil
}

// Device finds a device by id.
func (m *Memory) Device(_ context.Context, id string) (Device, error) { return get(m, m.devices, id) }

// PutDevice adds or replaces a device.
func (m *Memory) PutDevice(_ context.Context, d Device) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.devices[d.ID] = d
	return nil
}

// SawDevice notes when a device was last seen.
func (m *Memory) SawDevice(_ context.Context, id string, at time.Time) error {
	return m.changeDevice(id, func(d *Device) { d.Seen = at })
}

// PutOutDevice ends a device.
func (m *Memory) PutOutDevice(_ context.Context, id string, at time.Time) error {
	return m.changeDevice(id, func(d *Device) { d.PutOut = at })
}

func (m *Memory) changeDevice(id string, change func(*Device)) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	d, ok := m.devices[id]
	if !ok {
		return ErrNotFound
	}
	change(&d)
	m.devices[id] = d
	return nil
}

// PutCode keeps a code.
func (m *Memory) PutCode(_ context.Context, c Code) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.codes[c.Hash] = c
	return nil
}

// TakeCode removes a code and returns it.
func (m *Memory) TakeCode(_ context.Context, hash string, now time.Time) (Code, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for k, c := range m.codes {
		if !now.Before(c.Expires) {
			delete(m.codes, k)
		}
	}
	c, ok := m.codes[hash]
	if !ok {
		return Code{}, ErrNotFound
	}
	delete(m.codes, hash)
	return c, nil
}

// Links lists guest links, the latest first.
func (m *Memory) Links(context.Context) ([]Link, error) {
	return list(m, m.links, func(a, b Link) bool {
		if !a.Made.Equal(b.Made) {
			return a.Made.After(b.Made)
		}
		return a.ID < b.ID
	}), nil
}

// Link finds a link by id.
func (m *Memory) Link(_ context.Context, id string) (Link, error) { return get(m, m.links, id) }

// LinkByHash finds a link by the hash of its token.
func (m *Memory) LinkByHash(_ context.Context, hash string) (Link, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, l := range m.links {
		if l.Hash == hash {
			return l, nil
		}
	}
	return Link{}, ErrNotFound
}

// PutLink keeps a link.
func (m *Memory) PutLink(_ context.Context, l Link) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.links[l.ID] = l
	return nil
}

// RemoveLink withdraws a link.
func (m *Memory) RemoveLink(_ context.Context, id string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.links, id)
	return nil
}
