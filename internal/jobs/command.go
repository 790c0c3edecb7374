package jobs

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"time"

	"ringcraft/internal/logbook"
)

// Command is an outside program of the user's choice that turns sound into WebVTT. It gets the
// path of the sound file in place of the argument {audio} (at the end when there is none), and
// writes the WebVTT to its standard output. A line of its standard error that holds a number and
// a percent sign is taken as progress.
type Command struct {
	Args      []string // program and arguments; empty: none is set up
	MaxOutput int64    // bytes; 0: 8 MB
	Limit     time.Duration
}

// audioArg stands for the sound file among the arguments.
const audioArg = "{audio}"

func (c Command) args(audio string) []string {
	out := make([]string, 0, len(c.Args)+1)
	named := false
	for _, a := range c.Args {
		named = named || strings.Contains(a, audioArg)
		out = append(out, strings.ReplaceAll(a, audioArg, audio))
	}
	if !named {
		out = append(out, audio)
	}
	return out
}

// Run hands the sound to the command and returns what it wrote.
func (c Command) Run(ctx context.Context, audio io.Reader, report func(float64, string)) ([]byte, error) {
	if len(c.Args) == 0 {
		return nil, logbook.Errorf(logbook.Invalid, "no transcriber is set up; the sound stays as it is")
	}
	file, err := tempFile(audio)
	if err != nil {
		return nil, logbook.Wrap(logbook.Busy, err, "the sound could not be handed to the transcriber")
	}
	defer os.Remove(file)
	if c.Limit > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, c.Limit)
		defer cancel()
	}
	return c.run(ctx, c.args(file), report)
}

func (c Command) run(ctx context.Context, args []string, report func(float64, string)) ([]byte, error) {
	if c.MaxOutput <= 0 {
		c.MaxOutput = 8 << 20
	}
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	cmd := exec.CommandContext(inner, args[0], args[1:]...)
	out := &limited{most: c.MaxOutput, over: cancel}
	said := &progressReader{report: report}
	cmd.Stdout, cmd.Stderr = out, said
	ownGroup(cmd) // a cancelled command takes its children with it
	cmd.WaitDelay = 3 * time.Second
	report(-1, "transcribing")
	err := cmd.Run()
	switch {
	case out.full:
		return nil, logbook.Errorf(logbook.TooLarge, "the transcriber wrote more than %d MB; nothing of it was kept", c.MaxOutput>>20)
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		return nil, logbook.Errorf(logbook.Busy, "the transcriber took longer than %s and was stopped", c.Limit)
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case errors.Is(err, exec.ErrNotFound), errors.Is(err, os.ErrNotExist):
		return nil, logbook.Wrap(logbook.Invalid, err, "the transcriber %q was not found; look at its setting", args[0])
	case err != nil:
		return nil, logbook.Wrap(logbook.Internal, err, "the transcriber failed%s", said.lastWords())
	}
	return out.buf.Bytes(), nil
}

func tempFile(r io.Reader) (string, error) {
	f, err := os.CreateTemp("", "ringcraft-sound-*")
	if err != nil {
		return "", err
	}
	_, err = io.Copy(f, r)
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(f.Name())
		return "", err
	}
	return f.Name(), nil
}

// limited keeps what is written up to a bound, then stops the writer.
type limited struct {
	buf  bytes.Buffer
	most int64
	full bool
	over func()
}

func (l *limited) Write(p []byte) (int, error) {
	if int64(l.buf.Len()+len(p)) > l.most {
		l.full = true
		l.over()
		return 0, io.ErrShortWrite
	}
	return l.buf.Write(p)
}

var percent = regexp.MustCompile(`(\d{1,3}(?:\.\d+)?)\s*%`)

// progressReader reads the command's standard error line by line.
type progressReader struct {
	report func(float64, string)
	line   []byte
	last   string
}

func (p *progressReader) Write(b []byte) (int, error) {
	for _, c := range b {
		if c != '\n' && c != '\r' {
			if len(p.line) < 400 {
				p.line = append(p.line, c)
			}
			continue
		}
		p.take(strings.ToValidUTF8(strings.TrimSpace(string(p.line)), ""))
		p.line = p.line[:0]
	}
	return len(b), nil
}

func (p *progressReader) take(line string) {
	if line == "" {
		return
	}
	p.last = line
	if m := percent.FindStringSubmatch(line); m != nil {
		if v, err := strconv.ParseFloat(m[1], 64); err == nil && v <= 100 {
			p.report(v/100, fmt.Sprintf("transcribing, %.0f %%", v))
		}
	}
}

func (p *progressReader) lastWords() string {
	if p.last == "" {
		return ""
	}
	return ": " + p.last
}
