// Package certs lets a phone in a yard without internet reach Ringcraft over TLS. It keeps a small
// certificate authority of the machine's own and a certificate for the machine's names and
// addresses, answers for one unchanging name on the local network (multicast DNS, RFC 6762), hands
// out the authority's certificate on a plain port and draws the QR code that is scanned to pair.
// A certificate of the user's own, or one from an ACME authority, takes the place of all this.
//
// All cryptography is the standard library's (crypto/x509, crypto/ecdsa, crypto/tls) and
// golang.org/x/crypto/acme/autocert's.
package certs
