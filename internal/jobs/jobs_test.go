package jobs

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
	"unicode/utf8"

	"ringcraft/internal/logbook"
)

var ctx = context.Background()

func config(kinds map[string]Work) Config {
	var n atomic.Int64
	return Config{
		Store: logbook.NewMemory(), Kinds: kinds, Now: time.Now,
		NewID: func() string { return fmt.Sprintf("j%d", n.Add(1)) },
		Log:   slog.New(slog.NewTextHandler(io.Discard, nil)),
	}
}

func start(t *testing.T, c Config) *Runner {
	t.Helper()
	r, err := Start(ctx, c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(r.Stop)
	return r
}

func begin(t *testing.T, r *Runner, kind, subject string) logbook.Job {
	t.Helper()
	j, err := r.Start(ctx, kind, subject)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func state(t *testing.T, c Config, id string) logbook.Job {
	t.Helper()
	j, err := c.Store.Job(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestJobsEndAsTheyShould(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := config(map[string]Work{
			"good": func(_ context.Context, _ string, report func(float64, string)) error { report(0.5, "half"); return nil },
			"bad": func(context.Context, string, func(float64, string)) error {
				return logbook.Errorf(logbook.Invalid, "no sound")
			},
			"panic": func(context.Context, string, func(float64, string)) error { panic("secret") },
		})
		r := start(t, c)
		good, bad, worse := begin(t, r, "good", "a"), begin(t, r, "bad", "a"), begin(t, r, "panic", "a")
		synctest.Wait()
		if j := state(t, c, good.ID); j.State != logbook.JobDone || j.Progress != 1 || j.Message != "half" || j.Tries != 1 || j.Ended.IsZero() {
			t.Errorf("good: %+v", j)
		}
		if j := state(t, c, bad.ID); j.State != logbook.JobFailed || j.Message != "no sound" {
			t.Errorf("bad: %+v", j)
		}
		if j := state(t, c, worse.ID); j.State != logbook.JobFailed || strings.Contains(j.Message, "secret") {
			t.Errorf("panic: %+v", j)
		}
		if _, err := r.Start(ctx, "none", "a"); logbook.CodeOf(err) != logbook.Invalid {
			t.Errorf("unknown kind: %v", err)
		}
		r.Stop()
	})
}

// slow waits until it is told to stop.
func slow(ctx context.Context, _ string, report func(float64, string)) error {
	report(0.1, "begun")
	<-ctx.Done()
	return ctx.Err()
}

func TestCancel(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := config(map[string]Work{"slow": slow})
		r := start(t, c)
		running := begin(t, r, "slow", "a")
		if again := begin(t, r, "slow", "a"); again.ID != running.ID {
			t.Error("the same work was queued twice")
		}
		waiting := begin(t, r, "slow", "b")
		synctest.Wait()
		if j := state(t, c, running.ID); j.State != logbook.JobRunning || j.Progress != 0.1 {
			t.Errorf("running: %+v", j)
		}
		for _, id := range []string{waiting.ID, running.ID, running.ID} {
			if err := r.Cancel(ctx, id); err != nil {
				t.Error(err)
			}
			synctest.Wait()
		}
		for _, id := range []string{waiting.ID, running.ID} {
			if j := state(t, c, id); j.State != logbook.JobCancelled {
				t.Errorf("cancelled: %+v", j)
			}
		}
		if err := r.Cancel(ctx, "none"); logbook.CodeOf(err) != logbook.NotFound {
			t.Errorf("unknown job: %v", err)
		}
		r.Stop()
	})
}

func TestCutOffWorkIsTakenUpAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := config(map[string]Work{"slow": slow})
		r := start(t, c)
		j := begin(t, r, "slow", "a")
		synctest.Wait()
		r.Stop()
		if got := state(t, c, j.ID); got.State != logbook.JobWaiting || got.Tries != 0 {
			t.Errorf("after a clean stop: %+v", got)
		}
		killed := state(t, c, j.ID)
		killed.State, killed.Tries = logbook.JobRunning, 1 // as a kill leaves it
		c.Store.PutJob(ctx, killed)
		hopeless := killed
		hopeless.ID, hopeless.Tries = "hopeless", maxTries
		c.Store.PutJob(ctx, hopeless)
		c.Kinds = map[string]Work{"slow": func(context.Context, string, func(float64, string)) error { return nil }}
		r = start(t, c)
		synctest.Wait()
		if got := state(t, c, j.ID); got.State != logbook.JobDone || got.Tries != 2 {
			t.Errorf("taken up: %+v", got)
		}
		if got := state(t, c, "hopeless"); got.State != logbook.JobFailed || !strings.Contains(got.Message, "given up") {
			t.Errorf("hopeless: %+v", got)
		}
		r.Stop()
	})
}

func TestManyJobs(t *testing.T) {
	var mu sync.Mutex
	done := map[string]int{}
	var all sync.WaitGroup
	all.Add(50)
	c := config(map[string]Work{"count": func(_ context.Context, s string, _ func(float64, string)) error {
		mu.Lock()
		done[s]++
		mu.Unlock()
		all.Done()
		return nil
	}})
	c.Workers = 4
	r := start(t, c)
	for i := range 50 {
		begin(t, r, "count", fmt.Sprint(i))
	}
	all.Wait()
	r.Stop()
	for s, n := range done {
		if n != 1 {
			t.Errorf("job %s ran %d times", s, n)
		}
	}
}

// script writes a shell script that stands for a transcriber.
func script(t *testing.T, body string) []string {
	t.Helper()
	p := filepath.Join(t.TempDir(), "transcriber.sh")
	if err := os.WriteFile(p, []byte("#!/bin/sh\n"+body), 0o700); err != nil {
		t.Fatal(err)
	}
	return []string{"/bin/sh", p}
}

func TestCommand(t *testing.T) {
	var progress []float64
	report := func(p float64, _ string) { progress = append(progress, p) }
	c := Command{Args: append(script(t, `echo "37 % done" >&2; printf 'WEBVTT\n\n'; cat "$2"; echo "$1 $3"`), "--in", audioArg, "--end")}
	out, err := c.Run(ctx, strings.NewReader("sound"), report)
	if err != nil || string(out) != "WEBVTT\n\nsound--in --end\n" {
		t.Errorf("got %q, %v", out, err)
	}
	if len(progress) != 2 || progress[1] != 0.37 {
		t.Errorf("progress %v", progress)
	}
}

func TestCommandFailures(t *testing.T) {
	quiet := func(float64, string) {}
	tests := []struct {
		name string
		c    Command
		code logbook.Code
		says string
	}{
		{"none", Command{}, logbook.Invalid, "no transcriber"},
		{"missing", Command{Args: []string{"no-such-program-here"}}, logbook.Invalid, "not found"},
		{"fails", Command{Args: script(t, "echo 'no model' >&2; exit 3")}, logbook.Internal, "no model"},
		{"floods", Command{Args: script(t, "while :; do echo aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa; done"), MaxOutput: 1 << 16}, logbook.TooLarge, "more than"},
		{"hangs", Command{Args: script(t, "sleep 600"), Limit: 50 * time.Millisecond}, logbook.Busy, "took longer"},
	}
	for _, tt := range tests {
		_, err := tt.c.Run(ctx, strings.NewReader("x"), quiet)
		if logbook.CodeOf(err) != tt.code || !strings.Contains(logbook.MessageOf(err), tt.says) {
			t.Errorf("%s: got %v", tt.name, err)
		}
	}
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := (Command{Args: script(t, "sleep 600")}).Run(stopped, strings.NewReader("x"), quiet); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// FuzzProgress: whatever a transcriber says on its standard error, progress stays a share and the
// last words stay short and readable.
func FuzzProgress(f *testing.F) {
	for _, s := range []string{"50 %\n", "\r12.5%\r13%\r", "1e99 %\n", "999 %\n", "\xff\xfe 7%\n", strings.Repeat("x", 5000) + "\n", "no end", "%%%\n\n\n", "-5 %\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, said []byte) {
		p := &progressReader{report: func(share float64, words string) {
			if share < 0 || share > 1 || !utf8.ValidString(words) {
				t.Fatalf("%q: %v %q", said, share, words)
			}
		}}
		for len(said) > 0 { // in pieces, as a pipe gives it
			n := min(7, len(said))
			if got, err := p.Write(said[:n]); got != n || err != nil {
				t.Fatal(got, err)
			}
			said = said[n:]
		}
		if w := p.lastWords(); len(w) > 500 || !utf8.ValidString(w) {
			t.Fatalf("last words %q", w)
		}
	})
}
