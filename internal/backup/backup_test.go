package backup

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"ringcraft/internal/logbook"
)

var day = time.Date(2026, 5, 2, 18, 30, 0, 0, time.UTC)

// folder is recordings in a folder, for tests.
type folder struct{ dir string }

func (f folder) Put(_ context.Context, r io.Reader, limit int64) (logbook.Blob, error) {
	b, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err != nil {
		return logbook.Blob{}, err
	}
	if int64(len(b)) > limit {
		return logbook.Blob{}, logbook.Errorf(logbook.TooLarge, "too large")
	}
	sum := sha256.Sum256(b)
	name := hex.EncodeToString(sum[:])
	os.MkdirAll(f.dir, 0o700)
	return logbook.Blob{SHA256: name, Size: int64(len(b))}, os.WriteFile(filepath.Join(f.dir, name), b, 0o600)
}

func (f folder) Open(_ context.Context, sum string) (io.ReadSeekCloser, error) {
	b, err := os.ReadFile(filepath.Join(f.dir, sum))
	if err != nil {
		return nil, logbook.Errorf(logbook.NotFound, "there is no such recording")
	}
	if got := sha256.Sum256(b); hex.EncodeToString(got[:]) != sum {
		return nil, logbook.Errorf(logbook.Damaged, "its bytes are not what was stored")
	}
	return struct {
		io.ReadSeeker
		io.Closer
	}{bytes.NewReader(b), io.NopCloser(nil)}, nil
}

func (f folder) Read(ctx context.Context, sum string, limit int64) ([]byte, error) {
	r, err := f.Open(ctx, sum)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(io.LimitReader(r, limit))
}

func (f folder) Remove(_ context.Context, sum string) error {
	return os.Remove(filepath.Join(f.dir, sum))
}

func (f folder) Each(_ context.Context, do func(logbook.Blob) error) error {
	es, _ := os.ReadDir(f.dir)
	for _, e := range es {
		st, _ := e.Info()
		if err := do(logbook.Blob{SHA256: e.Name(), Size: st.Size()}); err != nil {
			return err
		}
	}
	return nil
}

// yard is a store with one ride and two recordings, and how it is backed up and restored.
type yard struct {
	dir   string
	rec   folder
	store *logbook.Memory
	src   Source
	place Place
	track string // SHA-256 of the track
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func newYard(t testing.TB) *yard {
	t.Helper()
	ctx := context.Background()
	y := &yard{dir: filepath.Join(t.TempDir(), "store"), store: logbook.NewMemory()}
	must(t, os.MkdirAll(y.dir, 0o700))
	y.rec = folder{filepath.Join(y.dir, "recordings")}
	track, err := y.rec.Put(ctx, strings.NewReader("t_s,x_m,y_m\n0,0,0\n1,0,2\n"), 1<<20)
	must(t, err)
	audio, err := y.rec.Put(ctx, bytes.NewReader(bytes.Repeat([]byte("sound"), 3000)), 1<<20)
	must(t, err)
	y.track = track.SHA256
	must(t, y.store.PutRider(ctx, logbook.Rider{ID: "r1", Name: "<script>Ada"}))
	must(t, y.store.PutRider(ctx, logbook.Rider{ID: "r2", Name: "Ben"}))
	must(t, y.store.PutHorse(ctx, logbook.Horse{ID: "h1", Name: "=Bess"}))
	must(t, y.store.PutCombination(ctx, logbook.Combination{ID: "c1", RiderID: "r1", HorseID: "h1"}))
	must(t, y.store.PutCombination(ctx, logbook.Combination{ID: "c2", RiderID: "r2", HorseID: "h1"}))
	must(t, y.store.PutSheet(ctx, logbook.Sheet{ID: "s1", Name: "Willow", Version: 1, Text: "name: Willow\n1 A Enter\n"}))
	must(t, y.store.PutRide(ctx, logbook.Ride{ID: "ride1", CombinationID: "c1", SheetID: "s1", SheetVersion: 1, Date: "2026-05-02", Kind: logbook.Training,
		Files: []logbook.File{{Role: logbook.RoleTrack, Seq: 1, Blob: track.SHA256, Name: "../../evil.csv", Size: track.Size},
			{Role: logbook.RoleAudio, Seq: 1, Blob: audio.SHA256, Name: "a.webm", Size: audio.Size}}}))
	must(t, y.store.PutRide(ctx, logbook.Ride{ID: "ride2", CombinationID: "c2", SheetID: "s1", SheetVersion: 1, Date: "2026-05-02", Kind: logbook.Training}))
	_, err = y.store.AddNotes(ctx, []logbook.Note{
		{ID: "n1", RideID: "ride1", Device: "d", Seq: 1, Kind: logbook.NoteMark, Movement: 1, Mark: "6.5", Judge: "C", AtS: 4.25},
		{ID: "n2", RideID: "ride1", Device: "d", Seq: 2, Kind: logbook.NoteRemark, Movement: 1, Text: "late <b> --> & crooked", AtS: 2},
		{ID: "n3", RideID: "ride1", Device: "d", Seq: 3, Kind: logbook.NoteMark, Movement: 2, Mark: "1.0", AtS: 9},
		{ID: "n4", RideID: "ride1", Device: "d", Seq: 4, Kind: logbook.NoteUndo, Undoes: "n3", AtS: 10}})
	must(t, err)
	y.src = Source{Recordings: y.rec, Program: "test", Schema: 2, PhoneName: "ringcraft-abcd.local",
		Snapshot: func(_ context.Context, path string) error {
			return os.WriteFile(path, []byte("SQLite format 3 stand-in"), 0o600)
		}}
	y.place = Place{Database: "book.sqlite", Carry: []string{"certs"},
		Recordings: func(dir string) (logbook.Recordings, error) { return folder{filepath.Join(dir, "recordings")}, nil },
		Open: func(_ context.Context, dir string) (*Opened, error) {
			return &Opened{Store: y.store, Recordings: folder{filepath.Join(dir, "recordings")}, Close: func() error { return nil }}, nil
		}}
	return y
}

// tree is all files below a folder with their content.
func tree(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	filepath.WalkDir(dir, func(p string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() && e.Name() != holdName {
			b, _ := os.ReadFile(p)
			rel, _ := filepath.Rel(dir, p)
			out[filepath.ToSlash(rel)] = string(b)
		}
		return nil
	})
	return out
}

func (y *yard) backup(t testing.TB) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "book.tar")
	if _, err := Write(context.Background(), out, y.src, day, nil); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestBackupAndRestore(t *testing.T) {
	y := newYard(t)
	file := y.backup(t)
	must(t, os.MkdirAll(filepath.Join(y.dir, "certs"), 0o700))
	must(t, os.WriteFile(filepath.Join(y.dir, "certs", "authority-key.pem"), []byte("key"), 0o600))
	must(t, os.WriteFile(filepath.Join(y.dir, "book.sqlite"), []byte("what was there"), 0o600))
	before := tree(t, y.dir)
	got, err := Restore(context.Background(), file, y.dir, y.place, day)
	if err != nil {
		t.Fatal(err)
	}
	want := maps.Clone(before)
	want["book.sqlite"] = "SQLite format 3 stand-in"
	if d := cmp.Diff(want, tree(t, y.dir)); d != "" {
		t.Errorf("restored store (-want +got):\n%s", d)
	}
	if d := cmp.Diff(before, tree(t, got.Kept)); d != "" {
		t.Errorf("what was there was not kept:\n%s", d)
	}
	if got.Manifest.PhoneName != "ringcraft-abcd.local" || got.Manifest.Schema != 2 {
		t.Errorf("manifest %+v", got.Manifest)
	}
	st, _ := os.Stat(filepath.Join(y.dir, "certs", "authority-key.pem"))
	if st.Mode().Perm() != 0o600 {
		t.Errorf("a private key was carried over with mode %v", st.Mode())
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(y.dir), ".*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	again, err := Restore(context.Background(), file, y.dir, y.place, day)
	if err != nil || again.Kept == got.Kept {
		t.Errorf("second restore in the same second: %v %+v", err, again)
	}
}

// The archive is read back with tar and sha256sum: no Ringcraft needed.
func TestBackupReadsWithoutRingcraft(t *testing.T) {
	for _, p := range []string{"tar", "sha256sum"} {
		if _, err := exec.LookPath(p); err != nil {
			t.Skip(p + " is not installed")
		}
	}
	y := newYard(t)
	dir := t.TempDir()
	if out, err := exec.Command("tar", "-xf", y.backup(t), "-C", dir).CombinedOutput(); err != nil {
		t.Fatalf("tar: %v %s", err, out)
	}
	c := exec.Command("sha256sum", "--strict", "-c", "SHA256SUMS")
	c.Dir = dir
	if out, err := c.CombinedOutput(); err != nil || strings.Count(string(out), ": OK") != 3 {
		t.Errorf("sha256sum: %v\n%s", err, out)
	}
	if b, _ := os.ReadFile(filepath.Join(dir, "manifest.json")); !bytes.Contains(b, []byte("This is a tar archive")) {
		t.Error("the manifest does not explain itself")
	}
}

// Every cut and every flipped byte is either refused or harmless: a restore then gives the same files.
func TestCutAndAlteredBackupsAreRefused(t *testing.T) {
	y := newYard(t)
	whole, err := os.ReadFile(y.backup(t))
	must(t, err)
	dir := t.TempDir()
	verify := func(b []byte) (map[string]string, error) {
		f := filepath.Join(dir, "x.tar")
		must(t, os.WriteFile(f, b, 0o600))
		got := map[string]string{}
		_, err := Verify(context.Background(), f, func(it Item, r io.Reader) error {
			b, err := io.ReadAll(r)
			got[it.Path] = string(b)
			return err
		})
		return got, err
	}
	want, err := verify(whole)
	must(t, err)
	end := bytes.LastIndexByte(whole, '\n') + 1 // what follows is padding, all zero
	for n := 0; n < end; n += 97 {
		if _, err := verify(whole[:n]); logbook.CodeOf(err) != logbook.Damaged {
			t.Fatalf("cut to %d of %d bytes: %v", n, len(whole), err)
		}
	}
	harmless := 0
	for i := 0; i < len(whole); i += 31 {
		b := bytes.Clone(whole)
		b[i] ^= 0x41
		got, err := verify(b)
		if err == nil {
			harmless++
			if d := cmp.Diff(want, got); d != "" {
				t.Fatalf("byte %d altered, accepted, and different", i)
			}
		}
	}
	t.Logf("%d of %d single altered bytes were harmless (padding)", harmless, len(whole)/31)
	if _, err := verify(append(bytes.Clone(whole), "more"...)); err == nil {
		t.Error("something after the end was accepted")
	}
}

func TestForeignAndHostileBackupsAreRefused(t *testing.T) {
	type entry struct {
		name, text string
		kind       byte
	}
	good := func(path, text string) Item {
		s := sha256.Sum256([]byte(text))
		return Item{Path: path, Size: int64(len(text)), SHA256: hex.EncodeToString(s[:])}
	}
	db := good(databaseName, "db")
	climb := good("../../etc/passwd", "x")
	under := good("recordings/../book.sqlite", "x")
	build := func(m Manifest, entries ...entry) []byte {
		var b bytes.Buffer
		w := tar.NewWriter(&b)
		text, _ := m.encode()
		all := append([]entry{{manifestName, string(text), 0}, {sumsName, string(m.sums()), 0}}, entries...)
		sum := sha256.Sum256(text)
		all = append(all, entry{endName, hex.EncodeToString(sum[:]) + "\n", 0})
		for _, e := range all {
			h := &tar.Header{Name: e.name, Size: int64(len(e.text)), Mode: 0o600, Typeflag: tar.TypeReg}
			if e.kind != 0 {
				h.Typeflag, h.Linkname, h.Size = e.kind, "/etc/passwd", 0
			}
			w.WriteHeader(h)
			if e.kind == 0 {
				io.WriteString(w, e.text)
			}
		}
		w.Close()
		return b.Bytes()
	}
	ours := func(files ...Item) Manifest { return Manifest{Format: formatName, Version: 1, Files: files} }
	y := newYard(t)
	before := tree(t, y.dir)
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"not an archive":    {[]byte("hello"), "refused"},
		"empty":             {nil, "cut"},
		"foreign archive":   {build(Manifest{Format: "other", Files: []Item{db}}, entry{databaseName, "db", 0}), "not made by Ringcraft"},
		"newer format":      {build(Manifest{Format: formatName, Version: 9, Files: []Item{db}}, entry{databaseName, "db", 0}), "newer Ringcraft"},
		"path that climbs":  {build(ours(db, climb), entry{databaseName, "db", 0}, entry{climb.Path, "x", 0}), "no backup of ours"},
		"path below":        {build(ours(db, under), entry{databaseName, "db", 0}, entry{under.Path, "x", 0}), "no backup of ours"},
		"unlisted entry":    {build(ours(db), entry{databaseName, "db", 0}, entry{"recordings/x", "x", 0}), "end does not belong"},
		"link for database": {build(ours(db), entry{databaseName, "", tar.TypeSymlink}), "not a plain file"},
		"no database":       {build(ours()), "no database"},
		"listed twice":      {build(ours(db, db), entry{databaseName, "db", 0}, entry{databaseName, "db", 0}), "listed twice"},
		"wrong size":        {build(ours(db), entry{databaseName, "dbx", 0}), "should"},
		"missing beside":    {build(ours(db, Item{Path: recordingsDir + db.SHA256, SHA256: db.SHA256, Size: 2, Beside: true}), entry{databaseName, "db", 0}), "needs that folder"},
		"negative size":     {build(ours(Item{Path: databaseName, Size: -1, SHA256: db.SHA256})), "not well formed"},
		"other bytes":       {build(ours(db), entry{databaseName, "DB", 0}), "altered"},
		"manifest deep":     {build(ours(db))[:700], "refused"},
	} {
		f := filepath.Join(t.TempDir(), "x.tar")
		must(t, os.WriteFile(f, c.file, 0o600))
		_, err := Restore(context.Background(), f, y.dir, y.place, day)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		if d := cmp.Diff(before, tree(t, y.dir)); d != "" {
			t.Fatalf("%s: the store was touched:\n%s", name, d)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(y.dir), ".store-restoring-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// A backup whose records name a recording that it does not hold, and does not say so, is refused.
func TestRestoreProvesReferences(t *testing.T) {
	y := newYard(t)
	must(t, y.rec.Remove(context.Background(), y.track))
	file := y.backup(t)
	_, err := Restore(context.Background(), file, filepath.Join(t.TempDir(), "new"), y.place, day)
	if err == nil || !strings.Contains(err.Error(), "is missing") {
		t.Errorf("%v", err)
	}
}

// A damaged recording does not keep all else from being saved; it is named, and restore tells.
func TestDamagedRecordingIsNamed(t *testing.T) {
	y := newYard(t)
	must(t, os.WriteFile(filepath.Join(y.rec.dir, y.track), []byte("other"), 0o600))
	file := filepath.Join(t.TempDir(), "b.tar")
	m, err := Write(context.Background(), file, y.src, day, nil)
	must(t, err)
	if len(m.Absent) != 1 || m.Absent[0].SHA256 != y.track || len(m.Files) != 2 {
		t.Errorf("%+v", m)
	}
	got, err := Restore(context.Background(), file, filepath.Join(t.TempDir(), "new"), y.place, day)
	must(t, err)
	if len(got.Findings) != 1 || got.Findings[0].SHA256 != y.track {
		t.Errorf("%+v", got.Findings)
	}
}

func TestRestoreRefusesWhileServing(t *testing.T) {
	y := newYard(t)
	release, err := Hold(y.dir)
	must(t, err)
	file := y.backup(t)
	if _, err := Restore(context.Background(), file, y.dir, y.place, day); logbook.CodeOf(err) != logbook.Busy {
		t.Errorf("restored under a running server: %v", err)
	}
	if _, err := Hold(y.dir); logbook.CodeOf(err) != logbook.Busy {
		t.Errorf("served twice: %v", err)
	}
	must(t, release())
	if _, err := Restore(context.Background(), file, y.dir, y.place, day); err != nil {
		t.Error(err)
	}
}

func TestBackupNeverOverwritesAndLeavesNoPart(t *testing.T) {
	y := newYard(t)
	dir := t.TempDir()
	out := filepath.Join(dir, "b.tar")
	must(t, os.WriteFile(out, []byte("mine"), 0o600))
	if _, err := Write(context.Background(), out, y.src, day, nil); logbook.CodeOf(err) != logbook.Conflict {
		t.Errorf("%v", err)
	}
	y.src.Snapshot = func(context.Context, string) error { return syscall.ENOSPC }
	if _, err := Write(context.Background(), filepath.Join(dir, "c.tar"), y.src, day, nil); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("%v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	y = newYard(t)
	if _, err := Write(ctx, filepath.Join(dir, "d.tar"), y.src, day, func(int64, int64) { cancel() }); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if d := cmp.Diff(map[string]string{"b.tar": "mine"}, tree(t, dir)); d != "" {
		t.Error(d)
	}
}

func TestCheckSaysWhatIsWrong(t *testing.T) {
	y := newYard(t)
	ctx := context.Background()
	found, err := Check(ctx, y.store, y.rec, nil)
	if err != nil || len(found) != 0 {
		t.Fatalf("a whole store: %v %v", found, err)
	}
	y.rec.Put(ctx, strings.NewReader("left over"), 100)
	must(t, os.WriteFile(filepath.Join(y.rec.dir, y.track), []byte("other"), 0o600))
	_, err = y.store.AddNotes(ctx, []logbook.Note{{ID: "n9", RideID: "ride1", Device: "d", Seq: 9, Kind: logbook.NoteNow}})
	must(t, err)
	must(t, y.store.PutRider(ctx, logbook.Rider{ID: "r3", Name: "Cleo", Minor: true}))
	must(t, y.store.PutConsent(ctx, logbook.Consent{ID: "k", RiderID: "r3", What: "voice", GivenBy: "Cleo", Given: day}))
	found, err = Check(ctx, y.store, y.rec, nil)
	must(t, err)
	var text bytes.Buffer
	Tell(&text, found)
	for _, want := range []string{"error: the track", "is damaged: its bytes are not what was stored", "the ride of 2026-05-02 (<script>Ada on =Bess)",
		"notes 5 to 8 of device d", "belongs to no ride", "was not given by a guardian"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("lacks %q:\n%s", want, text.String())
		}
	}
	if Count(found) != 2 {
		t.Errorf("%d errors", Count(found))
	}
	found, err = Check(ctx, y.store, y.rec, func(context.Context) ([]string, error) { return []string{"page 7 is never used"}, nil })
	if err != nil || len(found) != 1 || !strings.Contains(found[0].Message, "page 7") {
		t.Errorf("%v %v", found, err)
	}
}

// TestDailyTidiesUp: what a backup left that was cut off by a kill goes at the next one.
func TestDailyTidiesUp(t *testing.T) {
	y := newYard(t)
	d := Daily{Dir: filepath.Join(y.dir, "backups"), Days: 5, Source: y.src, Now: func() time.Time { return day }, Log: slog.New(slog.DiscardHandler)}
	left := []string{filepath.Join(d.Dir, ".backup-123", "part"), filepath.Join(d.Dir, "recordings", ".part-1")}
	mine := filepath.Join(d.Dir, "my own copy.tar")
	for _, p := range append(left, mine) {
		must(t, os.MkdirAll(filepath.Dir(p), 0o700))
		must(t, os.WriteFile(p, []byte("half"), 0o600))
	}
	must(t, d.Once(context.Background()))
	for _, p := range left {
		if _, err := os.Stat(p); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s is still there (%v)", filepath.Base(p), err)
		}
	}
	if _, err := os.Stat(mine); err != nil {
		t.Error("a file of the user's was taken for one that was cut off")
	}
}

func TestDailyKeepsAndPrunes(t *testing.T) {
	y := newYard(t)
	now := day
	var log bytes.Buffer
	linked := 0
	y.src.Link = func(_ context.Context, sum, path string) error {
		linked++
		return os.Link(filepath.Join(y.rec.dir, sum), path)
	}
	d := Daily{Dir: filepath.Join(y.dir, "backups"), Days: 5, Source: y.src, Now: func() time.Time { return now }, Log: slog.New(slog.NewTextHandler(&log, nil))}
	for i := range 8 {
		now = day.AddDate(0, 0, i)
		must(t, d.Once(context.Background()))
		must(t, d.Once(context.Background())) // the second time there is nothing to do
		if i == 1 {                           // a recording goes; backups that hold it still restore
			must(t, y.rec.Remove(context.Background(), y.track))
		}
	}
	files, _ := filepath.Glob(filepath.Join(d.Dir, "daily-*.tar"))
	if len(files) != 5 || !strings.Contains(files[0], "2026-05-05") {
		t.Errorf("kept %v", files)
	}
	if linked != 2 {
		t.Errorf("%d links made, want one for each recording", linked)
	}
	if _, err := os.Stat(filepath.Join(d.Dir, "recordings", y.track)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a recording that no kept backup names stayed: %v", err)
	}
	if _, err := Verify(context.Background(), files[4], nil); err != nil {
		t.Error(err)
	}
}

func TestDailyRestoresWhatWasRemoved(t *testing.T) {
	y := newYard(t)
	d := Daily{Dir: filepath.Join(t.TempDir(), "backups"), Days: 5, Source: y.src, Now: func() time.Time { return day }, Log: slog.New(slog.DiscardHandler)}
	must(t, d.Once(context.Background()))
	must(t, y.rec.Remove(context.Background(), y.track))
	dir := filepath.Join(t.TempDir(), "new")
	if _, err := Restore(context.Background(), filepath.Join(d.Dir, "daily-2026-05-02.tar"), dir, y.place, day); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "recordings", y.track)); err != nil {
		t.Error(err)
	}
}

func TestKeepReasons(t *testing.T) {
	var files []string
	for i := range 10 {
		files = append(files, "daily-"+day.AddDate(0, 0, -i).Format(time.DateOnly)+".tar")
	}
	files = append(files, "my-own.tar")
	kept := func(days int, today time.Time) (n int) {
		for _, k := range Keep(files, days, today) {
			if k.Reason == "" {
				t.Error("no reason")
			}
			if k.Keep {
				n++
			}
		}
		return n
	}
	for _, c := range []struct {
		days, after, want int
	}{{7, 0, 8}, {7, 365, 4}, {100, 0, 11}, {0, 0, 4}, {7, -30, 11}} { // own file always; newest three always; clock back keeps all
		if got := kept(c.days, day.AddDate(0, 0, c.after)); got != c.want {
			t.Errorf("%d days, %d days on: %d kept, want %d", c.days, c.after, got, c.want)
		}
	}
	if got := Keep(files, 7, day); got[len(got)-1].Keep || !slices.ContainsFunc(got, func(k Kept) bool { return k.File == "my-own.tar" && k.Keep }) {
		t.Errorf("%+v", got)
	}
}

func FuzzVerify(f *testing.F) {
	y := newYard(f)
	whole, err := os.ReadFile(y.backup(f))
	must(f, err)
	f.Add(whole)
	f.Add(whole[:2000])
	f.Add([]byte("manifest.json"))
	dir := f.TempDir()
	n := 0
	f.Fuzz(func(t *testing.T, b []byte) {
		n++
		name := filepath.Join(dir, fmt.Sprint(n%4))
		if err := os.WriteFile(name, b, 0o600); err != nil {
			t.Skip(err)
		}
		if _, err := Verify(context.Background(), name, nil); err != nil && !strings.Contains(err.Error(), "backup") {
			t.Fatal(err)
		}
	})
}
