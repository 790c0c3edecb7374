package sheet

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ringcraft/internal/testkit"
)

// say prints an act in one line, for the tables of wordings.
func say(a Act) string {
	var w []string
	add := func(format string, args ...any) { w = append(w, fmt.Sprintf(format, args...)) }
	if a.At != nil {
		add("@%s", a.At.words())
	}
	add("%s", a.Kind)
	for _, s := range []string{a.Variety, a.Form, a.Pace, a.Hand} {
		if s != "" {
			add("%s", s)
		}
	}
	if a.Lead != "" {
		add("lead:%s", a.Lead)
	}
	if a.EndHand != "" {
		add("end:%s", a.EndHand)
	}
	if a.SizeM != 0 {
		add("%gm", a.SizeM)
	}
	if a.Count != 0 {
		add("n%d-%d%s", a.Count, a.CountTo, a.Unit)
	}
	if len(a.List) > 0 {
		add("%v", a.List)
	}
	if a.Every != 0 {
		add("every%d", a.Every)
	}
	if a.Seconds != 0 {
		add("%gs", a.Seconds)
	}
	if a.Degrees != 0 {
		add("%gdeg", a.Degrees)
	}
	if a.Frac != 0 {
		add("frac%g", a.Frac)
	}
	if a.To != nil {
		add(">%s", a.To.words())
	}
	if a.Then {
		add("then")
	}
	return strings.Join(w, " ")
}

func (p *Place) words() string {
	s := string(p.Kind)
	if p.Kind == At || p.Kind == Route {
		s = ""
	}
	if p.Fraction != 0 {
		return fmt.Sprintf("portion%g", p.Fraction)
	}
	return strings.Trim(s+":"+strings.Join(p.Letters, "")+p.Line, ":")
}

func acts(line string) []string {
	f := Parse("t", []byte("arena: 20 x 60\n1 "+line+"\n"))
	var out []string
	for _, m := range f.Movements {
		for _, p := range m.Parts {
			for _, a := range p.Acts {
				out = append(out, say(a))
			}
		}
	}
	return out
}

// The same thing in the wordings of several countries and habits of typing.
func TestWordings(t *testing.T) {
	tests := []struct {
		want  string
		lines []string
	}{
		{"@E circle left 10m", []string{"E circle left 10 m", "E  Circle left 10m", "E | circle to the left 10 metres diameter", "E\tCircle L (10m)",
			"E 10 m circle left", "E ten metres circle to left hand", "E Circle, 10 meters, left", "E CIRCLE LEFT 10 M", "At E circle left 10m", "E: circle left, 10m"}},
		{"@MXK change rein medium trot", []string{"MXK Change rein in medium trot", "M-X-K  Change the rein, medium trot", "M X K change of hand in medium trot",
			"M – X – K Change the rein across the diagonal in medium trot", "mxk change rein in medium trot"}},
		{"@between:CH pace working canter lead:left", []string{"Between C and H working canter left", "Between C & H  Working canter left lead", "between C-H working canter left",
			"Between CH working canter left", "Betw C and H working canter on the left lead"}},
		{"@BF shoulder-in right", []string{"B-F Shoulder-in right", "BF SI R"}},
		{"@B shoulder-in right >F", []string{"B to F Shoulder in right", "From B to F shoulder-in right", "B Shoulder-in right to F"}},
		{"@KX half-pass right", []string{"K-X HP R", "K-X Half-pass to the right", "K X half pass right", "KX Halfpass right"}},
		{"@X halt|salute", []string{"X Halt, salute", "X Halt - immobility - salute", "X H-S", "X halt & greet"}},
		{"@C halt 4s|rein-back n4-4steps|pace working trot then", []string{"C Halt 4 seconds, rein back 4 steps, proceed in working trot",
			"C halt for 4 sec - reinback 4 steps - then working trot"}},
		{"@A serpentine n3-3loops", []string{"A Serpentine 3 loops", "A Serpentine of three equal loops", "A serpentine with 3 bows"}},
		{"@MXK flying change n5-5 every3", []string{"MXK 5 flying changes every 3rd stride", "MXK Five changes of leg every third stride", "M-X-K, 5 flying changes of leg every 3 strides"}},
		{"@MXK change rein|flying change n5-5 every3", []string{"M-X-K on the diagonal 5 flying changes of leg every 3rd stride"}},
		{"@A centre line", []string{"A Down the centre line", "A Down centerline", "A turn down the center line", "A cl", "A Turn onto centre line", "A Turn left down the centre line"}},
		{"@HXF change rein free walk", []string{"HXF Change the rein in free walk on a long rein", "HXF change rein, free walk on long rein", "HXF Change rein free walk"}},
		{"@D zig-zag [3 6 6 6 3]", []string{"D zig-zag 3-6-6-6-3 strides", "D Half-pass zigzag 3-6-6-6-3"}},
		{"@L pirouette right", []string{"L Pirouette to the right", "L full pirouette right"}},
		{"@between:GM half pirouette left", []string{"Between G & M half-pirouette left", "Between G and M  Half pirouette to the left"}},
		{"@B half circle right 10m >X", []string{"B Half circle right 10 m to X", "B half-circle R 10 to X", "B Half 10 m circle right to X"}},
	}
	for _, c := range tests {
		for _, l := range c.lines {
			got := strings.Join(acts(l), "|")
			got = strings.ReplaceAll(strings.ReplaceAll(got, " frac1", ""), "centre line left", "centre line")
			if got != c.want {
				t.Errorf("%q\n got %s\nwant %s", l, got, c.want)
			}
		}
	}
}

func TestLinesOfASheet(t *testing.T) {
	text := "\uFEFFname: Größe Ελιά Ольха\r\narena: 20x40\r" +
		"collective: Rider x2\n1. A Enter in working trot x2\n   X  Halt\t# a comment\n2) C\tTrack left\tstraightness, attitude\t10\t2\n3 E 5 flying changes every stride\n" +
		"4 | A | Circle left 20 m | 10 |\n   5 strides of walk\n"
	f := Parse("t", []byte(text))
	type row struct{ Number, Coefficient, MaxMark, Parts, Line int }
	var got []row
	for _, m := range f.Movements {
		got = append(got, row{m.Number, m.Coefficient, m.MaxMark, len(m.Parts), m.Line})
	}
	want := []row{{1, 2, 10, 2, 4}, {2, 2, 10, 1, 6}, {3, 1, 10, 1, 7}, {4, 1, 10, 2, 8}}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("movements (-want +got):\n%s", d)
	}
	if h, _ := f.Header("name"); h.Value != "Größe Ελιά Ольха" {
		t.Errorf("name %q", h.Value)
	}
	if d := f.Movements[1].Parts[0].Directive; d != "straightness, attitude" {
		t.Errorf("directive %q", d)
	}
	if len(f.Collectives) != 1 || f.Collectives[0].Coefficient != 2 || len(f.Comments) != 1 {
		t.Errorf("collectives %v comments %v", f.Collectives, f.Comments)
	}
}

func TestPositionsCountCharacters(t *testing.T) {
	f := Parse("t", []byte("1 A  Ünïcödé cirlce left\n"))
	for _, p := range f.Problems {
		if strings.Contains(p.Message, "cirlce") && p.Column == 14 && p.Line == 1 && strings.Contains(p.Suggestion, "circle") {
			return
		}
	}
	t.Errorf("no problem at 1:14: %v", f.Problems)
}

func sheets(t testing.TB) map[string][]byte {
	out := map[string][]byte{}
	root := testkit.Root(t)
	for _, g := range []string{"sheets/*.sheet", "sheets/*/*.sheet", "internal/rideplan/testdata/*/*.sheet"} {
		files, err := filepath.Glob(filepath.Join(root, g))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			b, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			out[filepath.Base(f)] = b
		}
	}
	return out
}

// Printing and parsing again changes nothing more.
func TestPrintIsAFixedPoint(t *testing.T) {
	for name, text := range sheets(t) {
		fixedPoint(t, name, text)
	}
}

func fixedPoint(t testing.TB, name string, text []byte) {
	t.Helper()
	once := Print(Parse(name, text))
	f := Parse(name, []byte(once))
	if twice := Print(f); twice != once {
		t.Errorf("%s: (-once +twice)\n%s", name, cmp.Diff(once, twice))
	}
}

// A column of directives may say what the wording says.
func TestDirectiveLikeTheWording(t *testing.T) {
	for _, text := range []string{"1\tA\trhythm\trhythm", "1 X  straightness  straightness", "1|C|halt|rhythm|rhythm"} {
		f := Parse("t", []byte(text))
		part := f.Movements[0].Parts[0]
		if part.Letters == "" || part.Text == "" || part.Directive == "" {
			t.Errorf("%q reads as %+v", text, part)
		}
		fixedPoint(t, text, []byte(text))
	}
}

// What is printed asks the same acts as what was typed.
func TestPrintKeepsTheActs(t *testing.T) {
	all := func(f *File) (out []string) {
		for _, m := range f.Movements {
			for _, p := range m.Parts {
				for _, a := range p.Acts {
					out = append(out, fmt.Sprint(m.Number, " ", say(a)))
				}
			}
		}
		return out
	}
	for name, text := range sheets(t) {
		f := Parse(name, text)
		if d := cmp.Diff(all(f), all(Parse(name, []byte(Print(f))))); d != "" {
			t.Errorf("%s (-typed +printed):\n%s", name, d)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, b := range sheets(f) {
		f.Add(b)
	}
	f.Add([]byte("1 A \xff\xfe halt\r\n\r2"))
	f.Add([]byte("1\tA\tsoft\tsoft"))
	f.Fuzz(func(t *testing.T, b []byte) {
		p := Parse("fuzz", b)
		for _, q := range p.Problems {
			if q.Line < 1 || q.Column < 1 || q.Message == "" {
				t.Fatalf("problem without a place: %+v", q)
			}
		}
		fixedPoint(t, "fuzz", b)
	})
}

func TestVocabulary(t *testing.T) {
	if len(english.heads) < 300 {
		t.Errorf("%d words", len(english.heads))
	}
	if _, err := readVocabulary([]byte(`{"entries":[{"is":"abbr","value":"x","say":["HP"]}]}`)); err == nil {
		t.Error("an abbreviation without a category is taken")
	}
	known := map[string]bool{"act": true, "line": true, "unit": true, "form": true, "pace": true, "variety": true, "abbr": true, "hand": true,
		"lead": true, "prep": true, "num": true, "nth": true, "rest": true, "page": true, "short": true, "article": true, "every": true, "frac": true, "portion": true, "qual": true, "join": true, "skip": true,
		"expand": true, "times two": true, "ride mark": true, "arena": true}
	var f vocabFile
	if err := json.Unmarshal(vocabularyEN, &f); err != nil {
		t.Fatal(err)
	}
	for _, e := range f.Entries {
		if !known[e.Is] || len(e.Say) == 0 {
			t.Errorf("entry %s %s is not known to the parser or says nothing", e.Is, e.Value)
		}
		for _, s := range e.Say {
			if e.Is != "abbr" && s != strings.ToLower(s) {
				t.Errorf("%q is not in lower case", s)
			}
		}
	}
}

func TestNearest(t *testing.T) {
	words := []string{"canter", "circle", "halt", "serpentine", "shoulder"}
	for in, want := range map[string]string{"cirlce": "circle", "cantre": "canter", "hlat": "halt", "serpantine": "serpentine", "zebra": "", "": ""} {
		if got := Nearest(in, words); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", in, got, want)
		}
	}
}

// distance against a plain recursion.
func TestDistanceTwin(t *testing.T) {
	var slow func(a, b string) int
	slow = func(a, b string) int {
		if a == "" || b == "" {
			return len(a) + len(b)
		}
		cost := 1
		if a[len(a)-1] == b[len(b)-1] {
			cost = 0
		}
		d := min(slow(a[:len(a)-1], b)+1, slow(a, b[:len(b)-1])+1, slow(a[:len(a)-1], b[:len(b)-1])+cost)
		if len(a) > 1 && len(b) > 1 && a[len(a)-1] == b[len(b)-2] && a[len(a)-2] == b[len(b)-1] {
			d = min(d, slow(a[:len(a)-2], b[:len(b)-2])+1)
		}
		return d
	}
	words := []string{"", "a", "ab", "ba", "abc", "acb", "cab", "abcd", "badc", "dcba", "aabb", "abab"}
	for _, a := range words {
		for _, b := range words {
			if got, want := distance([]rune(a), []rune(b)), slow(a, b); got != want {
				t.Errorf("distance(%q, %q) = %d, want %d", a, b, got, want)
			}
		}
	}
}

func TestParseTimeAndArena(t *testing.T) {
	for in, want := range map[string]float64{"5:30": 330, "5'30\"": 330, "5 min 30 s": 330, "5.5 min": 330, "330 s": 330, "4 minutes": 240} {
		if got, err := ParseTime(in); err != nil || got != want {
			t.Errorf("ParseTime(%q) = %v, %v", in, got, err)
		}
	}
	for in, want := range map[string]float64{"20 x 60": 60, "20x40 m": 40, "60 x 20": 60, "40": 40} {
		if _, l, err := ParseArena(in); err != nil || l != want {
			t.Errorf("ParseArena(%q) = %v, %v", in, l, err)
		}
	}
	if _, _, err := ParseArena("20 x 50"); err == nil {
		t.Error("20 x 50 is taken")
	}
}

func BenchmarkParse(b *testing.B) {
	text := sheets(b)["willow-ford-elementary.sheet"]
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		Parse("b", text)
	}
}
