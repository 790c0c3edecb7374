package main

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/binary"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"

	"ringcraft/internal/testkit"
)

// publicName is the name that the authority of this test vouches for.
const publicName = "book.stable.example"

// TestCertificateFromAuthority has the real server fetch a certificate from a real ACME authority
// for tests (Pebble of the Internet Security Research Group, MPL-2.0; RFC 8555), which really
// validates: it looks the name up and asks the server to prove that it is there. The second start
// uses what was kept.
func TestCertificateFromAuthority(t *testing.T) {
	t.Parallel()
	pebble := buildPebble(t)
	dir := t.TempDir()
	fillStore(t, dir)
	if out, err := childSetPassword(dir).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	https, plain := freePort(t), freePort(t)
	a := startAuthority(t, pebble, https, plain)
	serve := func() *child {
		return startChild(t, true, []string{"SSL_CERT_FILE=" + a.caFile}, "serve", "--data", dir, "--listen", "127.0.0.1:"+https,
			"--trust-listen", "127.0.0.1:"+plain, "--acme", publicName, "--acme-email", "trainer@stable.example", "--acme-directory", a.directory, "--log", "json")
	}
	c := serve()
	roots := a.roots(t)
	serial := visit(t, roots, https, a.said)

	// the plain port answers challenges and sends everybody else to TLS
	resp, err := noRedirect.Get("http://127.0.0.1:" + plain + "/pair?code=X")
	if err != nil || resp.StatusCode != http.StatusFound || resp.Header.Get("Location") == "" {
		t.Errorf("plain port: %v %v", resp, err)
	}
	// another name is not asked for: a stranger cannot make the server ask the authority
	conn, err := tls.Dial("tcp", "127.0.0.1:"+https, &tls.Config{ServerName: "other.example", RootCAs: roots})
	if err == nil {
		conn.Close()
		t.Error("a certificate for any name that a stranger says")
	}
	c.cmd.Process.Signal(os.Interrupt)
	if err := c.cmd.Wait(); err != nil {
		t.Fatalf("%v %s", err, c.logs)
	}
	a.stop() // the authority is away: what was kept must do
	c = serve()
	if again := visit(t, roots, https, c.logs); again.Cmp(serial) != 0 {
		t.Errorf("the second start has another certificate: %v, %v", again, serial)
	}
}

var noRedirect = &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}

// visit asks for the health page under the public name, verified, and returns the certificate's
// serial number.
func visit(t *testing.T, roots *x509.CertPool, port string, says fmt.Stringer) *big.Int {
	t.Helper()
	client := &http.Client{Timeout: patience, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, DisableKeepAlives: true,
		DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
			return new(net.Dialer).DialContext(ctx, network, "127.0.0.1:"+port)
		}}}
	resp, err := client.Get("https://" + publicName + "/health")
	if err != nil {
		t.Fatalf("%v\n%s", err, says)
	}
	defer resp.Body.Close()
	leaf := resp.TLS.PeerCertificates[0]
	if resp.StatusCode != http.StatusOK || leaf.VerifyHostname(publicName) != nil {
		t.Errorf("%d, names %v", resp.StatusCode, leaf.DNSNames)
	}
	return leaf.SerialNumber
}

func buildPebble(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "pebble")
	cmd := exec.Command("go", "build", "-C", filepath.Join("testdata", "acme"), "-o", program, "github.com/letsencrypt/pebble/v2/cmd/pebble")
	if out, err := cmd.CombinedOutput(); err != nil {
		testkit.Missing(t, "acme", fmt.Sprintf("the test authority cannot be built here: %v %.200s", err, out))
	}
	return program
}

// authority is a running ACME authority.
type authority struct {
	directory, management string
	caFile                string // who vouches for the authority's own web server
	said                  *watched
	stop                  func()
}

func startAuthority(t *testing.T, pebble, https, plain string) *authority {
	t.Helper()
	dir := t.TempDir()
	listen, manage := "127.0.0.1:"+freePort(t), "127.0.0.1:"+freePort(t)
	a := &authority{directory: "https://" + listen + "/dir", management: "https://" + manage, caFile: filepath.Join(dir, "own.pem")}
	writeSelfSigned(t, a.caFile, filepath.Join(dir, "own-key.pem"))
	config, err := json.Marshal(map[string]any{"pebble": map[string]any{
		"listenAddress": listen, "managementListenAddress": manage, "certificate": a.caFile, "privateKey": filepath.Join(dir, "own-key.pem"),
		"httpPort": asInt(plain), "tlsPort": asInt(https), "retryAfter": map[string]int{"authz": 1, "order": 1},
		"profiles": map[string]any{"default": map[string]any{"description": "test", "validityPeriod": 7776000}},
	}})
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, "config.json"), config, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(pebble, "-config", filepath.Join(dir, "config.json"), "-dnsserver", startDNS(t), "-strict")
	cmd.Env = append(os.Environ(), "PEBBLE_VA_NOSLEEP=1", "PEBBLE_WFE_NONCEREJECT=0")
	a.said = newWatched()
	cmd.Stdout, cmd.Stderr = a.said, a.said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	gone := false
	a.stop = func() {
		if !gone {
			gone = true
			cmd.Process.Kill()
			cmd.Wait()
		}
	}
	t.Cleanup(a.stop)
	a.said.wait(t, "ACME directory available at")
	return a
}

// roots asks the authority for its root certificate, which is new at every start.
func (a *authority) roots(t *testing.T) *x509.CertPool {
	t.Helper()
	own, err := os.ReadFile(a.caFile)
	if err != nil {
		t.Fatal(err)
	}
	trust := x509.NewCertPool()
	trust.AppendCertsFromPEM(own)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trust}}}
	resp, err := client.Get(a.management + "/roots/0")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	pool := x509.NewCertPool()
	if err != nil || !pool.AppendCertsFromPEM(b) {
		t.Fatalf("no root: %v %.100s", err, b)
	}
	return pool
}

// startDNS answers every question for an IPv4 address with loopback, and all else with nothing;
// over TCP (RFC 1035 section 4.2.2), which is how the authority asks.
func startDNS(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go answerDNS(conn)
		}
	}()
	return l.Addr().String()
}

func answerDNS(conn net.Conn) {
	defer conn.Close()
	var size uint16
	for binary.Read(conn, binary.BigEndian, &size) == nil {
		question := make([]byte, size)
		var m dnsmessage.Message
		if _, err := io.ReadFull(conn, question); err != nil || m.Unpack(question) != nil || len(m.Questions) == 0 {
			return
		}
		m.Response, m.Additionals = true, nil
		if q := m.Questions[0]; q.Type == dnsmessage.TypeA {
			m.Answers = []dnsmessage.Resource{{Header: dnsmessage.ResourceHeader{Name: q.Name, Type: q.Type, Class: q.Class, TTL: 1}, Body: &dnsmessage.AResource{A: [4]byte{127, 0, 0, 1}}}}
		}
		b, err := m.Pack()
		if err != nil {
			return
		}
		conn.Write(append(binary.BigEndian.AppendUint16(nil, uint16(len(b))), b...))
	}
}

// writeSelfSigned makes the certificate of the authority's own web server.
func writeSelfSigned(t *testing.T, certFile, keyFile string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	tmpl := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "test authority"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, tmpl, tmpl, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	for name, block := range map[string]*pem.Block{certFile: {Type: "CERTIFICATE", Bytes: der}, keyFile: {Type: "PRIVATE KEY", Bytes: keyDER}} {
		if err := os.WriteFile(name, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// freePort asks the system for a port that nobody uses.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return port
}

func asInt(s string) (n int) {
	fmt.Sscan(s, &n)
	return n
}
