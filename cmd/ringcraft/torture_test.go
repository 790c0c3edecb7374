package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptrace"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ringcraft/internal/backup"
	"ringcraft/internal/logbook"
)

const tortureSheet = "name: Willow Ford 2\narena: 20 x 40\n1  A  Enter in working trot\n   X  Halt, salute. Proceed in working trot\n2  C  Track left\n3  E  Circle left 20 m\n"

// fillStore makes a store with one ride being ridden, whose rider agreed to sound.
func fillStore(t testing.TB, dir string) {
	t.Helper()
	ctx := context.Background()
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	b := s.book(nil)
	now := time.Now()
	for _, err := range []error{
		b.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "Willow Ford 2", Version: 1, Text: tortureSheet, Saved: now}),
		b.PutRider(ctx, logbook.Rider{ID: "r", Name: "Ida"}),
		b.PutHorse(ctx, logbook.Horse{ID: "h", Name: "Tarn"}),
		b.PutCombination(ctx, logbook.Combination{ID: "c", RiderID: "r", HorseID: "h"}),
		b.PutRide(ctx, logbook.Ride{ID: "ride", CombinationID: "c", SheetID: "s", SheetVersion: 1, Date: "2026-06-01", Kind: logbook.Training, Opened: now, Made: now}),
		b.NoteConsent(ctx, logbook.Consent{RiderID: "r", What: logbook.ConsentVoice, GivenBy: "Ida"}),
		os.WriteFile(filepath.Join(dir, settingsName), []byte(`{"backup_days": 0}`), 0o600),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
}

// child is a real server process.
type child struct {
	cmd  *exec.Cmd
	url  string
	logs *watched
}

// serveChild starts the real command and waits until it serves; wait false returns at once.
func serveChild(t testing.TB, dir string, wait bool, more ...string) *child {
	t.Helper()
	return startChild(t, wait, nil, append([]string{"serve", "--data", dir, "--listen", "127.0.0.1:0", "--log", "json"}, more...)...)
}

// startChild runs the real command, with more environment.
func startChild(t testing.TB, wait bool, env []string, args ...string) *child {
	t.Helper()
	c := &child{cmd: exec.Command("ringcraft", args...), logs: newWatched()}
	c.cmd.Stderr = c.logs
	out, err := c.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	c.cmd.Env = append(os.Environ(), env...)
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.kill)
	if !wait {
		return c
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if url, ok := strings.CutPrefix(lines.Text(), "Ringcraft serves "); ok {
			c.url = url
			go io.Copy(io.Discard, out)
			return c
		}
	}
	c.cmd.Wait()
	t.Fatalf("the server did not start: %s", c.logs)
	return nil
}

// kill ends the process as a power button does; once it is gone it does nothing.
func (c *child) kill() {
	c.cmd.Process.Signal(syscall.SIGKILL)
	c.cmd.Wait()
}

// scribe is one phone: it knows what was acknowledged, and sends again what was not.
type scribe struct {
	device  string
	seq     int64
	acked   map[string]logbook.Note
	pending []logbook.Note
	sounds  map[int]string // acknowledged pieces
	rnd     *rand.Rand
}

func newScribe(i int, seed uint64) *scribe {
	return &scribe{device: fmt.Sprint("phone", i), acked: map[string]logbook.Note{}, rnd: rand.New(rand.NewPCG(seed, uint64(10+i)))}
}

func (s *scribe) batch() []logbook.Note {
	if s.pending == nil {
		for range 1 + s.rnd.IntN(4) {
			s.seq++
			s.pending = append(s.pending, logbook.Note{ID: fmt.Sprintf("%s-%d", s.device, s.seq), RideID: "ride", Device: s.device, Seq: s.seq,
				Kind: logbook.NoteMark, Movement: 1 + s.rnd.IntN(3), Mark: "6.5", AtS: float64(s.seq), Text: strings.Repeat("w", s.rnd.IntN(300))})
		}
	}
	return s.pending
}

// send posts batches until the server is gone; every step of every request is a moment.
func (s *scribe) send(ctx context.Context, url string, m *moments) {
	ctx = httptrace.WithClientTrace(ctx, &httptrace.ClientTrace{
		GotConn: func(httptrace.GotConnInfo) { m.pass() }, WroteHeaders: m.pass,
		WroteRequest: func(httptrace.WroteRequestInfo) { m.pass() }, GotFirstResponseByte: m.pass,
	})
	client := &http.Client{Transport: &http.Transport{}, Timeout: 10 * time.Second}
	defer client.CloseIdleConnections()
	for ctx.Err() == nil {
		if s.sounds != nil {
			if !s.sendSound(ctx, client, url, m) {
				return
			}
			continue
		}
		body, _ := json.Marshal(map[string]any{"notes": s.batch()})
		answer, ok := post(ctx, client, "POST", url+"/rides/ride/notes", "application/json", body)
		if !ok || m.over.Load() {
			return
		}
		var a struct{ Kept []string }
		if json.Unmarshal(answer, &a) != nil || len(a.Kept) != len(s.pending) {
			return
		}
		for _, n := range s.pending {
			s.acked[n.ID] = n
		}
		s.pending = nil
	}
}

func (s *scribe) sendSound(ctx context.Context, client *http.Client, url string, m *moments) bool {
	seq := len(s.sounds) + 1
	body := fmt.Sprintf("piece %d %s", seq, strings.Repeat(strconv.Itoa(seq), 2000))
	_, ok := post(ctx, client, "PUT", fmt.Sprintf("%s/rides/ride/sound/%d?at_s=%d", url, seq, seq*4), "audio/webm", []byte(body))
	ok = ok && !m.over.Load()
	if ok {
		s.sounds[seq] = body
	}
	return ok
}

func post(ctx context.Context, c *http.Client, method, url, media string, body []byte) ([]byte, bool) {
	r, err := http.NewRequestWithContext(ctx, method, url, bytes.NewReader(body))
	if err != nil {
		return nil, false
	}
	r.Header.Set("Content-Type", media)
	resp, err := c.Do(r)
	if err != nil {
		return nil, false
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	return b, err == nil && resp.StatusCode == http.StatusOK
}

// judge compares what is stored with what was acknowledged: every acknowledged note once and as
// sent, every batch under way wholly there or wholly not.
func judge(t *testing.T, round int, notes []logbook.Note, scribes []*scribe) {
	t.Helper()
	stored := map[string]logbook.Note{}
	for _, n := range notes {
		if _, twice := stored[n.ID]; twice {
			t.Fatalf("round %d: note %s is there twice", round, n.ID)
		}
		stored[n.ID] = n
	}
	for _, s := range scribes {
		for id, sent := range s.acked {
			got, ok := stored[id]
			if !ok {
				t.Fatalf("round %d: acknowledged note %s is lost", round, id)
			}
			if got.Text != sent.Text || got.Seq != sent.Seq || got.Mark != sent.Mark {
				t.Fatalf("round %d: note %s is not what was sent", round, id)
			}
		}
		there := 0
		for _, n := range s.pending {
			if _, ok := stored[n.ID]; ok {
				there++
			}
		}
		if there != 0 && there != len(s.pending) {
			t.Fatalf("round %d: %d of a batch of %d notes are there: half a change", round, there, len(s.pending))
		}
	}
}

func fetchNotes(t *testing.T, url string) []logbook.Note {
	t.Helper()
	b, ok := post(context.Background(), http.DefaultClient, "GET", url+"/rides/ride/notes", "", nil)
	var in struct{ Notes []logbook.Note }
	if !ok || json.Unmarshal(b, &in) != nil {
		t.Fatalf("notes cannot be read: %.200s", b)
	}
	return in.Notes
}

// TestTortureKill kills the real server at random instants under load, again and again.
// RINGCRAFT_KILLS sets how often; RINGCRAFT_SEED repeats a run.
func TestTortureKill(t *testing.T) {
	kills := envInt("RINGCRAFT_KILLS", 50)
	seed := uint64(envInt("RINGCRAFT_SEED", int(time.Now().UnixNano()&0x7fffffff)))
	t.Logf("%d kills, seed %d", kills, seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	dir := t.TempDir()
	fillStore(t, dir)
	var scribes []*scribe
	for i := range 5 {
		scribes = append(scribes, newScribe(i, seed))
	}
	scribes[4].sounds = map[int]string{}
	halfDone := 0
	for round := range kills {
		if rnd.IntN(10) == 0 { // a kill while it starts
			c := serveChild(t, dir, false)
			toil(rnd.IntN(1500))
			c.kill()
			continue
		}
		c := serveChild(t, dir, true)
		judge(t, round, fetchNotes(t, c.url), scribes)
		ctx, cancel := context.WithCancel(context.Background())
		var wg sync.WaitGroup
		m := newMoments(1 + rnd.IntN(250))
		for _, s := range scribes {
			wg.Go(func() { s.send(ctx, c.url, m) })
		}
		m.wait(t)
		toil(rnd.IntN(80))
		c.kill()
		cancel()
		wg.Wait()
		for _, s := range scribes {
			if s.pending != nil {
				halfDone++
			}
		}
	}
	notes, sounds := finalJudge(t, dir, scribes)
	if kills >= 20 && (notes == 0 || sounds == 0 || halfDone == 0) {
		t.Errorf("no load: %d notes, %d sounds, %d batches cut off", notes, sounds, halfDone)
	}
	t.Logf("%d acknowledged notes and %d pieces of sound after %d kills; %d batches were under way when the server was killed", notes, sounds, kills, halfDone)
}

// finalJudge opens the store as the next start would and checks all of it.
func finalJudge(t *testing.T, dir string, scribes []*scribe) (notes, sounds int) {
	t.Helper()
	ctx := context.Background()
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	all, err := s.db.Notes(ctx, "ride")
	if err != nil {
		t.Fatal(err)
	}
	judge(t, -1, all, scribes)
	ride, err := s.db.Ride(ctx, "ride")
	if err != nil {
		t.Fatal(err)
	}
	files := map[int]logbook.File{}
	for _, f := range ride.FilesOf(logbook.RoleAudio) {
		files[f.Seq] = f
	}
	for _, sc := range scribes {
		notes += len(sc.acked)
		for seq, want := range sc.sounds {
			sounds++
			got, err := s.rec.Read(ctx, files[seq].Blob, 1<<20)
			if err != nil || string(got) != want {
				t.Fatalf("acknowledged piece of sound %d: %v", seq, err)
			}
		}
	}
	found, err := backup.Check(ctx, s.db, s.rec, s.db.Check)
	if err != nil || backup.Count(found) > 0 {
		t.Fatalf("the store's own check: %v %v", err, found)
	}
	return notes, sounds
}

func envInt(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return otherwise
}

// TestCleanShutdown: told to stop, the server finishes what is under way and ends with code 0.
func TestCleanShutdown(t *testing.T) {
	dir := t.TempDir()
	fillStore(t, dir)
	c := serveChild(t, dir, true)
	body, _ := json.Marshal(map[string]any{"notes": []logbook.Note{{ID: "a", RideID: "ride", Device: "d", Seq: 1, Kind: logbook.NoteLater}}})
	if _, ok := post(context.Background(), http.DefaultClient, "POST", c.url+"/rides/ride/notes", "application/json", body); !ok {
		t.Fatal("note not taken")
	}
	c.cmd.Process.Signal(syscall.SIGTERM)
	if err := c.cmd.Wait(); err != nil {
		t.Fatalf("%v\n%s", err, c.logs)
	}
	for _, line := range strings.Split(strings.TrimSpace(c.logs.String()), "\n") {
		var entry struct{ Time, Level, Msg string }
		if err := json.Unmarshal([]byte(line), &entry); err != nil || entry.Time == "" || entry.Msg == "" {
			t.Errorf("not one structured line an event: %q", line)
		}
	}
	if !strings.Contains(c.logs.String(), `"msg":"stopped"`) || !strings.Contains(c.logs.String(), `"route":"POST /rides/{id}/notes"`) {
		t.Errorf("log: %s", c.logs)
	}
	if _, err := os.Stat(filepath.Join(dir, databaseFile+"-wal")); err == nil {
		t.Error("the store's log was not folded in")
	}
}

// childSetPassword is the real command that sets the trainer's password.
func childSetPassword(dir string) *exec.Cmd {
	c := exec.Command("ringcraft", "serve", "--data", dir, "--set-password")
	c.Stdin = strings.NewReader("rain on the roof\n")
	return c
}
