package main

import (
	"archive/zip"
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/backup"
	"ringcraft/internal/logbook"
	"ringcraft/internal/testkit"
)

// notTaken names the columns that an export leaves out, with the reason. Whatever is neither here
// nor in an export fails TestExportHoldsEveryColumn: a column that is added later too.
var notTaken = map[string]string{
	"computed.*":       "derived: computed anew from what is exported",
	"job.*":            "state of background work",
	"code.*":           "secret: the hash of a pairing code that lives ten minutes",
	"session.*":        "secret: a browser's session",
	"account.folded":   "derived: the name in lower case",
	"account.password": "secret: the export says only that there is one",
	"link.hash":        "secret: the hash of what opens the link",
}

// listOf names the list in records.json that holds a table's rows.
var listOf = map[string]string{
	"yard": "yards", "rider": "riders", "horse": "horses", "combination": "combinations", "sheet": "sheets", "ride": "rides",
	"note": "notes", "lesson": "lessons", "step": "steps", "appointment": "appointments", "consent": "consents",
	"exercise": "exercises", "account": "accounts", "device": "devices", "link": "links", "ride_file": "rides",
}

// filled makes a store with two rows in every table, one of A and one of B, and real recordings
// behind the files of their rides.
func filled(t *testing.T) (s *openStore, raw *sql.DB, a, b map[string]any) {
	t.Helper()
	ctx := context.Background()
	dir := t.TempDir()
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	if raw, err = sql.Open("sqlite", filepath.Join(dir, databaseFile)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { raw.Close() })
	fill := func(tag string, number int64) map[string]any {
		blob, err := s.rec.Put(ctx, strings.NewReader("recording of "+tag), 1<<20)
		if err != nil {
			t.Fatal(err)
		}
		ride := tag + ".ride.id"
		return testkit.Fill(t, raw, tag, number, map[string]any{
			"ride_file.blob": blob.SHA256, "ride_file.size": blob.Size, "link.ride_id": ride, "computed.subject": ride, "job.subject": ride,
			"account.rider_id": tag + ".rider.id", "account.role": "rider",
		})
	}
	return s, raw, fill("A", 1000), fill("B", 2000)
}

// exported runs an export and returns its files and records.json.
func exported(t *testing.T, s *openStore, rider string) (files map[string]string, records map[string][]map[string]any) {
	t.Helper()
	var out bytes.Buffer
	if warn, err := backup.Export(context.Background(), &out, s.db, s.rec, s.exportOptions(rider)); err != nil || len(warn) > 0 {
		t.Fatal(warn, err)
	}
	z, err := zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
	if err != nil {
		t.Fatal(err)
	}
	files = map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(text)
	}
	whole := map[string]json.RawMessage{}
	if err := json.Unmarshal([]byte(files["records.json"]), &whole); err != nil {
		t.Fatal(err)
	}
	records = map[string][]map[string]any{}
	for k, v := range whole {
		var list []map[string]any
		if json.Unmarshal(v, &list) == nil {
			records[k] = list
		}
	}
	return files, records
}

// TestExportHoldsEveryColumn walks the schema: the value of every column of every table is in the
// export, or the column is named above with the reason. The same for what is stored about A only,
// where nothing of B may be.
func TestExportHoldsEveryColumn(t *testing.T) {
	s, raw, a, b := filled(t)
	if err := os.WriteFile(filepath.Join(s.dir, settingsName), []byte(`{"backup_days": 3}`), 0o600); err != nil {
		t.Fatal(err)
	}
	files, all := exported(t, s, "")
	if files["settings.json"] != `{"backup_days": 3}` {
		t.Error("the settings are not in the export")
	}
	_, own := exported(t, s, "A.rider.id")
	checked := 0
	for _, c := range testkit.Columns(t, raw) {
		key := c.Table + "." + c.Name
		if notTaken[key] != "" || notTaken[c.Table+".*"] != "" {
			continue
		}
		checked++
		for name, tag := range map[string]map[string]any{"A": a, "B": b} {
			if !holds(all, c, tag) {
				t.Errorf("%s of %s (%v) is not in the export", key, name, tag[key])
			}
		}
		if c.Table != "exercise" && !holds(own, c, a) {
			t.Errorf("%s of A is not in what is stored about A", key)
		}
	}
	if checked < 95 {
		t.Errorf("only %d columns were compared", checked)
	}
	mine, _ := exported(t, s, "A.rider.id")
	for name, text := range mine {
		if strings.Contains(text, "B.") || strings.Contains(text, "recording of B") {
			t.Errorf("%s tells of somebody else", name)
		}
	}
	t.Logf("%d columns compared", checked)
}

// holds reports whether a column's value stands in the list of its table, under the column's name.
func holds(records map[string][]map[string]any, c testkit.Column, row map[string]any) bool {
	for _, r := range records[listOf[c.Table]] {
		if c.Table == "ride_file" {
			if c.Name == "ride_id" {
				if same(r["id"], row["ride_file.ride_id"]) {
					return true
				}
				continue
			}
			files, _ := r["files"].([]any)
			for _, f := range files {
				if m, ok := f.(map[string]any); ok && same(m[c.Name], row["ride_file."+c.Name]) {
					return true
				}
			}
			continue
		}
		if same(r[c.Name], row[c.Table+"."+c.Name]) {
			return true
		}
	}
	return false
}

// same compares a value of JSON with one of the database: numbers as numbers, any number but 0 as
// true, instants as instants.
func same(got, want any) bool {
	switch g := got.(type) {
	case nil:
		return false
	case bool:
		n, ok := want.(int64)
		return ok && g == (n != 0)
	case float64:
		return fmt.Sprint(g) == fmt.Sprint(want) || g == asFloat(want)
	case string:
		if g == fmt.Sprint(want) {
			return true
		}
		t1, err1 := time.Parse(time.RFC3339Nano, g)
		t2, err2 := time.Parse(time.RFC3339Nano, fmt.Sprint(want))
		return err1 == nil && err2 == nil && t1.Equal(t2)
	}
	return false
}

func asFloat(v any) float64 {
	switch n := v.(type) {
	case int64:
		return float64(n)
	case float64:
		return n
	}
	return -1
}

// staysBehind names what a removal leaves, with the reason; "table" or "table.column".
var staysBehind = map[string]map[string]string{
	"rider": {
		"yard": "a place", "sheet": "a sheet", "exercise": "the trainer's", "horse": "belongs to others too; removed by itself",
		"session": "holds a random id of a device that is gone", "appointment.sheet_id": "",
	},
	"horse": {
		"yard": "a place", "sheet": "a sheet", "exercise": "the trainer's", "rider": "a person; removed by themselves",
		"consent": "the rider's", "account": "the rider's", "device": "the rider's", "code": "the rider's", "session": "the rider's",
	},
}

// TestRemoveTakesEverything removes A's rider, then A's horse, with the real command, and walks the
// schema: no row of A is left in any table but those named above, no byte of them in the store's
// files, and B is whole.
func TestRemoveTakesEverything(t *testing.T) {
	for _, what := range []string{"rider", "horse"} {
		s, raw, a, _ := filled(t)
		before := rowsOf(t, raw, "B.")
		args := []string{"remove", "--data", s.dir, "--" + what, "a." + what + ".name"}
		if out, err := exec.Command("ringcraft", args...).CombinedOutput(); err == nil || !strings.Contains(string(out), "--yes") {
			t.Errorf("removed without a word: %v %s", err, out)
		}
		out, err := exec.Command("ringcraft", append(args, "--yes")...).CombinedOutput()
		if err != nil || !strings.Contains(string(out), "1 ride, 1 recording and") || !strings.Contains(string(out), backup.StillInBackups) {
			t.Fatalf("%s: %v %s", what, err, out)
		}
		for table, n := range rowsOf(t, raw, "A.") {
			if staysBehind[what][table] == "" && n > 0 {
				t.Errorf("%s removed: %d rows of table %s are left", what, n, table)
			}
		}
		if after := rowsOf(t, raw, "B."); fmt.Sprint(after) != fmt.Sprint(before) {
			t.Errorf("%s removed: of another are left %v, were %v", what, after, before)
		}
		if _, err := s.rec.Read(context.Background(), a["ride_file.blob"].(string), 1<<20); logbook.CodeOf(err) != logbook.NotFound {
			t.Errorf("%s removed: the recording: %v", what, err)
		}
		raw.Close()
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		file, err := os.ReadFile(filepath.Join(s.dir, databaseFile))
		if err != nil || bytes.Contains(file, []byte("A."+what+".remark")) || bytes.Contains(file, []byte("A.note.text")) {
			t.Errorf("%s removed: its words are still in the file (%v)", what, err)
		}
	}
}

// rowsOf counts the rows of each table that hold a text beginning with tag.
func rowsOf(t *testing.T, db *sql.DB, tag string) map[string]int {
	t.Helper()
	where := map[string][]string{}
	for _, c := range testkit.Columns(t, db) {
		if c.Type == "TEXT" || c.Type == "BLOB" {
			where[c.Table] = append(where[c.Table], fmt.Sprintf("CAST(%q AS TEXT) LIKE '%s%%'", c.Name, tag))
		}
	}
	out := map[string]int{}
	for table, cond := range where {
		var n int
		if err := db.QueryRow(fmt.Sprintf("SELECT count(*) FROM %q WHERE %s", table, strings.Join(cond, " OR "))).Scan(&n); err != nil {
			t.Fatal(err)
		}
		out[table] = n
	}
	return out
}
