package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"ringcraft/internal/testkit"
)

// otherHost is the phone of TestFromAnotherHost, where there can be one.
var otherHost func()

func TestMain(m *testing.M) {
	commands := map[string]func(){"ringcraft": func() { main() }}
	if otherHost != nil {
		commands["phone"] = otherHost
	}
	testscript.Main(m, commands)
}

// TestScripts runs the real command over the user stories in testdata/script.
func TestScripts(t *testing.T) { runScripts(t, "testdata/script", "") }

// TestScriptsOnRecordings runs those that need real recordings, which lie in $DATA.
func TestScriptsOnRecordings(t *testing.T) {
	runScripts(t, "testdata/recordings", testkit.Shared(t, "data"))
}

func runScripts(t *testing.T, dir, data string) {
	testscript.Run(t, testscript.Params{
		Dir: dir,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits, "json": jsonValue, "ridden": ridden,
		},
		Setup: func(e *testscript.Env) error {
			e.Setenv("HOME", e.WorkDir)
			e.Setenv("DATA", data)
			e.Setenv("XDG_DATA_HOME", e.WorkDir+"/share")
			return nil
		},
	})
}

// exits CODE command args...: runs a command, checks its exit code, keeps what it printed
// in the files out and err.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE command [arg...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	cmd := exec.CommandContext(context.Background(), args[1], args[2:]...)
	cmd.Dir = ts.MkAbs(".")
	path, err := exec.LookPath(args[1])
	if err != nil { // the script's own PATH holds the command under test
		for _, d := range strings.Split(ts.Getenv("PATH"), string(os.PathListSeparator)) {
			if _, e := os.Stat(d + "/" + args[1]); e == nil {
				path, err = d+"/"+args[1], nil
				break
			}
		}
	}
	ts.Check(err)
	cmd.Path, cmd.Err = path, nil
	cmd.Env = append(os.Environ(), "HOME="+ts.Getenv("HOME"), "XDG_DATA_HOME="+ts.Getenv("XDG_DATA_HOME"), "PATH="+ts.Getenv("PATH"))
	var out, errw bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errw
	got := 0
	if err := cmd.Run(); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Check(err)
		}
		got = exit.ExitCode()
	}
	ts.Check(os.WriteFile(ts.MkAbs("out"), out.Bytes(), 0o644))
	ts.Check(os.WriteFile(ts.MkAbs("err"), errw.Bytes(), 0o644))
	if got != want {
		ts.Fatalf("exit %d, want %d\nstderr: %s", got, want, errw.String())
	}
}

// ridden LINE.csv TRACK.csv [SHIFT_M]: writes the recording of a ride exactly on the planned
// line of `sheet read --line`, ten fixes a second, its body SHIFT_M to the B side throughout.
func ridden(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: ridden LINE.csv TRACK.csv [SHIFT_M]")
	}
	shift := 0.0
	if len(args) > 2 {
		var err error
		shift, err = strconv.ParseFloat(args[2], 64)
		ts.Check(err)
	}
	rows, err := csv.NewReader(strings.NewReader(ts.ReadFile(args[0]))).ReadAll()
	ts.Check(err)
	var out strings.Builder
	out.WriteString("t_s,x_m,y_m\n")
	next := 0.0
	for _, r := range rows[1:] {
		t, err1 := strconv.ParseFloat(r[1], 64)
		x, err2 := strconv.ParseFloat(r[2], 64)
		ts.Check(errors.Join(err1, err2))
		if t < next {
			continue
		}
		fmt.Fprintf(&out, "%.3f,%.4f,%s\n", t, x+shift, r[3])
		next = t + 0.099
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(out.String()), 0o644))
}

// json FILE PATH [VALUE | ~ VALUE TOLERANCE]: checks one value of a JSON file, for example
// `json out movements.0.number 1`; with no value it must be there; `len` counts a list.
func jsonValue(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) < 2 {
		ts.Fatalf("usage: json FILE PATH [VALUE | ~ VALUE TOLERANCE]")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &v))
	got, err := dig(v, strings.Split(args[1], "."))
	if err != nil {
		if neg && len(args) == 2 {
			return
		}
		ts.Fatalf("%s: %v", args[1], err)
	}
	ok := true
	switch {
	case len(args) == 3:
		ok = fmt.Sprint(got) == args[2]
	case len(args) == 5 && args[2] == "~":
		want, err1 := strconv.ParseFloat(args[3], 64)
		tol, err2 := strconv.ParseFloat(args[4], 64)
		ts.Check(errors.Join(err1, err2))
		n, isNumber := got.(float64)
		ok = isNumber && n >= want-tol && n <= want+tol
	}
	if ok == neg {
		ts.Fatalf("%s is %v, want %v", args[1], got, args[2:])
	}
}

func dig(v any, path []string) (any, error) {
	for _, p := range path {
		switch x := v.(type) {
		case map[string]any:
			next, ok := x[p]
			if !ok {
				return nil, fmt.Errorf("no key %q", p)
			}
			v = next
		case []any:
			if p == "len" {
				v = len(x)
				continue
			}
			n, err := pick(x, p)
			if err != nil {
				return nil, err
			}
			v = n
		default:
			return nil, fmt.Errorf("nothing below %q", p)
		}
	}
	return v, nil
}

// pick takes an element by index, or by `key=value` of its members.
func pick(list []any, p string) (any, error) {
	if key, value, ok := strings.Cut(p, "="); ok {
		for _, e := range list {
			if m, isMap := e.(map[string]any); isMap && fmt.Sprint(m[key]) == strings.ReplaceAll(value, "_", " ") {
				return e, nil
			}
		}
		return nil, fmt.Errorf("no element with %s", p)
	}
	i, err := strconv.Atoi(p)
	if err != nil || i < 0 || i >= len(list) {
		return nil, fmt.Errorf("no element %q of %d", p, len(list))
	}
	return list[i], nil
}
