package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"

	"ringcraft/internal/logbook"
)

// quietFor is how long work may last before a line on the terminal says how far it is.
const quietFor = time.Second

// stageLine is the one line on a terminal that says how far work is.
type stageLine struct {
	w     io.Writer
	now   func() time.Time
	mu    sync.Mutex
	begun time.Time
	shown string
}

// tell shows a stage and its share, when work has lasted long enough and the line is another.
func (l *stageLine) tell(stage string, share float64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.now().Sub(l.begun) < quietFor {
		return
	}
	line := fmt.Sprintf("%3.0f %%  %s (Ctrl-C stops)", 100*share, stage)
	if line == l.shown {
		return
	}
	fmt.Fprintf(l.w, "\r%-*s", len([]rune(l.shown)), line)
	l.shown = line
}

// end takes the line away again.
func (l *stageLine) end() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if n := len([]rune(l.shown)); n > 0 {
		fmt.Fprintf(l.w, "\r%s\r", strings.Repeat(" ", n))
		l.shown = ""
	}
}

// withProgress gives a context under which work on rides shows how far it is on a terminal; end takes the
// line away. Elsewhere than on a terminal nothing is shown.
func (c *console) withProgress() (ctx context.Context, end func()) {
	f, ok := c.Err.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return c.ctx, func() {}
	}
	l := &stageLine{w: f, now: time.Now, begun: time.Now()}
	return logbook.WithProgress(c.ctx, l.tell), l.end
}

// stopped says, in place of a bare "context canceled", that work was stopped and what is there of it.
func stopped(err error, left string) error {
	if errors.Is(err, context.Canceled) {
		return fmt.Errorf("stopped; %s", left)
	}
	return err
}
