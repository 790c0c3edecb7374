package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// maxInput bounds a file given on the command line; a day of recordings is far below it.
const maxInput = 512 << 20

// readFile returns the content of a file given by the user.
func readFile(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, maxInput+1))
	if err != nil {
		return nil, err
	}
	if len(b) > maxInput {
		return nil, fmt.Errorf("%s is larger than %d MB; allowed: up to that", name, maxInput>>20)
	}
	return b, nil
}

// writeFile writes a result so that a reader sees the whole of it or nothing: to a temporary
// file beside it, synced, then renamed.
func writeFile(name string, write func(io.Writer) error) (err error) {
	dir := filepath.Dir(name)
	if st, err := os.Stat(dir); errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: there is no folder %s; make it first", name, dir)
	} else if err == nil && !st.IsDir() {
		return fmt.Errorf("%s: %s is a file, not a folder", name, dir)
	}
	f, err := os.CreateTemp(dir, ".ringcraft-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err = write(f); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if err = f.Chmod(0o644); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

// writePaper writes a result for people in the format that the ending of its name says.
func writePaper(name string, html, pdf func(io.Writer) error) error {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".html":
		return writeFile(name, html)
	case ".pdf":
		return writeFile(name, pdf)
	}
	return usageError{fmt.Sprintf("-o %s: the ending says the format; allowed: .html, .pdf", name)}
}

// written tells that a file asked for with -o is there.
func (c *console) written(name string) { fmt.Fprintf(c.Err, "%s: written\n", name) }

// printJSON writes v as indented JSON.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// tell lists problems for people, one a line.
func (c *console) tell(problems []sheet.Problem) {
	for _, p := range problems {
		fmt.Fprintln(c.Err, p)
	}
}

// tellBriefly lists problems, but counts a sheet's warnings and notes in one line: reading it says
// them once, and every other command need not say them again.
func (c *console) tellBriefly(sheetFile string, problems []sheet.Problem) {
	warnings, notes := 0, 0
	for _, p := range problems {
		switch {
		case p.File != sheetFile || p.Severity == sheet.Error:
			fmt.Fprintln(c.Err, p)
		case p.Severity == sheet.Warning:
			warnings++
		default:
			notes++
		}
	}
	if warnings+notes > 0 {
		fmt.Fprintf(c.Err, "%s: %s and %s about the sheet; see them with: ringcraft sheet read %s\n", sheetFile, counted(warnings, "warning"), counted(notes, "note"), sheetFile)
	}
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// failed turns problems into the error that carries exit code 1, or nil.
func failed(problems []sheet.Problem) error {
	if sheet.HasErrors(problems) {
		return errInput
	}
	return nil
}

// horseFile reads `--horse F.json`; an empty name gives a horse of the usual figures.
func horseFile(name string) (prepare.Horse, []sheet.Problem, error) {
	if name == "" {
		return prepare.Horse{}, nil, nil
	}
	b, err := readFile(name)
	if err != nil {
		return prepare.Horse{}, nil, err
	}
	h, problems := prepare.ReadHorse(name, b)
	return h, problems, nil
}

// compileFile reads and compiles a sheet for a horse.
func compileFile(name, horse string) (*rideplan.Plan, error) {
	text, err := readFile(name)
	if err != nil {
		return nil, err
	}
	return compileFor(name, string(text), horse)
}

// compileFor compiles a sheet for a horse. The plan's problems include those of the horse's
// file.
func compileFor(name, text, horse string) (*rideplan.Plan, error) {
	h, problems, err := horseFile(horse)
	if err != nil {
		return nil, err
	}
	plan := rideplan.CompileText(name, text, rideplan.Options{Horse: h.Profile, File: name})
	if len(problems) > 0 {
		withHorse := *plan
		withHorse.Problems = append(append([]sheet.Problem(nil), plan.Problems...), problems...)
		plan = &withHorse
	}
	return plan, nil
}
