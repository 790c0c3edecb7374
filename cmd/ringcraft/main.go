// Command ringcraft is the workbench of a dressage trainer: know the test, watch and note,
// measure, find the cause, plan the lesson, ride again, compare, show day.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"
)

// commands is the command line; one file per subcommand.
type commands struct {
	Demo    demoCmd    `cmd:"" help:"Build the demo yard, run the whole loop, print a summary and serve it on loopback."`
	Sheet   sheetCmd   `cmd:"" help:"Read, draw and call a test sheet."`
	Ride    rideCmd    `cmd:"" help:"Review a ride; keep one in the book; compare two."`
	Lesson  lessonCmd  `cmd:"" help:"Plan a lesson."`
	Serve   serveCmd   `cmd:"" help:"Serve the book as web pages, on this machine only unless told otherwise."`
	Backup  backupCmd  `cmd:"" help:"Copy the whole store into one file, also while the server runs."`
	Restore restoreCmd `cmd:"" help:"Put a backup back, after proving it; keeps what was there."`
	Consent consentCmd `cmd:"" help:"Note who agreed to being recorded, list it, or withdraw it with the recordings."`
	Check   checkCmd   `cmd:"" help:"Check every stored recording and reference."`
	Export  exportCmd  `cmd:"" help:"Take out everything in open formats, or what is stored about one rider."`
	Remove  removeCmd  `cmd:"" help:"Remove a rider or a horse with all that belongs to them."`
}

type sheetCmd struct {
	Read sheetReadCmd `cmd:"" help:"Say back how each line of the sheet was understood, and what it asks."`
	Draw sheetDrawCmd `cmd:"" help:"Draw the arena with the line of the sheet."`
	Call sheetCallCmd `cmd:"" help:"Write the caller's script with cue points."`
}

type rideCmd struct {
	Review  rideReviewCmd  `cmd:"" help:"Review one ride from its sheet, recording, commentary and marks."`
	Keep    rideKeepCmd    `cmd:"" help:"Keep a ride in the book, with what was recorded of it."`
	Compare rideCompareCmd `cmd:"" help:"Compare two reviews of one sheet."`
}

type lessonCmd struct {
	Plan lessonPlanCmd `cmd:"" help:"Plan a lesson inside a time budget."`
}

// Exit codes of every command.
const (
	exitDone  = 0
	exitInput = 1 // the input has errors, listed one a line
	exitUsage = 2
	exitIO    = 3 // could not read or write
)

// console is where a command speaks: results to Out, words for people to Err.
type console struct {
	ctx      context.Context
	Out, Err io.Writer
}

// inputError says that problems were listed already; it carries exit code 1.
var errInput = errors.New("the input has errors")

// usageError is a wrong use of the command line found after parsing it.
type usageError struct{ msg string }

func (e usageError) Error() string { return e.msg }

const description = `The workbench of a dressage trainer: know the test, watch and note, measure,
find the cause, plan the lesson, ride again, compare, show day.

Exit codes: 0 done; 1 the input has errors (listed, one a line); 2 wrong usage; 3 could not read or write.`

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run executes one command line and returns its exit code.
func run(ctx context.Context, args []string, out, errw io.Writer) int {
	var cmds commands
	exited := -1
	p, err := kong.New(&cmds, kong.Name("ringcraft"), kong.Description(description),
		kong.Writers(out, errw), kong.Exit(func(code int) { exited = code }),
		kong.UsageOnError(), kong.ConfigureHelp(kong.HelpOptions{Compact: true}))
	if err != nil {
		fmt.Fprintln(errw, "ringcraft:", err)
		return exitUsage
	}
	args = wantsHelp(args)
	k, err := p.Parse(args)
	if exited >= 0 { // help was asked for
		return exited
	}
	if err != nil {
		fmt.Fprintln(errw, "ringcraft:", err)
		fmt.Fprintln(errw, "ringcraft: see 'ringcraft --help'")
		return exitUsage
	}
	return exitCode(k.Run(&console{ctx, out, errw}), errw)
}

// wantsHelp turns "help", "help sheet read" and nothing at all into asking for help.
func wantsHelp(args []string) []string {
	switch {
	case len(args) == 0:
		return []string{"--help"}
	case args[0] == "help":
		return append(append([]string(nil), args[1:]...), "--help")
	}
	return args
}

// exitCode tells people what stopped a command, unless it was listed already.
func exitCode(err error, errw io.Writer) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errInput):
		return exitInput
	case errors.As(err, &usage):
		fmt.Fprintln(errw, "ringcraft:", err)
		return exitUsage
	default:
		fmt.Fprintln(errw, "ringcraft:", err)
		return exitIO
	}
}
