package access

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/crypto/argon2"
	"pgregory.net/rapid"
)

var start = time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)

// clock is a clock that tests set.
type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

func newGuard(t *testing.T) (*Guard, *clock) {
	t.Helper()
	c := &clock{start}
	g, err := NewGuard(NewMemory(), c.now, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return g, c
}

// Vector of the Argon2 reference implementation's own test program (test.c, version 0x13,
// argon2id, t=2, m=2^16 KiB, p=1, "password", "somesalt").
func TestArgon2idReferenceVector(t *testing.T) {
	got := argon2.IDKey([]byte("password"), []byte("somesalt"), 2, 65536, 1, 32)
	const want = "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7"
	if hex.EncodeToString(got) != want {
		t.Fatalf("got %x", got)
	}
	// The same tag in the PHC string form is accepted here.
	stored := "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	if !PasswordMatches(stored, "password") {
		t.Error("the reference hash in PHC form is refused")
	}
	if PasswordMatches(stored, "passwore") {
		t.Error("a wrong password is accepted")
	}
}

func TestPasswordHashing(t *testing.T) {
	a, err := HashPassword(rand.Reader, "three plain words")
	if err != nil {
		t.Fatal(err)
	}
	b, _ := HashPassword(rand.Reader, "three plain words")
	if a == b {
		t.Error("two hashes of one password are equal: no salt")
	}
	if !strings.HasPrefix(a, "$argon2id$v=19$m=65536,t=3,p=4$") {
		t.Errorf("cost is not RFC 9106's second recommended option: %s", a[:35])
	}
	if !PasswordMatches(a, "three plain words") || PasswordMatches(a, "three plain word") {
		t.Error("matching is wrong")
	}
	for _, bad := range []string{"", "x", "$argon2i$v=19$m=8,t=1,p=1$AAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAA",
		strings.Replace(a, "m=65536", "m=99999999", 1), strings.Replace(a, "t=3", "t=4000000000", 1), a[:len(a)-30]} {
		if PasswordMatches(bad, "three plain words") {
			t.Errorf("altered hash matches: %q", bad)
		}
	}
	if _, err := HashPassword(bytes.NewReader(nil), "x"); err == nil {
		t.Error("no randomness, no error")
	}
}

func TestCheckNewPassword(t *testing.T) {
	for _, c := range []struct {
		password, wrong string
	}{
		{"horse bridle rain", ""},
		{"åäöåäöåäöå", ""},
		{"short", "at least 10"},
		{"", "at least 10"},
		{"aaaaaaaaaaaaaaaa", "repeated"},
		{"annabelle smith", "the name itself"},
		{strings.Repeat("long", 65), "at most 256"},
		{"\xff\xfe\xff\xfe\xff\xfe\xff\xfe\xff\xfe", "not valid text"},
	} {
		err := CheckNewPassword(c.password, "Annabelle Smith")
		if (c.wrong == "") != (err == nil) || (err != nil && !strings.Contains(err.Error(), c.wrong)) {
			t.Errorf("%q: %v, want %q", c.password, err, c.wrong)
		}
	}
}

func TestCodes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.SliceOfN(rapid.Byte(), codeLength, codeLength).Draw(t, "raw")
		code, err := NewCode(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		want, err := CodeHash(code)
		if err != nil {
			t.Fatalf("own code %q refused: %v", code, err)
		}
		typed := strings.ToLower(strings.ReplaceAll(code, "-", " "))
		typed = strings.NewReplacer("0", "o", "1", "l").Replace(typed)
		if got, err := CodeHash("  " + typed); err != nil || got != want {
			t.Fatalf("%q typed as %q: %v", code, typed, err)
		}
	})
	for _, bad := range []string{"", "7KQ2", "7KQ2-M9XDA", "7KQ2-M9XU", "7KQ2-M9X🐎"} {
		if _, err := CodeHash(bad); err == nil {
			t.Errorf("%q accepted", bad)
		}
	}
}

func TestPairingOnceAndInTime(t *testing.T) {
	g, c := newGuard(t)
	ctx := context.Background()
	a, err := g.AddAccount(ctx, "Bea", Scribe, "")
	if err != nil {
		t.Fatal(err)
	}
	shown, _, err := g.NewPairing(ctx, a.ID)
	if err != nil {
		t.Fatal(err)
	}
	d, err := g.Pair(ctx, shown, "Bea's phone")
	if err != nil {
		t.Fatal(err)
	}
	if who, err := g.WhoHas(ctx, d.ID); err != nil || who.Role != Scribe || who.Name != "Bea" {
		t.Fatalf("%+v, %v", who, err)
	}
	if _, err := g.Pair(ctx, shown, "second"); !errors.Is(err, ErrRefused) {
		t.Errorf("a code paired twice: %v", err)
	}
	late, _, _ := g.NewPairing(ctx, a.ID)
	c.t = c.t.Add(CodeLife)
	if _, err := g.Pair(ctx, late, "late"); !errors.Is(err, ErrRefused) {
		t.Errorf("an expired code paired: %v", err)
	}
}

func TestPairingRaceHasOneWinner(t *testing.T) {
	g, _ := newGuard(t)
	ctx := context.Background()
	a, _ := g.AddAccount(ctx, "Bea", Scribe, "")
	shown, _, _ := g.NewPairing(ctx, a.ID)
	var wg sync.WaitGroup
	var mu sync.Mutex
	won := 0
	for i := range 20 {
		wg.Go(func() {
			if _, err := g.Pair(ctx, shown, fmt.Sprint(i)); err == nil {
				mu.Lock()
				won++
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	if won != 1 {
		t.Fatalf("%d devices paired with one code", won)
	}
}

func TestDevicePutOut(t *testing.T) {
	g, c := newGuard(t)
	ctx := context.Background()
	if _, err := g.SetPassword(ctx, "Tess", "rain on the roof"); err != nil {
		t.Fatal(err)
	}
	d, err := g.SignIn(ctx, "tess", "rain on the roof", "laptop")
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Store().PutOutDevice(ctx, d.ID, c.t); err != nil {
		t.Fatal(err)
	}
	if who, _ := g.WhoHas(ctx, d.ID); who.Role != Nobody {
		t.Errorf("a device that was put out is %+v", who)
	}
	if who, err := g.WhoHas(ctx, "unknown"); who.Role != Nobody || err != nil {
		t.Errorf("unknown device: %+v %v", who, err)
	}
}

func TestSignInRefusals(t *testing.T) {
	g, _ := newGuard(t)
	ctx := context.Background()
	if has, _ := g.HasLogin(ctx); has {
		t.Error("a login before any was set")
	}
	g.SetPassword(ctx, "Tess", "rain on the roof")
	g.AddAccount(ctx, "Bea", Scribe, "")
	if has, _ := g.HasLogin(ctx); !has {
		t.Error("no login after one was set")
	}
	for _, c := range [][2]string{{"Tess", "rain on the roo"}, {"Tess", ""}, {"nobody", "rain on the roof"},
		{"Bea", ""}, {"Bea", "no account has this password"}, {"x", "no account has this password"}} {
		if _, err := g.SignIn(ctx, c[0], c[1], ""); !errors.Is(err, ErrRefused) {
			t.Errorf("%q with %q: %v", c[0], c[1], err)
		}
	}
}

func TestGuestLinks(t *testing.T) {
	g, c := newGuard(t)
	ctx := context.Background()
	token, l, err := g.NewLink(ctx, "ride1", "the owner", 0)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := g.OpenLink(ctx, token); err != nil || got.RideID != "ride1" {
		t.Fatalf("%+v %v", got, err)
	}
	if strings.Contains(fmt.Sprintf("%+v", l), token) {
		t.Error("the stored link holds its token")
	}
	for name, at := range map[string]time.Time{"expired": start.Add(LinkLife), "clock far back": start.Add(-48 * time.Hour)} {
		c.t = at
		if _, err := g.OpenLink(ctx, token); !errors.Is(err, ErrRefused) {
			t.Errorf("%s: %v", name, err)
		}
		if who, err := g.GuestOf(ctx, l.ID); who.Role != Nobody || err != nil {
			t.Errorf("%s: still %+v, %v", name, who, err)
		}
	}
	c.t = start
	g.Store().RemoveLink(ctx, l.ID)
	if _, err := g.OpenLink(ctx, token); !errors.Is(err, ErrRefused) {
		t.Errorf("withdrawn: %v", err)
	}
	if _, _, err := g.NewLink(ctx, "ride1", "", 100*24*time.Hour); err == nil {
		t.Error("a link for 100 days was made")
	}
}

// The whole rule table by hand: what each role may do. The things: a = own/linked ride being
// ridden, b = another rider's closed ride.
func TestAllowTable(t *testing.T) {
	a := Thing{RideID: "a", RiderID: "r1", Riding: true}
	b := Thing{RideID: "b", RiderID: "r2"}
	who := map[Role]Who{Nobody: {}, Trainer: {Role: Trainer}, Scribe: {Role: Scribe},
		Rider: {Role: Rider, RiderID: "r1"}, Guest: {Role: Guest, RideID: "a"}}
	// columns: nobody guest rider scribe trainer, for a then for b then for nothing
	want := map[Rule]string{
		Open:       "yyyyy yyyyy yyyyy",
		SignedIn:   "nnyyy nnyyy nnyyy",
		RideWrite:  "nnnyy nnnny nnnny",
		RideRead:   "nnyyy nnnny nnnny",
		ReportRead: "nyyny nnnny nnnny",
		Homework:   "nnyny nnnny nnnny",
		TrainerDo:  "nnnny nnnny nnnny",
	}
	for _, rule := range append(Rules(), "no such rule") {
		var got []byte
		for i, thing := range []Thing{a, b, {}} {
			if i > 0 {
				got = append(got, ' ')
			}
			for _, role := range Everyone() {
				d := Allow(rule, who[role], thing)
				if d.Reason == "" {
					t.Errorf("%s %s: no reason", rule, role)
				}
				if d.SignIn && (d.Allowed || role != Nobody) {
					t.Errorf("%s %s: asks to sign in", rule, role)
				}
				got = append(got, map[bool]byte{true: 'y', false: 'n'}[d.Allowed])
			}
		}
		w, ok := want[rule]
		if !ok {
			w = "nnnnn nnnnn nnnnn"
		}
		if string(got) != w {
			t.Errorf("%s: got %s want %s", rule, got, w)
		}
	}
	if d := Allow(ReportRead, Who{Role: Rider}, Thing{RideID: "x"}); d.Allowed {
		t.Error("a rider account without a rider reads a ride without a rider")
	}
	if d := Allow(ReportRead, Who{Role: Guest}, Thing{}); d.Allowed {
		t.Error("a guest of no ride reads")
	}
}

func TestLimit(t *testing.T) {
	l := NewLimit(time.Minute, 3)
	now := start
	for i := range 3 {
		if ok, _ := l.Try("a", now); !ok {
			t.Fatalf("try %d refused", i+1)
		}
	}
	ok, wait := l.Try("a", now)
	if ok || wait <= 0 || wait > time.Minute {
		t.Errorf("fourth try: %v, wait %v", ok, wait)
	}
	if ok, _ := l.Try("b", now); !ok {
		t.Error("another key is refused")
	}
	if ok, _ := l.Try("a", now.Add(time.Minute)); !ok {
		t.Error("refused after the wait")
	}
	// many keys together meet the common bucket: guessing from many addresses is slow too
	let := 0
	for i := range 1000 {
		if ok, _ := l.Try(fmt.Sprint("k", i), now); ok {
			let++
		}
	}
	if let > 60 {
		t.Errorf("%d tries let through from many addresses", let)
	}
	for i := range 3 * l.most {
		l.Try(fmt.Sprint("m", i), now)
	}
	if len(l.keys) > l.most {
		t.Errorf("%d keys kept", len(l.keys))
	}
}

func FuzzCodeHash(f *testing.F) {
	for _, s := range []string{"7KQ2-M9XD", "7kq2 m9xd", "OOOO-LLLL", "", "\xff", "-------- 12345678"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		h, err := CodeHash(s)
		if (err == nil) != (len(h) == 64) {
			t.Fatalf("%q: %q %v", s, h, err)
		}
	})
}

func FuzzPasswordHash(f *testing.F) {
	f.Add("$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc")
	f.Add("$argon2id$v=19$m=-1,t=1,p=1$$")
	f.Fuzz(func(t *testing.T, s string) {
		if c, _, _, err := parsePHC(s); err == nil && !c.within(most) {
			t.Fatalf("cost %+v accepted", c)
		}
	})
}
