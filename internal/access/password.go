package access

import (
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// cost is what one password hash takes. The values are the second recommended option of
// RFC 9106 section 4 (memory-constrained: 64 MiB, 3 passes, 4 lanes, 128-bit salt, 256-bit tag).
type cost struct {
	memoryKiB uint32
	passes    uint32
	lanes     uint8
}

var standard = cost{memoryKiB: 64 * 1024, passes: 3, lanes: 4}

const (
	saltBytes   = 16
	tagBytes    = 32
	minPassword = 10  // characters; NIST SP 800-63B asks for 8 at least
	maxPassword = 256 // characters; longer ones only cost memory
)

// limits for hashes read back from the store, so that an altered one cannot eat the machine
var most = cost{memoryKiB: 256 * 1024, passes: 16, lanes: 16}

var b64 = base64.RawStdEncoding

// CheckNewPassword says what is wrong with a password someone wants to set, or nil.
func CheckNewPassword(password, name string) error {
	n := utf8.RuneCountInString(password)
	switch {
	case !utf8.ValidString(password):
		return errors.New("the password is not valid text (UTF-8)")
	case n < minPassword:
		return fmt.Errorf("the password has %d characters; at least %d are needed (three words do)", n, minPassword)
	case n > maxPassword:
		return fmt.Errorf("the password has %d characters; at most %d are allowed", n, maxPassword)
	case name != "" && strings.EqualFold(password, name):
		return errors.New("the password is the name itself")
	case strings.Count(password, password[:1]) == len(password):
		return errors.New("the password is one character repeated")
	}
	return nil
}

// HashPassword hashes a password with Argon2id and a salt from random, in PHC form.
func HashPassword(random io.Reader, password string) (string, error) {
	salt := make([]byte, saltBytes)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fmt.Errorf("random salt: %w", err)
	}
	return phc(standard, salt, tag(standard, salt, password)), nil
}

// PasswordMatches compares a password with a stored hash in constant time. A hash that cannot be
// read never matches.
func PasswordMatches(stored, password string) bool {
	c, salt, want, err := parsePHC(stored)
	if err != nil || utf8.RuneCountInString(password) > maxPassword {
		return false
	}
	got := argon2.IDKey([]byte(password), salt, c.passes, c.memoryKiB, c.lanes, uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1
}

func tag(c cost, salt []byte, password string) []byte {
	return argon2.IDKey([]byte(password), salt, c.passes, c.memoryKiB, c.lanes, tagBytes)
}

func phc(c cost, salt, tag []byte) string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version,
		c.memoryKiB, c.passes, c.lanes, b64.EncodeToString(salt), b64.EncodeToString(tag))
}

func parsePHC(s string) (c cost, salt, tag []byte, err error) {
	f := strings.Split(s, "$")
	if len(f) != 6 || f[0] != "" || f[1] != "argon2id" {
		return c, nil, nil, errors.New("not an Argon2id hash")
	}
	var version int
	if _, err = fmt.Sscanf(f[2], "v=%d", &version); err != nil || version != argon2.Version {
		return c, nil, nil, errors.New("unknown Argon2 version")
	}
	if _, err = fmt.Sscanf(f[3], "m=%d,t=%d,p=%d", &c.memoryKiB, &c.passes, &c.lanes); err != nil {
		return c, nil, nil, fmt.Errorf("Argon2 cost: %w", err)
	}
	if !c.within(most) {
		return c, nil, nil, errors.New("Argon2 cost out of range")
	}
	if salt, err = b64.DecodeString(f[4]); err != nil || len(salt) < 8 || len(salt) > 64 {
		return c, nil, nil, errors.New("Argon2 salt unreadable")
	}
	if tag, err = b64.DecodeString(f[5]); err != nil || len(tag) < 16 || len(tag) > 64 {
		return c, nil, nil, errors.New("Argon2 tag unreadable")
	}
	return c, salt, tag, nil
}

func (c cost) within(m cost) bool {
	return c.memoryKiB >= 8 && c.passes >= 1 && c.lanes >= 1 &&
		c.memoryKiB <= m.memoryKiB && c.passes <= m.passes && c.lanes <= m.lanes
}
