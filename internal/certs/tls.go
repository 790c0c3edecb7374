package certs

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net/http"
	"os"
	"strings"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// Config is the TLS configuration every listener uses: TLS 1.2 and up, HTTP/2.
func Config(get func(*tls.ClientHelloInfo) (*tls.Certificate, error)) *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: get, NextProtos: []string{"h2", "http/1.1"}}
}

// Own is a certificate of the user's own, read again when its file changes, so that a renewal by
// another program needs no restart.
type Own struct {
	certFile, keyFile string
	now               func() time.Time
	stamp             string
	pair              *tls.Certificate
	lock              chan struct{}
}

// OpenOwn reads a certificate and key in PEM files and says what is wrong with them, if anything.
func OpenOwn(certFile, keyFile string, now func() time.Time) (*Own, error) {
	o := &Own{certFile: certFile, keyFile: keyFile, now: now, lock: make(chan struct{}, 1)}
	if err := o.read(); err != nil {
		return nil, err
	}
	if left := o.pair.Leaf.NotAfter.Sub(now()); left <= 0 {
		return nil, fmt.Errorf("%s: the certificate ended on %s", certFile, o.pair.Leaf.NotAfter.Format(time.DateOnly))
	}
	if now().Before(o.pair.Leaf.NotBefore) {
		return nil, fmt.Errorf("%s: the certificate is valid from %s; this machine's clock says %s", certFile,
			o.pair.Leaf.NotBefore.Format(time.DateOnly), now().Format(time.DateOnly))
	}
	return o, nil
}

// Names lists the names in the certificate.
func (o *Own) Names() []string { return o.pair.Leaf.DNSNames }

// Leaf is the certificate in use.
func (o *Own) Leaf() *x509.Certificate { return o.pair.Leaf }

// GetCertificate serves tls.Config. A new file that cannot be read leaves the old one in use.
func (o *Own) GetCertificate(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	o.lock <- struct{}{}
	defer func() { <-o.lock }()
	if s, err := fileStamp(o.certFile); err == nil && s != o.stamp {
		_ = o.read()
	}
	return o.pair, nil
}

func (o *Own) read() error {
	stamp, err := fileStamp(o.certFile)
	if err != nil {
		return err
	}
	certPEM, err := os.ReadFile(o.certFile)
	if err != nil {
		return err
	}
	keyPEM, err := os.ReadFile(o.keyFile)
	if err != nil {
		return err
	}
	pair, err := loadPair(certPEM, keyPEM)
	if err != nil {
		return fmt.Errorf("certificate %s with key %s: %w", o.certFile, o.keyFile, err)
	}
	o.pair, o.stamp = pair, stamp
	return nil
}

func fileStamp(path string) (string, error) {
	st, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	return fmt.Sprint(st.ModTime().UnixNano(), st.Size()), nil
}

// Public is a certificate from an ACME authority for a public name.
type Public struct{ m *autocert.Manager }

// OpenPublic prepares an ACME certificate for the names; the first visit to one of them fetches it.
// directory "" is the autocert default authority. dir keeps account and certificates.
func OpenPublic(dir string, names []string, email, directory string) (*Public, error) {
	if len(names) == 0 {
		return nil, errors.New("an ACME certificate needs a public name")
	}
	for _, n := range names {
		if !strings.Contains(n, ".") || strings.HasSuffix(n, ".local") || strings.ContainsAny(n, " /:*") {
			return nil, fmt.Errorf("%q is not a public name that an ACME authority can vouch for", n)
		}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	m := &autocert.Manager{Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(dir), HostPolicy: autocert.HostWhitelist(names...), Email: email}
	if directory != "" {
		m.Client = &acme.Client{DirectoryURL: directory}
	}
	return &Public{m: m}, nil
}

// Config is the TLS configuration that answers ACME challenges and serves the certificate.
func (p *Public) Config() *tls.Config {
	c := p.m.TLSConfig()
	c.MinVersion = tls.VersionTLS12
	return c
}

// Challenges is the plain-HTTP handler that answers ACME challenges and redirects all else to TLS.
func (p *Public) Challenges() http.Handler { return p.m.HTTPHandler(nil) }
