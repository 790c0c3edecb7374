package certs

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html"
	"net/http"
	"strings"
)

//go:embed trust.html
var trustHTML string

// Handout is the plain-HTTP port: it hands out the authority's certificate, its fingerprint and the
// steps by which a phone comes to trust it, and nothing else. secureURL is where the phone goes next.
func Handout(k *Keeper, secureURL string) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		plain(w, "text/html; charset=utf-8")
		page := strings.NewReplacer("{name}", html.EscapeString(k.Name()),
			"{fingerprint}", Fingerprint(k.Authority()), "{next}", html.EscapeString(secureURL))
		_, _ = page.WriteString(w, trustHTML) // a broken connection is the reader's affair
	})
	mux.HandleFunc("GET /ringcraft-authority.crt", func(w http.ResponseWriter, r *http.Request) {
		plain(w, "application/x-x509-ca-cert")
		w.Header().Set("Content-Disposition", `attachment; filename="ringcraft-authority.crt"`)
		_, _ = w.Write(k.Authority().Raw)
	})
	mux.HandleFunc("GET /fingerprint.txt", func(w http.ResponseWriter, r *http.Request) {
		plain(w, "text/plain; charset=utf-8")
		_, _ = w.Write([]byte("SHA-256 " + Fingerprint(k.Authority()) + "\n"))
	})
	return http.MaxBytesHandler(mux, 1024)
}

// plainPolicy allows the page's one style by its hash and nothing else.
var plainPolicy = "default-src 'none'; style-src '" + styleHash(trustHTML) + "'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// styleHash is the hash source (W3C Content Security Policy Level 3, section 2.3.1) of a page's
// style element.
func styleHash(page string) string {
	_, rest, _ := strings.Cut(page, "<style>")
	style, _, _ := strings.Cut(rest, "</style>")
	sum := sha256.Sum256([]byte(style))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

func plain(w http.ResponseWriter, kind string) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Security-Policy", plainPolicy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
}

// Steps says in words how a phone comes to trust the authority; for the terminal.
func Steps(handoutURL, secureURL, fingerprint string) string {
	return strings.Join([]string{
		"A phone that has not been here before (once only):",
		"  1. Join the same Wi-Fi as this machine.",
		"  2. Open " + handoutURL + " and download the certificate.",
		"  3. Compare the fingerprint that the phone shows with this one:",
		"     " + fingerprint[:47],
		"     " + fingerprint[48:],
		"  4. Trust it: on iPhone and iPad, Settings > Profile downloaded > Install, then",
		"     Settings > General > About > Certificate Trust Settings > switch it on;",
		"     on Android, Settings > search \"CA certificate\" > Install anyway.",
		"It can vouch for this machine and local addresses only, not for any site on the internet.",
		"Then, and every later time: open " + secureURL,
	}, "\n")
}
