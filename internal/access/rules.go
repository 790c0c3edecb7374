package access

import "fmt"

// Rule names who may use a route. Every route carries one.
type Rule string

// The rules.
const (
	Open       Rule = "open"        // anyone: sign-in, pairing, health, assets
	SignedIn   Rule = "signed-in"   // any person with an account: own start page, sign out
	RideWrite  Rule = "ride-write"  // trainer; scribe while the ride is being ridden
	RideRead   Rule = "ride-read"   // trainer; scribe while it is being ridden; rider for own rides
	ReportRead Rule = "report-read" // trainer; rider for own rides; guest for the linked ride
	Homework   Rule = "homework"    // trainer; rider for own lessons
	TrainerDo  Rule = "trainer"     // trainer only
)

// Rules lists every rule there is.
func Rules() []Rule {
	return []Rule{Open, SignedIn, RideWrite, RideRead, ReportRead, Homework, TrainerDo}
}

// Known reports whether the rule exists; a route with an unknown rule is refused to all.
func (r Rule) Known() bool {
	for _, k := range Rules() {
		if k == r {
			return true
		}
	}
	return false
}

// Thing is what a request is about, as far as rules need to know. The zero value is "nothing in
// particular": rules that depend on a ride then refuse everybody but the trainer.
type Thing struct {
	RideID  string
	RiderID string
	Riding  bool // the ride is being ridden: opened and not closed
}

// Decision is the answer to one question, with its reason in words.
type Decision struct {
	Allowed bool
	SignIn  bool   // refused because nobody is signed in: signing in may help
	Reason  string // why, for the page and the log; holds no secret
}

// Allow decides whether who may use a route with this rule on this thing.
func Allow(rule Rule, who Who, thing Thing) Decision {
	if !rule.Known() {
		return Decision{Reason: fmt.Sprintf("the route has no known rule (%q)", string(rule))}
	}
	if rule == Open {
		return Decision{Allowed: true, Reason: "open to anyone"}
	}
	switch who.Role {
	case Trainer:
		return Decision{Allowed: true, Reason: "the trainer may do everything"}
	case Scribe:
		return scribe(rule, thing)
	case Rider:
		return rider(rule, who, thing)
	case Guest:
		return guest(rule, who, thing)
	}
	return Decision{SignIn: true, Reason: "sign in or pair this device first"}
}

func scribe(rule Rule, thing Thing) Decision {
	switch {
	case rule == SignedIn:
		return Decision{Allowed: true, Reason: "signed in"}
	case rule != RideWrite && rule != RideRead:
		return Decision{Reason: "a scribe writes notes of a ride being ridden, nothing else"}
	case thing.RideID == "" || !thing.Riding:
		return Decision{Reason: "this ride is not being ridden now; the trainer can open it again"}
	}
	return Decision{Allowed: true, Reason: "the ride is being ridden"}
}

func rider(rule Rule, who Who, thing Thing) Decision {
	switch {
	case rule == SignedIn:
		return Decision{Allowed: true, Reason: "signed in"}
	case rule != RideRead && rule != ReportRead && rule != Homework:
		return Decision{Reason: "a rider reads own rides, reports and homework, and changes nothing"}
	case who.RiderID == "" || who.RiderID != thing.RiderID:
		return Decision{Reason: "this belongs to another rider"}
	}
	return Decision{Allowed: true, Reason: "the rider's own"}
}

func guest(rule Rule, who Who, thing Thing) Decision {
	if rule != ReportRead {
		return Decision{Reason: "this link opens one report, nothing else"}
	}
	if who.RideID == "" || who.RideID != thing.RideID {
		return Decision{Reason: "this link opens another report"}
	}
	return Decision{Allowed: true, Reason: "the report the link was made for"}
}
