package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/pressly/goose/v3"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/booktest"
	"ringcraft/internal/testkit"
)

var ctx = context.Background()

func open(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func fresh(t testing.TB) *Store {
	// A folder with characters that mean something in a DSN.
	dir := filepath.Join(t.TempDir(), "a yard? 100% #1")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	return open(t, filepath.Join(dir, "book.db"))
}

func TestSQLiteKeepsTheContract(t *testing.T) {
	booktest.Contract(t, func(t *testing.T) logbook.Store { return fresh(t) })
}

// TestSettings asserts, on several connections at once, what durability rests on: with
// synchronous below 2 a commit can vanish in a power cut (SQLite documentation, "PRAGMA
// synchronous"; FULL is 2).
func TestSettings(t *testing.T) {
	s := fresh(t)
	var conns []*sql.Conn
	for range 4 {
		c, err := s.db.Conn(ctx)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		conns = append(conns, c)
	}
	for i, c := range conns {
		for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "10000", "application_id": fmt.Sprint(applicationID)} {
			var got string
			if err := c.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&got); err != nil {
				t.Fatal(err)
			}
			if got != want {
				t.Errorf("connection %d: %s is %s, want %s", i, pragma, got, want)
			}
		}
	}
	strict, err := s.strings(ctx, "SELECT name FROM pragma_table_list WHERE type = 'table' AND strict = 0 AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'goose_%'")
	if err != nil || len(strict) > 0 {
		t.Errorf("tables that are not strict: %v %v", strict, err)
	}
}

func TestReopenKeepsEverything(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	s := open(t, path)
	booktest.Seed(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, path)
	h, err := s.Horse(ctx, "h1")
	if err != nil || h.Name != "Quillon" {
		t.Errorf("got %+v, %v", h, err)
	}
}

// TestEveryEarlierSchemaOpens builds the store as each earlier program left it, with a row in every
// table and awkward bytes in every text, opens it with this one and compares every column: what was
// put in is there byte for byte.
func TestEveryEarlierSchemaOpens(t *testing.T) {
	for v := int64(1); v <= latestVersion(); v++ {
		path := filepath.Join(t.TempDir(), "old.db")
		db, err := sql.Open("sqlite", settings(path, false))
		ok(t, err)
		p, err := goose.NewProvider(goose.DialectSQLite3, db, migrations())
		ok(t, err)
		_, err = p.UpTo(ctx, v)
		ok(t, err)
		const awkward = "byte\r\nfor\tbyte \u00e9\U0001f40e \x00'\" "
		testkit.Fill(t, db, awkward, 100, nil)
		before := dump(t, db)
		ok(t, db.Close())
		s := open(t, path)
		after := dump(t, s.db)
		if diff := cmp.Diff(before, keep(after, before)); diff != "" || len(before) < 90 {
			t.Errorf("from schema %d (%d columns): -before +after\n%s", v, len(before), diff)
		}
		if got, err := s.Sheet(ctx, awkward+".sheet.id"); err != nil || got.Text != awkward+".sheet.text" {
			t.Errorf("from schema %d: %q, %v", v, got.Text, err)
		}
		if found, err := s.Check(ctx); err != nil || len(found) > 0 {
			t.Errorf("from schema %d: the store's check: %v %v", v, found, err)
		}
	}
}

// dump reads every column of every table with its type in the store, by "table.column".
func dump(t *testing.T, db *sql.DB) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, c := range testkit.Columns(t, db) {
		var got string
		q := fmt.Sprintf("SELECT coalesce(group_concat(typeof(%[1]q) || ':' || hex(CAST(%[1]q AS BLOB))), '') FROM %[2]q", c.Name, c.Table)
		ok(t, db.QueryRow(q).Scan(&got))
		out[c.Table+"."+c.Name] = got
	}
	return out
}

// keep narrows to the columns that an earlier schema had.
func keep(all, had map[string]string) map[string]string {
	out := map[string]string{}
	for k := range had {
		if v, there := all[k]; there {
			out[k] = v
		}
	}
	return out
}

func TestMigrationsGoDownAndUp(t *testing.T) {
	s := fresh(t)
	p, err := goose.NewProvider(goose.DialectSQLite3, s.db, migrations())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.DownTo(ctx, 0); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Up(ctx); err != nil {
		t.Fatal(err)
	}
	booktest.Seed(t, s)
}

func TestNewerStoreIsRefusedUntouched(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	s := open(t, path)
	if _, err := s.db.Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)"); err != nil {
		t.Fatal(err)
	}
	s.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Open(ctx, path)
	if logbook.CodeOf(err) != logbook.Newer {
		t.Errorf("got %v", err)
	}
	after, err := os.ReadFile(path)
	if err != nil || string(after) != string(before) {
		t.Errorf("the file was touched (%v)", err)
	}
}

func TestForeignFilesAreRefusedUntouched(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "text.db")
	if err := os.WriteFile(text, []byte(strings.Repeat("no database at all\n", 400)), 0o600); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite", other)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE recipe (id)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	for _, p := range []string{text, other} {
		before, _ := os.ReadFile(p)
		if _, err := Open(ctx, p); logbook.CodeOf(err) != logbook.Damaged {
			t.Errorf("%s: got %v", filepath.Base(p), err)
		}
		if after, _ := os.ReadFile(p); string(after) != string(before) {
			t.Errorf("%s was touched", filepath.Base(p))
		}
	}
}

// TestManyPhones has eight devices send overlapping batches at once, each batch twice.
func TestManyPhones(t *testing.T) {
	s := fresh(t)
	booktest.Seed(t, s)
	r := logbook.Ride{ID: "a", CombinationID: "c1", SheetID: "s1", SheetVersion: 1, Date: "2026-05-01", Kind: logbook.Training}
	if err := s.PutRide(ctx, r); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for d := range 8 {
		for range 2 {
			wg.Go(func() {
				var batch []logbook.Note
				for i := range 20 {
					batch = append(batch, logbook.Note{ID: fmt.Sprintf("%d-%d", d, i), RideID: "a", Device: fmt.Sprint(d), Seq: int64(i + 1), Kind: logbook.NoteNow})
					if _, err := s.AddNotes(ctx, batch[max(0, i-3):]); err != nil {
						t.Error(err)
						return
					}
				}
			})
		}
	}
	wg.Wait()
	notes, err := s.Notes(ctx, "a")
	if err != nil || len(notes) != 160 {
		t.Errorf("%d notes, want 160 (%v)", len(notes), err)
	}
}

func TestCopyAndCheck(t *testing.T) {
	s := fresh(t)
	booktest.Seed(t, s)
	to := filepath.Join(t.TempDir(), "copy.db")
	if err := s.CopyTo(ctx, to); err != nil {
		t.Fatal(err)
	}
	if logbook.CodeOf(s.CopyTo(ctx, to)) != logbook.Conflict {
		t.Error("a copy was written over a file")
	}
	c := open(t, to)
	if _, err := c.Sheet(ctx, "s1"); err != nil {
		t.Error(err)
	}
	if found, err := c.Check(ctx); err != nil || len(found) > 0 {
		t.Errorf("healthy copy: %v %v", found, err)
	}
	if _, err := c.db.Exec("PRAGMA foreign_keys = 0; DELETE FROM horse"); err != nil {
		t.Fatal(err)
	}
	if found, err := c.Check(ctx); err != nil || len(found) != 1 || !strings.Contains(found[0], "combination") {
		t.Errorf("dangling combination: %v %v", found, err)
	}
}

func TestLockedStoreSaysSo(t *testing.T) {
	s := fresh(t)
	booktest.Seed(t, s)
	other, err := sql.Open("sqlite", settings(s.path, false))
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	tx, err := other.Begin()
	if err != nil {
		t.Fatal(err)
	}
	conn, err := s.db.Conn(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout = 0"); err != nil {
		t.Fatal(err)
	}
	_, err = conn.ExecContext(ctx, "DELETE FROM yard")
	if e := trouble(err); logbook.CodeOf(e) != logbook.Busy || !strings.Contains(logbook.MessageOf(e), "another program") {
		t.Errorf("got %v", e)
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	if err := s.PutYard(ctx, logbook.Yard{ID: "y2"}); err != nil {
		t.Errorf("work does not go on: %v", err)
	}
}

func TestAccess(t *testing.T) {
	now := time.Date(2026, 5, 31, 12, 0, 0, 0, time.UTC)
	a := fresh(t).Access(func() time.Time { return now })
	put := access.Account{ID: "a1", Name: "Änne", Role: access.Trainer, Made: now}
	ok(t, a.PutAccount(ctx, put))
	got, err := a.AccountNamed(ctx, "ÄNNE")
	if err != nil || got != put {
		t.Errorf("got %+v, %v", got, err)
	}
	if err := a.PutAccount(ctx, access.Account{ID: "a2", Name: "änne"}); logbook.CodeOf(err) != logbook.Conflict {
		t.Errorf("second account of a name: %v", err)
	}
	ok(t, a.PutDevice(ctx, access.Device{ID: "d1", Account: "a1", Name: "phone", Paired: now, Seen: now}))
	ok(t, a.SawDevice(ctx, "d1", now.Add(time.Hour)))
	ok(t, a.PutOutDevice(ctx, "d1", now.Add(2*time.Hour)))
	d, err := a.Device(ctx, "d1")
	if err != nil || d.In() || !d.Seen.Equal(now.Add(time.Hour)) {
		t.Errorf("device %+v, %v", d, err)
	}
	for what, err := range map[string]error{"saw": a.SawDevice(ctx, "x", now), "put out": a.PutOutDevice(ctx, "x", now), "account": a.RemoveAccount(ctx, "x")} {
		if !errors.Is(err, access.ErrNotFound) {
			t.Errorf("%s: got %v", what, err)
		}
	}
	ok(t, a.PutLink(ctx, access.Link{ID: "l1", Hash: "h", RideID: "r", Made: now, Expires: now.Add(time.Hour)}))
	if l, err := a.LinkByHash(ctx, "h"); err != nil || l.ID != "l1" {
		t.Errorf("link %+v, %v", l, err)
	}
	ok(t, a.RemoveLink(ctx, "l1"))
	if _, err := a.Link(ctx, "l1"); !errors.Is(err, access.ErrNotFound) {
		t.Errorf("withdrawn link: %v", err)
	}
}

func TestCodeIsTakenOnce(t *testing.T) {
	now := time.Date(2026, 5, 31, 12, 0, 0, 0, time.UTC)
	a := fresh(t).Access(func() time.Time { return now })
	ok(t, a.PutAccount(ctx, access.Account{ID: "a1", Name: "n"}))
	ok(t, a.PutCode(ctx, access.Code{Hash: "late", Account: "a1", Made: now, Expires: now}))
	ok(t, a.PutCode(ctx, access.Code{Hash: "good", Account: "a1", Made: now, Expires: now.Add(time.Minute)}))
	if _, err := a.TakeCode(ctx, "late", now); !errors.Is(err, access.ErrNotFound) {
		t.Errorf("expired code: %v", err)
	}
	var mu sync.Mutex
	won := 0
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if _, err := a.TakeCode(ctx, "good", now); err == nil {
				mu.Lock()
				won++
				mu.Unlock()
			} else if !errors.Is(err, access.ErrNotFound) {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if won != 1 {
		t.Errorf("%d took the code", won)
	}
}

func TestSessionsEnd(t *testing.T) {
	now := time.Date(2026, 5, 31, 12, 0, 0, 0, time.UTC)
	a := fresh(t).Access(func() time.Time { return now })
	ok(t, a.Commit("t", []byte("data"), now.Add(time.Hour)))
	if data, found, err := a.Find("t"); err != nil || !found || string(data) != "data" {
		t.Errorf("got %q %v %v", data, found, err)
	}
	now = now.Add(time.Hour)
	if _, found, err := a.Find("t"); err != nil || found {
		t.Errorf("ended session: %v %v", found, err)
	}
	ok(t, a.Delete("t"))
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// TestRemovedIsOverwritten: what was removed for good is in none of the store's files, neither
// beside the running store nor after it was closed.
func TestRemovedIsOverwritten(t *testing.T) {
	s := fresh(t)
	booktest.Seed(t, s)
	const secret = "limps after the second fence"
	ok(t, s.PutRider(ctx, logbook.Rider{ID: "gone", Name: "Ottoline", Remark: secret}))
	if !inFiles(t, s.path, secret) {
		t.Fatal("the remark was never in the files: this test shows nothing")
	}
	ok(t, s.Atomically(ctx, func(in logbook.Store) error { return in.RemoveRider(ctx, "gone") }))
	if inFiles(t, s.path, secret) {
		t.Error("what was removed is still in the store's files")
	}
	ok(t, s.Close())
	if inFiles(t, s.path, secret) {
		t.Error("what was removed is still in the closed store's file")
	}
}

// inFiles looks for text in the database file and those beside it.
func inFiles(t *testing.T, path, text string) bool {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
	ok(t, err)
	found := false
	for _, n := range names {
		b, err := os.ReadFile(n)
		ok(t, err)
		found = found || strings.Contains(string(b), text)
	}
	return found
}

// TestRiderTakesOwnWayIn: with a rider goes the rider's account with its devices; that of a trainer
// who also rides stays.
func TestRiderTakesOwnWayIn(t *testing.T) {
	s := fresh(t)
	booktest.Seed(t, s)
	a := s.Access(time.Now)
	ok(t, a.PutAccount(ctx, access.Account{ID: "a1", Name: "own", Role: access.Rider, RiderID: "r1"}))
	ok(t, a.PutDevice(ctx, access.Device{ID: "d1", Account: "a1", Name: "phone"}))
	ok(t, a.PutAccount(ctx, access.Account{ID: "a2", Name: "tess", Role: access.Trainer, RiderID: "r1"}))
	ok(t, s.RemoveRider(ctx, "r1"))
	accounts, err := a.Accounts(ctx)
	devices, err2 := a.Devices(ctx)
	if err != nil || err2 != nil || len(accounts) != 1 || accounts[0].ID != "a2" || len(devices) != 0 {
		t.Errorf("left: %v, %v (%v, %v)", accounts, devices, err, err2)
	}
}

// TestFullStoreSaysSo: SQLite's own "full" (here by its limit on pages, which any user can set)
// comes out as a full disk, nothing half is there, and work goes on when there is room.
func TestFullStoreSaysSo(t *testing.T) {
	s := fresh(t)
	booktest.Seed(t, s)
	s.db.SetMaxOpenConns(1) // the limit belongs to a connection
	limit := func(pages string) {
		t.Helper()
		_, err := s.db.Exec("PRAGMA max_page_count = " + pages)
		ok(t, err)
	}
	var pages string
	ok(t, s.db.QueryRow("PRAGMA page_count").Scan(&pages))
	limit(pages)
	long := strings.Repeat("words ", 20000)
	err := s.Atomically(ctx, func(in logbook.Store) error {
		if err := in.PutYard(ctx, logbook.Yard{ID: "half", Name: "half"}); err != nil {
			return err
		}
		return in.PutRider(ctx, logbook.Rider{ID: "long", Name: "Long", Remark: long})
	})
	if logbook.CodeOf(err) != logbook.Busy || !strings.Contains(logbook.MessageOf(err), "full") {
		t.Errorf("got %v", err)
	}
	yards, err := s.Yards(ctx)
	ok(t, err)
	for _, y := range yards {
		if y.ID == "half" {
			t.Error("half a change is there")
		}
	}
	limit("1000000")
	ok(t, s.PutRider(ctx, logbook.Rider{ID: "long", Name: "Long", Remark: long}))
}
