package access

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
)

// codeLetters are the letters of a pairing code: no I, L, O or U, so that none is misread
// (the alphabet of Crockford's base 32).
const codeLetters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// codeLength letters of 5 bits each: 40 bits, enough for ten minutes behind a rate limit.
const codeLength = 8

// NewCode draws a pairing code as it is shown: "7KQ2-M9XD".
func NewCode(random io.Reader) (string, error) {
	b := make([]byte, codeLength)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", fmt.Errorf("random code: %w", err)
	}
	for i := range b {
		b[i] = codeLetters[b[i]%32] // 256 is a multiple of 32: no bias
	}
	return string(b[:4]) + "-" + string(b[4:]), nil
}

// CodeHash hashes a code as typed: case, spaces and dashes do not matter, O is 0, I and L are 1.
// It fails, with what is allowed, when the text cannot be a code.
func CodeHash(typed string) (string, error) {
	fold := strings.NewReplacer("-", "", " ", "", "O", "0", "I", "1", "L", "1")
	code := fold.Replace(strings.ToUpper(strings.TrimSpace(typed)))
	if len(code) != codeLength {
		return "", fmt.Errorf("a pairing code has %d letters and digits, like 7KQ2-M9XD", codeLength)
	}
	for _, r := range code {
		if !strings.ContainsRune(codeLetters, r) {
			return "", fmt.Errorf("%q is not in any pairing code; letters and digits only, never U", r)
		}
	}
	return hash("code:" + code), nil
}

// NewToken draws 256 random bits for an address or an id that must not be guessed.
func NewToken(random io.Reader) (string, error) {
	b := make([]byte, 32)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", fmt.Errorf("random token: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// TokenHash is what is stored of a token. A token holds 256 random bits, so one round is enough.
func TokenHash(token string) string { return hash("token:" + token) }

func newID(random io.Reader) (string, error) {
	b := make([]byte, 8)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", fmt.Errorf("random id: %w", err)
	}
	return hex.EncodeToString(b), nil
}

func hash(s string) string {
	sum := sha256.Sum256([]byte(s))
	return hex.EncodeToString(sum[:])
}
