package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
)

// tlsClient trusts only the authority of a store, as a phone does.
func tlsClient(t testing.TB, dir string) *http.Client {
	t.Helper()
	pem, err := os.ReadFile(filepath.Join(dir, certsName, "authority.pem"))
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(pem)
	return &http.Client{Timeout: time.Minute, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, ServerName: "localhost"}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// phoneUser is one paired device.
type phoneUser struct {
	client *http.Client
	cookie *http.Cookie
	base   string
}

func (p *phoneUser) do(method, path, media string, body []byte) (int, []byte, error) {
	r, err := http.NewRequest(method, p.base+path, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	r.Header.Set("Content-Type", media)
	if p.cookie != nil {
		r.AddCookie(p.cookie)
	}
	resp, err := p.client.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer resp.Body.Close()
	for _, c := range resp.Cookies() {
		p.cookie = c
	}
	b, err := io.ReadAll(resp.Body)
	return resp.StatusCode, b, err
}

// pairPhones makes a trainer and n scribes and pairs a device for each through the front door.
func pairPhones(t testing.TB, dir, base string, n int) (trainer *phoneUser, scribes []*phoneUser) {
	t.Helper()
	ctx := context.Background()
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	g, err := newGuard(s)
	if err != nil {
		t.Fatal(err)
	}
	pair := func(name string, role access.Role) *phoneUser {
		a, err := g.AddAccount(ctx, name, role, "")
		if err != nil {
			t.Fatal(err)
		}
		code, _, err := g.NewPairing(ctx, a.ID)
		if err != nil {
			t.Fatal(err)
		}
		p := &phoneUser{client: tlsClient(t, dir), base: base}
		status, body, err := p.do("POST", "/pair", "application/x-www-form-urlencoded", []byte(url.Values{"code": {code}, "device": {name}}.Encode()))
		if err != nil || status != http.StatusSeeOther {
			t.Fatalf("pairing %s: %d %v %.300s", name, status, err, body)
		}
		return p
	}
	trainer = pair("Tess", access.Trainer)
	for i := range n {
		scribes = append(scribes, pair(fmt.Sprint("scribe ", i), access.Scribe))
	}
	return trainer, scribes
}

// loadYard starts the real server over TLS on a store with the demo yard and a ride being ridden.
func loadYard(t testing.TB) (dir, base string, c *child) {
	t.Helper()
	dir = t.TempDir()
	fillStore(t, dir)
	s, err := openData(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Load(context.Background(), s.book(nil), "2026-06-01", func(string) {}); err != nil {
		t.Fatal(err)
	}
	s.Close()
	set := childSetPassword(dir)
	if out, err := set.CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	addr := freeAddress("127.0.0.1:0")
	c = serveChild(t, dir, true, "--listen", addr, "--login", "--name", "load-test", "--trust-listen", "off")
	return dir, "https://" + addr, c
}

// latencies reports median and 99th percentile in milliseconds.
func latencies(d []time.Duration) (median, p99 float64) {
	slices.Sort(d)
	ms := func(q float64) float64 { return float64(d[int(q*float64(len(d)-1))].Microseconds()) / 1000 }
	return ms(0.5), ms(0.99)
}

// peakMB is the most memory a process has had, from the kernel.
func peakMB(pid int) float64 {
	b, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	for _, l := range strings.Split(string(b), "\n") {
		var kb float64
		if n, _ := fmt.Sscanf(l, "VmHWM: %f kB", &kb); n == 1 {
			return kb / 1024
		}
	}
	return 0
}

// phonesAtOnce lets n phones send m notes each, one a request, while reviews are computed and
// PDFs printed; it returns the latencies of notes and of the other two.
func phonesAtOnce(t testing.TB, dir, base string, n, m int) (notes, reviews, pdfs []time.Duration) {
	t.Helper()
	trainer, scribes := pairPhones(t, dir, base, n)
	done := make(chan struct{})
	var side sync.WaitGroup
	timed := func(path string, into *[]time.Duration) {
		side.Go(func() {
			own := *trainer
			for {
				began := time.Now()
				status, body, err := own.do("GET", path, "", nil)
				if err != nil || status != http.StatusOK {
					t.Errorf("%s: %d %v %.200s", path, status, err, body)
					return
				}
				*into = append(*into, time.Since(began))
				select {
				case <-done:
					return
				default:
				}
			}
		})
	}
	timed("/rides/"+demo.BetterBefore, &reviews)
	timed("/rides/"+demo.BetterAfter+"/report.pdf", &pdfs)
	var mu sync.Mutex
	var phones sync.WaitGroup
	for i, p := range scribes {
		phones.Go(func() {
			took := make([]time.Duration, 0, m)
			for k := range m {
				began := time.Now()
				body, _ := json.Marshal(map[string]any{"notes": []logbook.Note{{ID: fmt.Sprintf("p%d-%d", i, k), RideID: "ride", Device: fmt.Sprint("p", i),
					Seq: int64(k + 1), Kind: logbook.NoteMark, Movement: 1 + k%3, Mark: "7.0", AtS: float64(k)}}})
				status, answer, err := p.do("POST", "/rides/ride/notes", "application/json", body)
				if err != nil || status != http.StatusOK {
					t.Errorf("phone %d note %d: %d %v %.200s", i, k, status, err, answer)
					return
				}
				took = append(took, time.Since(began))
			}
			mu.Lock()
			notes = append(notes, took...)
			mu.Unlock()
		})
	}
	phones.Wait()
	close(done)
	side.Wait()
	return notes, reviews, pdfs
}

// countNotes checks that every note is there once.
func countNotes(t testing.TB, dir string, want int) {
	t.Helper()
	s, err := openData(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	all, err := s.db.Notes(context.Background(), "ride")
	if err != nil {
		t.Fatal(err)
	}
	ids := map[string]bool{}
	for _, n := range all {
		ids[n.ID] = true
	}
	if len(all) != want || len(ids) != want {
		t.Errorf("%d notes (%d different) in the book, want %d", len(all), len(ids), want)
	}
}

// TestPhonesAtOnce is the load in small: 10 phones with 10 notes each, over TLS, with sessions.
func TestPhonesAtOnce(t *testing.T) {
	dir, base, c := loadYard(t)
	defer c.kill()
	phonesAtOnce(t, dir, base, 10, 10)
	countNotes(t, dir, 100)
}

// BenchmarkFiftyPhones is the load of docs/RELIABILITY.md: 50 phones, 100 notes each, while a
// review is shown and a PDF printed over and over.
func BenchmarkFiftyPhones(b *testing.B) {
	for range b.N {
		dir, base, c := loadYard(b)
		began := time.Now()
		notes, reviews, pdfs := phonesAtOnce(b, dir, base, 50, 100)
		took := time.Since(began)
		countNotes(b, dir, 5000)
		m, p := latencies(notes)
		b.ReportMetric(m, "note-median-ms")
		b.ReportMetric(p, "note-p99-ms")
		m, p = latencies(reviews)
		b.ReportMetric(m, "review-median-ms")
		b.ReportMetric(p, "review-p99-ms")
		m, p = latencies(pdfs)
		b.ReportMetric(m, "pdf-median-ms")
		b.ReportMetric(p, "pdf-p99-ms")
		b.ReportMetric(5000/took.Seconds(), "notes/s")
		b.ReportMetric(peakMB(c.cmd.Process.Pid), "peak-MB")
		c.kill()
	}
}

// busyYear fills a book with 40 combinations and as many rides as asked for, each with marks and
// ten megabytes of sound that is only referred to.
func busyYear(t testing.TB, dir string, rides int) {
	t.Helper()
	ctx := context.Background()
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	now := time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	err = s.db.Atomically(ctx, func(st logbook.Store) error {
		if err := st.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "Willow Ford 2", Version: 1, Text: tortureSheet, Saved: now}); err != nil {
			return err
		}
		for i := range 40 {
			id := fmt.Sprintf("%02d", i)
			for _, err := range []error{st.PutRider(ctx, logbook.Rider{ID: "r" + id, Name: "Rider " + id}), st.PutHorse(ctx, logbook.Horse{ID: "h" + id, Name: "Horse " + id}),
				st.PutCombination(ctx, logbook.Combination{ID: "c" + id, RiderID: "r" + id, HorseID: "h" + id})} {
				if err != nil {
					return err
				}
			}
		}
		for i := range rides {
			if err := busyRide(ctx, st, i, now); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func busyRide(ctx context.Context, st logbook.Store, i int, now time.Time) error {
	day := logbook.DateOf(now.AddDate(0, 0, i*365/2000))
	r := logbook.Ride{ID: fmt.Sprintf("ride%04d", i), CombinationID: fmt.Sprintf("c%02d", i%40), SheetID: "s", SheetVersion: 1, Date: day,
		Kind: logbook.Training, Opened: now, Closed: now.Add(time.Hour), Made: now}
	for k := range 10 {
		r.Files = append(r.Files, logbook.File{Role: logbook.RoleAudio, Seq: k, Blob: fmt.Sprintf("%064x", i*10+k), Name: "sound", Media: "audio/webm", Size: 1 << 20, AtS: float64(4 * k), Added: now})
	}
	if err := st.PutRide(ctx, r); err != nil {
		return err
	}
	var notes []logbook.Note
	for k := range 10 {
		notes = append(notes, logbook.Note{ID: fmt.Sprintf("n%d-%d", i, k), RideID: r.ID, Device: "d", Seq: int64(k + 1), Kind: logbook.NoteMark, Movement: 1 + k%3, Mark: "6.5", AtS: float64(k), Received: now})
	}
	_, err := st.AddNotes(ctx, notes)
	return err
}

// pageMedian is the median time of a page in milliseconds, after it was seen five times.
func pageMedian(b *testing.B, url string) float64 {
	var took []time.Duration
	for range 45 {
		began := time.Now()
		if body, ok := post(context.Background(), http.DefaultClient, "GET", url, "", nil); !ok {
			b.Fatalf("%s cannot be read: %.200s", url, body)
		}
		took = append(took, time.Since(began))
	}
	m, _ := latencies(took[5:])
	return m
}

// BenchmarkBusyYear compares pages of a book with ten rides, with ten for each of forty
// combinations, and with 2,000 (20 GB of sound referred to).
func BenchmarkBusyYear(b *testing.B) {
	for range b.N {
		figures := map[string]map[int]float64{"/": {}, "/rides/ride0005": {}, "/combinations/c05": {}}
		for _, rides := range []int{10, 400, 2000} {
			dir := b.TempDir()
			busyYear(b, dir, rides)
			c := serveChild(b, dir, true)
			for path := range figures {
				figures[path][rides] = pageMedian(b, c.url+path)
			}
			if rides == 2000 {
				b.ReportMetric(peakMB(c.cmd.Process.Pid), "peak-MB")
			}
			c.kill()
		}
		for path, name := range map[string]string{"/": "yard", "/rides/ride0005": "ride", "/combinations/c05": "combination"} {
			for rides, ms := range figures[path] {
				b.ReportMetric(ms, fmt.Sprintf("%s-%d-ms", name, rides))
			}
		}
	}
}
