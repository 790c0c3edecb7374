package certs

import (
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"
)

// File names inside the certificates folder.
const (
	authorityFile    = "authority.pem"
	authorityKeyFile = "authority-key.pem"
	leafFile         = "server.pem"
	leafKeyFile      = "server-key.pem"
	nameFile         = "name.txt"
	servedFile       = "served.txt"
)

// Machine tells what this machine is called and where it can be reached; tests give their own.
type Machine struct {
	Hostname  func() (string, error)
	Addresses func() ([]net.IP, error)
}

// ThisMachine asks the system.
func ThisMachine() Machine { return Machine{Hostname: os.Hostname, Addresses: localAddresses} }

// Keeper keeps the authority and the server certificate of one store, in a folder that only the
// user can read, and renews the certificate when it nears its end or the machine's addresses change.
type Keeper struct {
	dir     string
	machine Machine
	now     func() time.Time
	log     *slog.Logger

	mu   sync.Mutex
	ca   *authority
	name string
	leaf *tls.Certificate
}

// Open reads the folder, making authority, name and certificate where they are missing. wantName
// "" keeps the name that was chosen the first time.
func Open(dir, wantName string, m Machine, now func() time.Time, log *slog.Logger) (*Keeper, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("certificates folder: %w", err)
	}
	k := &Keeper{dir: dir, machine: m, now: now, log: log}
	if err := k.tighten(); err != nil {
		return nil, err
	}
	if err := k.openName(wantName); err != nil {
		return nil, err
	}
	if err := k.openAuthority(); err != nil {
		return nil, err
	}
	_, err := k.Refresh()
	return k, err
}

// Name is the name phones use, e.g. "ringcraft-7k2q.local". It stays the same in every yard.
func (k *Keeper) Name() string { return k.name }

// Authority is the certificate that a phone comes to trust.
func (k *Keeper) Authority() *x509.Certificate { return k.ca.cert }

// Addresses lists the addresses the certificate vouches for at present.
func (k *Keeper) Addresses() []net.IP {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.leaf.Leaf.IPAddresses
}

// GetCertificate serves tls.Config: always the present certificate.
func (k *Keeper) GetCertificate(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.leaf, nil
}

// Refresh renews the certificate when it is missing, near its end, not yet valid (the clock went
// back) or when the machine's names or addresses are no longer the ones in it. It says whether it did.
func (k *Keeper) Refresh() (bool, error) {
	names, ips, err := k.present()
	if err != nil {
		return false, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.leaf == nil {
		k.leaf = k.readLeaf()
	}
	why := k.stale(names, ips)
	if why == "" {
		return false, nil
	}
	certPEM, keyPEM, err := k.ca.leaf(names, ips, k.now())
	if err != nil {
		return false, err
	}
	pair, err := loadPair(certPEM, keyPEM)
	if err != nil {
		return false, err
	}
	if err := k.write(leafKeyFile, keyPEM); err != nil {
		return false, err
	}
	if err := k.write(leafFile, certPEM); err != nil {
		return false, err
	}
	k.leaf = pair
	k.log.Info("server certificate made", "why", why, "until", pair.Leaf.NotAfter.Format(time.DateOnly), "addresses", fmt.Sprint(pair.Leaf.IPAddresses))
	return true, nil
}

func (k *Keeper) stale(names []string, ips []net.IP) string {
	if k.leaf == nil {
		return "none yet"
	}
	c, now := k.leaf.Leaf, k.now()
	switch {
	case c.CheckSignatureFrom(k.ca.cert) != nil:
		return "made by another authority"
	case now.Before(c.NotBefore):
		return "the clock is behind the certificate"
	case now.Add(renewBefore).After(c.NotAfter):
		return "near its end"
	case !slices.Equal(c.DNSNames, k.ca.mayName(names)):
		return "the machine's names changed"
	case !slices.EqualFunc(c.IPAddresses, k.ca.mayReach(ips), net.IP.Equal):
		return "the machine's addresses changed"
	}
	return ""
}

// present lists the names and addresses to vouch for, in a fixed order.
func (k *Keeper) present() ([]string, []net.IP, error) {
	ips, err := k.machine.Addresses()
	if err != nil {
		return nil, nil, fmt.Errorf("addresses of this machine: %w", err)
	}
	ips = append([]net.IP{net.IPv4(127, 0, 0, 1), net.IPv6loopback}, ips...)
	slices.SortFunc(ips, func(a, b net.IP) int { return slices.Compare(a.To16(), b.To16()) })
	return k.names(), slices.CompactFunc(ips, net.IP.Equal), nil
}

func (k *Keeper) names() []string {
	names := []string{k.name, "localhost"}
	if h, err := k.machine.Hostname(); err == nil {
		if h = cleanLabel(strings.SplitN(h, ".", 2)[0]); h != "" && h != "localhost" {
			names = append(names, h, h+".local")
		}
	}
	return names
}

func (k *Keeper) openName(want string) error {
	old, err := os.ReadFile(filepath.Join(k.dir, nameFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("the name phones use: %w", err)
	}
	k.name = strings.TrimSpace(string(old))
	if want != "" {
		label := cleanLabel(strings.TrimSuffix(strings.ToLower(want), ".local"))
		if label == "" {
			return fmt.Errorf("name %q: letters, digits and dashes only, at most 63", want)
		}
		want = label + ".local"
	} else if k.name == "" {
		want = drawName()
	}
	if want == "" || want == k.name {
		return nil
	}
	if k.name != "" {
		k.log.Warn("the name phones use changed: what a phone still keeps offline belongs to the old one", "old", k.name, "new", want)
	}
	k.name = want
	return k.write(nameFile, []byte(want+"\n"))
}

// drawName draws a name once for a store, so that two trainers in one yard do not share one.
func drawName() string {
	return "ringcraft-" + strings.ToLower(rand.Text()[:4]) + ".local"
}

func (k *Keeper) openAuthority() error {
	certPEM, err1 := os.ReadFile(filepath.Join(k.dir, authorityFile))
	keyPEM, err2 := os.ReadFile(filepath.Join(k.dir, authorityKeyFile))
	if errors.Is(err1, fs.ErrNotExist) || errors.Is(err2, fs.ErrNotExist) {
		return k.makeAuthority("none yet")
	}
	if err := errors.Join(err1, err2); err != nil {
		return fmt.Errorf("certificate authority: %w", err)
	}
	ca, err := readAuthority(certPEM, keyPEM)
	if err != nil {
		return fmt.Errorf("certificate authority in %s: %w; move the folder away to make a new one (phones must then trust it anew)", k.dir, err)
	}
	k.ca = ca
	if k.now().Add(renewBefore).After(ca.cert.NotAfter) {
		return k.makeAuthority("near its end")
	}
	if len(ca.mayName([]string{k.name})) == 0 {
		return k.makeAuthority("the old one may not vouch for the name " + k.name)
	}
	return nil
}

func (k *Keeper) makeAuthority(why string) error {
	ca, err := newAuthority(k.name, k.names(), k.now())
	if err != nil {
		return err
	}
	keyPEM, err := encodeKey(ca.key)
	if err != nil {
		return err
	}
	if err := k.write(authorityKeyFile, keyPEM); err != nil {
		return err
	}
	if err := k.write(authorityFile, encodeCert(ca.cert.Raw)); err != nil {
		return err
	}
	k.ca = ca
	k.log.Info("certificate authority of this machine made", "why", why, "fingerprint", Fingerprint(ca.cert))
	return nil
}

func (k *Keeper) readLeaf() *tls.Certificate {
	certPEM, err1 := os.ReadFile(filepath.Join(k.dir, leafFile))
	keyPEM, err2 := os.ReadFile(filepath.Join(k.dir, leafKeyFile))
	if err1 != nil || err2 != nil {
		return nil
	}
	pair, err := loadPair(certPEM, keyPEM)
	if err != nil {
		return nil // half written or altered: a new one is made
	}
	return pair
}

func loadPair(certPEM, keyPEM []byte) (*tls.Certificate, error) {
	pair, err := tls.X509KeyPair(certPEM, keyPEM)
	if err != nil {
		return nil, err
	}
	pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0])
	return &pair, err
}

// Served notes the address that phones are given, and returns the one of last time when it differs:
// what a phone keeps offline belongs to the address it was written under.
func (k *Keeper) Served(url string) (before string, err error) {
	old, err := os.ReadFile(filepath.Join(k.dir, servedFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	before = strings.TrimSpace(string(old))
	if before == url {
		return "", nil
	}
	return before, k.write(servedFile, []byte(url+"\n"))
}

// tighten closes folder and files to others; on Windows the folder's own rules hold.
func (k *Keeper) tighten() error {
	if runtime.GOOS == "windows" {
		return nil
	}
	if err := os.Chmod(k.dir, 0o700); err != nil {
		return fmt.Errorf("certificates folder: %w", err)
	}
	for _, f := range []string{authorityKeyFile, leafKeyFile} {
		p := filepath.Join(k.dir, f)
		st, err := os.Stat(p)
		if err != nil || st.Mode().Perm()&0o077 == 0 {
			continue
		}
		k.log.Warn("a private key could be read by others; closed now", "file", f)
		if err := os.Chmod(p, 0o600); err != nil {
			return err
		}
	}
	return nil
}

func (k *Keeper) write(name string, data []byte) error {
	return writeWhole(filepath.Join(k.dir, name), data)
}

// writeWhole replaces a file as a whole or not at all, synced, readable by the user only.
func writeWhole(path string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(path), err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(path))
}

func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil // folders cannot be synced there
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// StoredName is the name phones use, read from a certificates folder without opening it; "" when
// none was chosen yet.
func StoredName(dir string) string {
	b, err := os.ReadFile(filepath.Join(dir, nameFile))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}

// StoredAddress is the address phones were last given, "" when none was.
func StoredAddress(dir string) string {
	b, err := os.ReadFile(filepath.Join(dir, servedFile))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}
