package certs

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"strings"
	"time"
)

// How long certificates last. Phones accept a server certificate of at most 825 days from an
// authority the user added himself (from memory); ours is far shorter and renewed on its own.
const (
	authorityLife = 10 * 365 * 24 * time.Hour
	leafLife      = 180 * 24 * time.Hour
	renewBefore   = 60 * 24 * time.Hour
	clockSlack    = 48 * time.Hour // a laptop or phone whose clock is a day behind still accepts it
)

// authority is the certificate authority of one machine, with its key.
type authority struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

// localNets are the addresses the authority may vouch for: loopback, private, link-local and
// shared address space (RFC 1918, 3927, 4193, 4291, 6598). A phone that trusts it does not thereby
// trust it for any site on the internet: the certificate carries these as critical name constraints
// (RFC 5280 section 4.2.1.10).
var localNets = []string{
	"127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "100.64.0.0/10",
	"::1/128", "fc00::/7", "fe80::/10",
}

// newAuthority makes an authority that may vouch for the names and for local addresses only.
func newAuthority(name string, names []string, now time.Time) (*authority, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("key of the certificate authority: %w", err)
	}
	serial, err := newSerial()
	if err != nil {
		return nil, err
	}
	t := &x509.Certificate{
		SerialNumber:                serial,
		Subject:                     pkix.Name{CommonName: "Ringcraft on " + name, Organization: []string{"Ringcraft, this machine only"}},
		NotBefore:                   now.Add(-clockSlack),
		NotAfter:                    now.Add(authorityLife),
		IsCA:                        true,
		BasicConstraintsValid:       true,
		MaxPathLenZero:              true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         names,
	}
	for _, s := range localNets {
		_, n, err := net.ParseCIDR(s)
		if err != nil {
			return nil, err
		}
		t.PermittedIPRanges = append(t.PermittedIPRanges, n)
	}
	der, err := x509.CreateCertificate(rand.Reader, t, t, key.Public(), key)
	if err != nil {
		return nil, fmt.Errorf("certificate authority: %w", err)
	}
	cert, err := x509.ParseCertificate(der)
	return &authority{cert: cert, key: key}, err
}

// leaf signs a server certificate for what of the names and addresses the authority may vouch for.
func (a *authority) leaf(names []string, ips []net.IP, now time.Time) (certPEM, keyPEM []byte, err error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, fmt.Errorf("key of the certificate: %w", err)
	}
	serial, err := newSerial()
	if err != nil {
		return nil, nil, err
	}
	t := &x509.Certificate{
		SerialNumber: serial,
		Subject:      pkix.Name{CommonName: names[0]},
		NotBefore:    now.Add(-clockSlack),
		NotAfter:     earlier(now.Add(leafLife), a.cert.NotAfter),
		KeyUsage:     x509.KeyUsageDigitalSignature,
		ExtKeyUsage:  []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames:     a.mayName(names),
		IPAddresses:  a.mayReach(ips),
	}
	der, err := x509.CreateCertificate(rand.Reader, t, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, nil, fmt.Errorf("certificate: %w", err)
	}
	if keyPEM, err = encodeKey(key); err != nil {
		return nil, nil, err
	}
	return append(encodeCert(der), encodeCert(a.cert.Raw)...), keyPEM, nil
}

func (a *authority) mayName(names []string) (ok []string) {
	for _, n := range names {
		for _, d := range a.cert.PermittedDNSDomains {
			if n == d || strings.HasSuffix(n, "."+d) {
				ok = append(ok, n)
				break
			}
		}
	}
	return ok
}

func (a *authority) mayReach(ips []net.IP) (ok []net.IP) {
	for _, ip := range ips {
		for _, n := range a.cert.PermittedIPRanges {
			if n.Contains(ip) {
				ok = append(ok, ip)
				break
			}
		}
	}
	return ok
}

// Fingerprint is the SHA-256 of a certificate as phones show it: pairs of hex digits.
func Fingerprint(cert *x509.Certificate) string {
	sum := sha256.Sum256(cert.Raw)
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, " ")
}

func newSerial() (*big.Int, error) {
	n, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127)) // RFC 5280: at most 20 octets, positive
	if err != nil {
		return nil, fmt.Errorf("serial number: %w", err)
	}
	return n.Add(n, big.NewInt(1)), nil
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func encodeCert(der []byte) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
}

func encodeKey(key *ecdsa.PrivateKey) ([]byte, error) {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), nil
}

// readAuthority reads an authority from its two PEM files and checks that they belong together.
func readAuthority(certPEM, keyPEM []byte) (*authority, error) {
	cb, _ := pem.Decode(certPEM)
	kb, _ := pem.Decode(keyPEM)
	if cb == nil || kb == nil {
		return nil, errors.New("not a PEM file")
	}
	cert, err := x509.ParseCertificate(cb.Bytes)
	if err != nil {
		return nil, err
	}
	k, err := x509.ParsePKCS8PrivateKey(kb.Bytes)
	if err != nil {
		return nil, err
	}
	key, ok := k.(*ecdsa.PrivateKey)
	if !ok || !key.PublicKey.Equal(cert.PublicKey) {
		return nil, errors.New("the key does not belong to the certificate")
	}
	if !cert.IsCA {
		return nil, errors.New("the certificate is not an authority's")
	}
	return &authority{cert: cert, key: key}, nil
}
