package main

import (
	"bytes"
	"crypto/sha256"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// patience is when a test gives up on another process; nothing is expected to take this long.
const patience = 2 * time.Minute

// watched keeps what another process writes and tells when something was written.
type watched struct {
	mu   sync.Mutex
	buf  bytes.Buffer
	news chan struct{} // closed at the next write
}

func newWatched() *watched { return &watched{news: make(chan struct{})} }

// Write takes what the process wrote.
func (w *watched) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	close(w.news)
	w.news = make(chan struct{})
	return w.buf.Write(p)
}

// String is all that was written.
func (w *watched) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.buf.String()
}

// wait returns once text was written.
func (w *watched) wait(t testing.TB, text string) {
	t.Helper()
	limit := time.After(patience)
	for {
		w.mu.Lock()
		news, there := w.news, strings.Contains(w.buf.String(), text)
		w.mu.Unlock()
		if there {
			return
		}
		select {
		case <-news:
		case <-limit:
			t.Fatalf("%q was never written: %s", text, w)
		}
	}
}

// moments counts what happens until a drawn number of it has happened: an instant under load that
// no clock decides.
type moments struct {
	left    atomic.Int64
	reached chan struct{}
	over    atomic.Bool // answers that come now count no more
}

func newMoments(n int) *moments {
	m := &moments{reached: make(chan struct{})}
	m.left.Store(int64(n))
	return m
}

func (m *moments) pass() {
	if m.left.Add(-1) == 0 {
		close(m.reached)
	}
}

func (m *moments) wait(t testing.TB) {
	t.Helper()
	select {
	case <-m.reached:
	case <-time.After(patience):
		t.Fatal("the server under load answers nothing")
	}
}

// toil works on a drawn number of blocks of 64 kB, so that a kill comes at no step in particular.
func toil(blocks int) {
	block := make([]byte, 64<<10)
	for range blocks {
		sum := sha256.Sum256(block)
		copy(block, sum[:])
	}
}
