package logbook

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"ringcraft/internal/gait"
	"ringcraft/internal/remarks"
)

func tap(seq int64, kind NoteKind, at float64) Note {
	return Note{ID: "n" + string(rune('a'+seq)), RideID: "r", Device: "phone", Seq: seq, Kind: kind, AtS: at}
}

func TestUndo(t *testing.T) {
	mark, undo, again := tap(1, NoteMark, 5), tap(2, NoteUndo, 6), tap(3, NoteUndo, 7)
	undo.Undoes, again.Undoes = mark.ID, undo.ID
	for _, tt := range []struct {
		name  string
		notes []Note
		want  int
	}{
		{"a note stands", []Note{mark}, 1},
		{"an undo takes it back", []Note{mark, undo}, 0},
		{"an undo taken back gives it again", []Note{mark, undo, again}, 1},
		{"in any order of arrival", []Note{again, undo, mark}, 1},
		{"an undo of nothing takes nothing", []Note{mark, {ID: "x", Device: "phone", Seq: 9, Kind: NoteUndo, Undoes: "gone"}}, 1},
	} {
		if got := Standing(tt.notes); len(got) != tt.want {
			t.Errorf("%s: %d stand, want %d", tt.name, len(got), tt.want)
		}
	}
}

// TestArrivalOrderDoesNotMatter: phones send in any order and twice; what stands is the same.
func TestArrivalOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "notes")
		var notes []Note
		for i := range n {
			k := tap(int64(i+1), rapid.SampledFrom([]NoteKind{NoteMark, NoteNow, NoteUndo}).Draw(t, "kind"), float64(rapid.IntRange(0, 99).Draw(t, "at")))
			k.Movement, k.Mark = rapid.IntRange(1, 5).Draw(t, "movement"), "6.5"
			if k.Kind == NoteUndo && i > 0 {
				k.Undoes = notes[rapid.IntRange(0, i-1).Draw(t, "of")].ID
			}
			notes = append(notes, k)
		}
		mixed := rapid.Permutation(notes).Draw(t, "order")
		if d := cmp.Diff(Standing(notes), Standing(mixed)); d != "" {
			t.Fatal(d)
		}
		if string(marksOf(notes)) != string(marksOf(mixed)) || cmp.Diff(tapsOf(notes), tapsOf(mixed)) != "" {
			t.Fatal("marks or taps depend on the order of arrival")
		}
	})
}

func TestMarksOfNotes(t *testing.T) {
	first, second, rider, slip := tap(1, NoteMark, 5), tap(2, NoteMark, 9), tap(3, NoteMark, 90), tap(4, NoteError, 50)
	first.Movement, first.Mark, first.Judge = 3, "6.0", "C"
	second.Movement, second.Mark, second.Judge, second.Text = 3, "6.5", "C", `better, "late"`
	rider.Collective, rider.Mark, rider.Judge = "Rider", "7.0", "C"
	slip.Judge, slip.Text = "C", "forgot the circle"
	want := "movement,judge,mark,remark\n3,C,6.5,\"better, \"\"late\"\"\"\nerror,C,,forgot the circle\ncollective:Rider,C,7.0,\n"
	if got := string(marksOf([]Note{first, second, rider, slip})); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if marksOf([]Note{tap(1, NoteNow, 3)}) != nil {
		t.Error("a marks file without marks")
	}
}

// TestWordsOfNotes reads back what is written with the reader of commentaries.
func TestWordsOfNotes(t *testing.T) {
	a, b := tap(1, NoteRemark, 75.25), tap(2, NoteFault, 3)
	a.Text, b.Text = "late & hollow <here> --> there\nstill", "not square"
	cues, ps := remarks.Read("notes", wordsOf([]Note{a, b}))
	if len(ps) > 0 || len(cues) != 2 {
		t.Fatalf("%d cues, problems %v", len(cues), ps)
	}
	if cues[0].Text != "not square" || cues[0].StartS != 3 || cues[1].StartS != 75.25 || !strings.Contains(cues[1].Text, "late & hollow <here>") {
		t.Errorf("cues %+v", cues)
	}
}

func TestTapsOfNotes(t *testing.T) {
	a, b, c := tap(1, NoteNow, 10), tap(2, NoteNow, 30), tap(3, NoteNow, 33)
	a.Movement, b.Movement, c.Movement = 1, 2, 2
	want := map[int]gait.Seconds{1: 10, 2: 33}
	if d := cmp.Diff(want, tapsOf([]Note{a, b, c})); d != "" {
		t.Error(d)
	}
}

func TestNotesThatCannotBe(t *testing.T) {
	good := tap(1, NoteMark, 5)
	good.Mark = "6.5"
	for name, spoil := range map[string]func(*Note){
		"no id":       func(n *Note) { n.ID = "" },
		"no device":   func(n *Note) { n.Device = "" },
		"no number":   func(n *Note) { n.Seq = 0 },
		"other ride":  func(n *Note) { n.RideID = "x" },
		"other kind":  func(n *Note) { n.Kind = "guess" },
		"mark of 11":  func(n *Note) { n.Mark = "11" },
		"mark of x":   func(n *Note) { n.Mark = "6.5x" },
		"no time":     func(n *Note) { n.AtS = 1e9 },
		"long text":   func(n *Note) { n.Text = strings.Repeat("x", MaxNoteText+1) },
		"not text":    func(n *Note) { n.Text = "\xff" },
		"movement -1": func(n *Note) { n.Movement = -1 },
	} {
		n := good
		spoil(&n)
		if checkNotes("r", []Note{good, n}) == nil {
			t.Errorf("%s was taken", name)
		}
	}
	if err := checkNotes("r", []Note{good}); err != nil {
		t.Error(err)
	}
}

func TestDates(t *testing.T) {
	for _, bad := range []string{"", "2026-02-30", "31.5.2026", "2026-5-1", "0026-05-01", "2026-05-01T10:00"} {
		if _, err := ParseDate(bad); CodeOf(err) != Invalid {
			t.Errorf("%q was read as a day", bad)
		}
	}
	d, err := ParseDate("2024-02-28")
	if err != nil || d.Add(2) != "2024-03-01" || d.DaysTo("2024-03-01") != 2 || d.Short() != "28 Feb" || d.Words() != "Wednesday 28 February 2024" {
		t.Errorf("%v: %s %d %s %s", err, d.Add(2), d.DaysTo("2024-03-01"), d.Short(), d.Words())
	}
}

func TestFileNamesFromOtherMachines(t *testing.T) {
	for in, want := range map[string]string{
		"ride.csv": "ride.csv", "../../etc/passwd": "passwd", `C:\rides\a.gpx`: "a.gpx", "": "unnamed", "/": "unnamed", "..": "..",
		"a\x00b\n.csv": "ab.csv", "\xff.csv": ".csv",
	} {
		if got := cleanFile(in); got != want && !(in == ".." && got == "..") {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
}

func TestMessagesHideTheMachine(t *testing.T) {
	err := Wrap(Busy, Errorf(Internal, "open /var/secret: denied"), "the store cannot be read")
	if MessageOf(err) != "the store cannot be read" || CodeOf(err) != Busy {
		t.Errorf("%q %q", MessageOf(err), CodeOf(err))
	}
	if strings.Contains(MessageOf(errTest{}), "secret") {
		t.Error("an unknown error was shown")
	}
}

type errTest struct{}

func (errTest) Error() string { return "secret" }
