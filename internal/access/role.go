package access

import "fmt"

// Role is what a person is to the yard's records.
type Role string

// The roles, from the widest to the narrowest.
const (
	Nobody  Role = ""        // not signed in
	Trainer Role = "trainer" // everything
	Scribe  Role = "scribe"  // notes of a ride that is being ridden
	Rider   Role = "rider"   // own rides, reports and homework, read only
	Guest   Role = "guest"   // one report, by a link that expires
)

// Roles lists the roles a person can be given, widest first. Guests come by link only.
func Roles() []Role { return []Role{Trainer, Scribe, Rider} }

// Everyone lists every role there is, with Nobody first; the route test walks it.
func Everyone() []Role { return []Role{Nobody, Guest, Rider, Scribe, Trainer} }

// ParseRole reads a role that can be given to an account.
func ParseRole(s string) (Role, error) {
	for _, r := range Roles() {
		if string(r) == s {
			return r, nil
		}
	}
	return Nobody, fmt.Errorf("role %q: allowed are trainer, scribe and rider", s)
}

// Who is the one who asks. The zero value is nobody.
type Who struct {
	Role    Role
	Account string // account id, "" for nobody, guests and the owner at the machine itself
	Name    string // as shown on the page
	Device  string // device id, "" where no device was paired
	RiderID string // rider whose rides a rider may read
	RideID  string // ride whose report a guest may read
	Local   bool   // sits at the machine itself: loopback without a login
}

// Owner is the person at the machine itself while no login is asked for.
func Owner() Who { return Who{Role: Trainer, Name: "trainer", Local: true} }
