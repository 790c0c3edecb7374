package certs

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"image"
	"image/color"
	"io"
	"log/slog"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	goqr "github.com/piglig/go-qr"
)

var start = time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)

// yard is a machine that tests move from one Wi-Fi to the next.
type yard struct {
	ips []net.IP
	now time.Time
	log bytes.Buffer
}

func (y *yard) open(t *testing.T, dir, name string) *Keeper {
	t.Helper()
	k, err := y.try(dir, name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func (y *yard) try(dir, name string) (*Keeper, error) {
	m := Machine{Hostname: func() (string, error) { return "Tack-Room.example.org", nil },
		Addresses: func() ([]net.IP, error) { return y.ips, nil }}
	return Open(dir, name, m, func() time.Time { return y.now }, slog.New(slog.NewTextHandler(&y.log, nil)))
}

func newYard() *yard { return &yard{ips: []net.IP{net.IPv4(192, 168, 7, 20)}, now: start} }

func verify(t *testing.T, k *Keeper, host string, at time.Time) error {
	t.Helper()
	pool := x509.NewCertPool()
	pool.AddCert(k.Authority())
	c, _ := k.GetCertificate(nil)
	_, err := c.Leaf.Verify(x509.VerifyOptions{DNSName: host, Roots: pool, CurrentTime: at})
	return err
}

func TestCertificateForNamesAndAddresses(t *testing.T) {
	y := newYard()
	k := y.open(t, t.TempDir(), "")
	if !strings.HasPrefix(k.Name(), "ringcraft-") || !strings.HasSuffix(k.Name(), ".local") {
		t.Fatalf("name %q", k.Name())
	}
	for host, ok := range map[string]bool{k.Name(): true, "localhost": true, "tack-room": true, "tack-room.local": true,
		"192.168.7.20": true, "127.0.0.1": true, "::1": true, "192.168.7.21": false, "example.org": false} {
		if err := verify(t, k, host, start); (err == nil) != ok {
			t.Errorf("%s: %v", host, err)
		}
	}
}

// The authority cannot be used against a site on the internet, even by one who steals its key.
func TestAuthorityIsConstrained(t *testing.T) {
	y := newYard()
	k := y.open(t, t.TempDir(), "")
	pool := x509.NewCertPool()
	pool.AddCert(k.Authority())
	for _, c := range []struct {
		name string
		ip   net.IP
		ok   bool
	}{{k.Name(), nil, true}, {"bank.example", nil, false}, {"", net.IPv4(203, 0, 113, 9), false}, {"", net.IPv4(10, 1, 2, 3), true}} {
		key, _ := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		tmpl := &x509.Certificate{SerialNumber: big.NewInt(7), NotBefore: start, NotAfter: start.Add(time.Hour),
			ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
		host := c.name
		if c.ip != nil {
			tmpl.IPAddresses, host = []net.IP{c.ip}, c.ip.String()
		} else {
			tmpl.DNSNames = []string{c.name}
		}
		der, err := x509.CreateCertificate(rand.Reader, tmpl, k.ca.cert, key.Public(), k.ca.key)
		if err != nil {
			t.Fatal(err)
		}
		stolen, _ := x509.ParseCertificate(der)
		_, err = stolen.Verify(x509.VerifyOptions{DNSName: host, Roots: pool, CurrentTime: start.Add(time.Minute)})
		if (err == nil) != c.ok {
			t.Errorf("%s: verify says %v", host, err)
		}
		openssl(t, k, der, host, c.ok)
	}
}

// openssl checks the same with an independent implementation, where it is installed.
func openssl(t *testing.T, k *Keeper, der []byte, host string, ok bool) {
	t.Helper()
	prog, err := exec.LookPath("openssl")
	if err != nil {
		return
	}
	dir := t.TempDir()
	ca, leaf := filepath.Join(dir, "ca.pem"), filepath.Join(dir, "leaf.pem")
	os.WriteFile(ca, encodeCert(k.Authority().Raw), 0o600)
	os.WriteFile(leaf, encodeCert(der), 0o600)
	out, err := exec.Command(prog, "verify", "-attime", "1777712460", "-purpose", "sslserver", "-CAfile", ca, leaf).CombinedOutput()
	if (err == nil) != ok {
		t.Errorf("openssl on %s: %v %s", host, err, out)
	}
}

func TestPhoneTrustsOnlyThroughAuthority(t *testing.T) {
	y := newYard()
	y.now = time.Now()
	k := y.open(t, t.TempDir(), "")
	srv := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, "in") }))
	srv.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	srv.Listener = tls.NewListener(srv.Listener, Config(k.GetCertificate))
	srv.Start()
	defer srv.Close()
	get := func(pool *x509.CertPool, host string, version uint16) error {
		d := net.Dialer{}
		c := &http.Client{Transport: &http.Transport{
			TLSClientConfig: &tls.Config{RootCAs: pool, MaxVersion: version},
			DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
				return d.DialContext(ctx, "tcp", srv.Listener.Addr().String())
			}}}
		defer c.CloseIdleConnections()
		resp, err := c.Get("https://" + host + "/")
		if err == nil {
			resp.Body.Close()
		}
		return err
	}
	pool := x509.NewCertPool()
	pool.AddCert(k.Authority())
	if err := get(pool, k.Name(), 0); err != nil {
		t.Error(err)
	}
	if err := get(pool, "127.0.0.1", 0); err != nil {
		t.Error(err)
	}
	if err := get(x509.NewCertPool(), k.Name(), 0); err == nil {
		t.Error("trusted without the authority")
	}
	if err := get(pool, "other.local", 0); err == nil {
		t.Error("trusted under another name")
	}
	if err := get(pool, k.Name(), tls.VersionTLS11); err == nil {
		t.Error("TLS 1.1 accepted")
	}
}

func TestNameStaysAndAddressesFollow(t *testing.T) {
	y := newYard()
	dir := t.TempDir()
	k := y.open(t, dir, "")
	ca, name := k.Authority().Raw, k.Name()
	y.ips = []net.IP{net.IPv4(10, 0, 0, 5)}
	if did, err := k.Refresh(); err != nil || !did {
		t.Fatalf("new Wi-Fi: %v %v", did, err)
	}
	if did, _ := k.Refresh(); did {
		t.Error("renewed without a reason")
	}
	k2 := y.open(t, dir, "")
	if k2.Name() != name || !bytes.Equal(k2.Authority().Raw, ca) {
		t.Error("name or authority changed from yard to yard")
	}
	if verify(t, k2, "10.0.0.5", start) != nil || verify(t, k2, "192.168.7.20", start) == nil {
		t.Error("addresses did not follow")
	}
	if before, err := k2.Served("https://" + name + ":8443"); err != nil || before != "" {
		t.Errorf("first address: %q %v", before, err)
	}
	if before, _ := k2.Served("https://" + name + ":9443"); before != "https://"+name+":8443" {
		t.Errorf("changed address not noticed: %q", before)
	}
	k3 := y.open(t, dir, "Autumn-Tour")
	if k3.Name() != "autumn-tour.local" || !strings.Contains(y.log.String(), "belongs to the old one") {
		t.Errorf("chosen name: %q, log %s", k3.Name(), y.log.String())
	}
	if verify(t, k3, "autumn-tour.local", start) != nil {
		t.Error("no certificate for the chosen name")
	}
	for _, bad := range []string{"a b", "-", "ü", strings.Repeat("x", 64), "a.b"} {
		if _, err := y.try(dir, bad); err == nil {
			t.Errorf("name %q accepted", bad)
		}
	}
}

func TestRenewal(t *testing.T) {
	y := newYard()
	dir := t.TempDir()
	k := y.open(t, dir, "")
	for _, c := range []struct {
		after time.Duration
		did   bool
	}{{leafLife - renewBefore - time.Hour, false}, {leafLife - renewBefore + time.Hour, true}, {-90 * 24 * time.Hour, true}} {
		y.now = start.Add(c.after)
		if did, err := k.Refresh(); err != nil || did != c.did {
			t.Errorf("after %v: renewed %v, %v", c.after, did, err)
		}
		if c.after >= 0 && verify(t, k, k.Name(), y.now) != nil {
			t.Errorf("after %v the certificate does not hold", c.after)
		}
	}
	old := k.Authority().Raw
	y.now = start.Add(authorityLife)
	if k = y.open(t, dir, ""); bytes.Equal(old, k.Authority().Raw) || verify(t, k, k.Name(), y.now) != nil {
		t.Error("the authority was not renewed near its end")
	}
}

func TestKeysAreClosedToOthers(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("permissions are the folder's there")
	}
	y := newYard()
	dir := filepath.Join(t.TempDir(), "certs")
	y.open(t, dir, "")
	mode := func(f string) os.FileMode { st, _ := os.Stat(filepath.Join(dir, f)); return st.Mode().Perm() }
	if mode(".") != 0o700 || mode(authorityKeyFile) != 0o600 || mode(leafKeyFile) != 0o600 {
		t.Errorf("modes %v %v %v", mode("."), mode(authorityKeyFile), mode(leafKeyFile))
	}
	os.Chmod(filepath.Join(dir, authorityKeyFile), 0o644)
	y.open(t, dir, "")
	if mode(authorityKeyFile) != 0o600 || !strings.Contains(y.log.String(), "could be read by others") {
		t.Error("an open key was left open, or silently closed")
	}
	for _, f := range []string{authorityKeyFile, leafKeyFile} {
		b, _ := os.ReadFile(filepath.Join(dir, f))
		if p, _ := pem.Decode(b); p == nil || strings.Contains(y.log.String(), string(b[30:60])) {
			t.Errorf("%s: not PEM, or in the log", f)
		}
	}
}

func TestAlteredFiles(t *testing.T) {
	y := newYard()
	dir := t.TempDir()
	y.open(t, dir, "")
	os.WriteFile(filepath.Join(dir, leafFile), []byte("half a cert"), 0o600)
	if k := y.open(t, dir, ""); verify(t, k, k.Name(), start) != nil {
		t.Error("a damaged server certificate was not made again")
	}
	other := y.open(t, t.TempDir(), "")
	otherKey, _ := os.ReadFile(filepath.Join(other.dir, authorityKeyFile))
	os.WriteFile(filepath.Join(dir, authorityKeyFile), otherKey, 0o600)
	if _, err := y.try(dir, ""); err == nil || !strings.Contains(err.Error(), "does not belong") || !strings.Contains(err.Error(), "move the folder away") {
		t.Errorf("a foreign authority key: %v", err)
	}
}

func TestHandoutGivesNothingElse(t *testing.T) {
	y := newYard()
	k := y.open(t, t.TempDir(), "")
	h := Handout(k, "https://"+k.Name()+":8443/pair")
	get := func(method, path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(method, path, nil))
		return w
	}
	if w := get("GET", "/ringcraft-authority.crt"); !bytes.Equal(w.Body.Bytes(), k.Authority().Raw) {
		t.Error("not the authority's certificate")
	}
	if w := get("GET", "/fingerprint.txt"); !strings.Contains(w.Body.String(), Fingerprint(k.Authority())) {
		t.Error("no fingerprint")
	}
	answer := get("GET", "/")
	page := answer.Body.String()
	// the style as it is sent has the hash that the policy allows, and nothing else is allowed
	if csp := answer.Header().Get("Content-Security-Policy"); strings.Contains(csp, "unsafe") || !strings.Contains(csp, "'"+styleHash(page)+"'") || strings.Count(page, "<style") != 1 {
		t.Errorf("policy %q, hash of the style %s", csp, styleHash(page))
	}
	for _, want := range []string{Fingerprint(k.Authority()), k.Name() + ":8443/pair", "iPhone", "Android"} {
		if !strings.Contains(page, want) {
			t.Errorf("page lacks %q", want)
		}
	}
	for _, p := range []string{"/pair", "/login", "/server-key.pem", "/../authority-key.pem", "/authority-key.pem", "/health"} {
		if w := get("GET", p); w.Code == http.StatusOK {
			t.Errorf("%s: %d", p, w.Code)
		}
	}
	if w := get("POST", "/"); w.Code == http.StatusOK {
		t.Error("POST accepted")
	}
	if s := Steps("http://x", "https://y", Fingerprint(k.Authority())); !strings.Contains(strings.Join(strings.Fields(s), " "), Fingerprint(k.Authority())) {
		t.Errorf("the fingerprint is cut in %s", s)
	}
}

// The drawn code is read back by the decoder of the library from the picture a scanner would see.
func TestQRIsReadable(t *testing.T) {
	const text = "https://ringcraft-7k2q.local:8443/pair?code=7KQ2-M9XD"
	term, err := QRTerminal(text)
	if err != nil {
		t.Fatal(err)
	}
	got, err := goqr.Decode(terminalPicture(t, term))
	if err != nil || got != text {
		t.Errorf("terminal code reads %q, %v", got, err)
	}
	svg, err := QRSVG(text)
	if err != nil || !strings.Contains(svg, `viewBox="0 0 `) || strings.Contains(svg, text) {
		t.Errorf("svg: %v %.80s", err, svg)
	}
}

// terminalPicture paints the half blocks, light and dark, as a terminal does.
func terminalPicture(t *testing.T, s string) image.Image {
	t.Helper()
	const px = 6
	lines := strings.Split(strings.TrimSpace(s), "\n")
	wide := len([]rune(strings.TrimSuffix(strings.TrimPrefix(lines[0], "\x1b[97;40m"), "\x1b[0m")))
	img := image.NewGray(image.Rect(0, 0, wide*px, len(lines)*2*px))
	for y, l := range lines {
		for x, r := range []rune(strings.TrimSuffix(strings.TrimPrefix(l, "\x1b[97;40m"), "\x1b[0m")) {
			for dy := range 2 * px {
				light := r == '█' || (r == '▀' && dy < px) || (r == '▄' && dy >= px)
				for dx := range px {
					if light {
						img.SetGray(x*px+dx, y*2*px+dy, color.Gray{Y: 255})
					}
				}
			}
		}
	}
	return img
}

func TestOwnCertificate(t *testing.T) {
	y := newYard()
	k := y.open(t, t.TempDir(), "")
	crt, key := filepath.Join(k.dir, leafFile), filepath.Join(k.dir, leafKeyFile)
	now := func() time.Time { return y.now }
	o, err := OpenOwn(crt, key, now)
	if err != nil {
		t.Fatal(err)
	}
	first, _ := o.GetCertificate(nil)
	y.ips = nil
	k.Refresh()
	if second, _ := o.GetCertificate(nil); bytes.Equal(first.Leaf.Raw, second.Leaf.Raw) {
		t.Error("a renewed file was not read again")
	}
	if _, err := OpenOwn(crt, filepath.Join(k.dir, authorityKeyFile), now); err == nil {
		t.Error("a key that does not belong was accepted")
	}
	y.now = start.Add(leafLife + time.Hour)
	if _, err := OpenOwn(crt, key, now); err == nil || !strings.Contains(err.Error(), "ended on") {
		t.Errorf("ended: %v", err)
	}
	y.now = start.Add(-72 * time.Hour)
	if _, err := OpenOwn(crt, key, now); err == nil || !strings.Contains(err.Error(), "clock") {
		t.Errorf("not yet valid: %v", err)
	}
}

func TestPublicNames(t *testing.T) {
	for _, bad := range []string{"ringcraft.local", "localhost", "a b.example", "*.example.org", "https://x.example"} {
		if _, err := OpenPublic(t.TempDir(), []string{bad}, "", ""); err == nil {
			t.Errorf("%q accepted", bad)
		}
	}
	if _, err := OpenPublic(t.TempDir(), nil, "", ""); err == nil {
		t.Error("no name accepted")
	}
	p, err := OpenPublic(t.TempDir(), []string{"yard.example.org"}, "a@example.org", "https://127.0.0.1:1/dir")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Config().GetCertificate(&tls.ClientHelloInfo{ServerName: "other.example.org"}); err == nil || !strings.Contains(err.Error(), "not configured") {
		t.Errorf("a certificate for any name is asked for: %v", err)
	}
}

func TestLoopback(t *testing.T) {
	for addr, want := range map[string]bool{"127.0.0.1:80": true, "localhost:80": true, "[::1]:80": true, ":80": false,
		"0.0.0.0:80": false, "[::]:80": false, "192.168.1.2:80": false, "example.org:80": false, "80": false} {
		if Loopback(addr) != want {
			t.Errorf("%s", addr)
		}
	}
}
