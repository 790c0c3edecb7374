package sheet

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The wordings below are common practice on the sheets of the national bodies; each row is one
// reading and the ways in which it is written.
type wording struct {
	want  string
	lines []string
}

func checkWordings(t *testing.T, tests []wording) {
	t.Helper()
	for _, c := range tests {
		for _, l := range c.lines {
			f := Parse("t", []byte("arena: 20 x 60\n1 "+l+"\n"))
			var out []string
			for _, m := range f.Movements {
				for _, p := range m.Parts {
					for _, a := range p.Acts {
						s := say(a)
						if a.Loop > 0 {
							s += " loop" + string(rune('0'+a.Loop))
						}
						out = append(out, s)
					}
				}
			}
			if got := strings.Join(out, "|"); got != c.want {
				t.Errorf("%q\n got %s\nwant %s", l, got, c.want)
			}
			for _, p := range f.Problems {
				if p.Severity != Note {
					t.Errorf("%q: %s", l, p)
				}
			}
		}
	}
}

func TestLoopsOfASerpentine(t *testing.T) {
	checkWordings(t, []wording{
		{"@A serpentine n3-3loops|@over:centre line counter-canter loop2", []string{"A  Serpentine 3 loops, second loop in counter-canter",
			"A  Serpentine in 3 equal loops, the middle loop in counter canter", "A  Serpentine of three loops. Second loop counter-canter", "A Serpentine 3 loops, loop 2 in counter-canter"}},
		{"@A serpentine n3-3loops|@over:centre line counter-canter loop2|@over:centre line next loop loop3",
			[]string{"A  Serpentine of 3 loops, first and third loop true canter, second loop counter canter",
				"A  Serpentine 3 loops, no change of lead, 1st and 3rd loop in true canter, 2nd loop in counter-canter",
				"A  Serpentine 3 loops, loops 1 and 3 in true canter, loop 2 in counter-canter"}},
		{"@C serpentine n4-4loops|@over:centre line counter-canter loop2|@over:centre line next loop loop3|@over:centre line counter-canter loop4",
			[]string{"C  Serpentine four loops, loops 1 and 3 in true canter, loops 2 & 4 counter-canter"}},
		{"@A serpentine trot n3-3loops|@over:centre line pace walk loop2|@over:centre line pace trot loop3",
			[]string{"A  Serpentine three loops, first loop trot, second loop walk, third loop trot"}},
		{"@A serpentine n3-3loops", []string{"A  Serpentine 3 loops, no change of lead", "A  Serpentine 3 loops returning to the centre line"}},
		{"@A serpentine n4-4loops|@each crossing:centre line pace walk n3-5steps", []string{"A  Serpentine of 4 loops, going over the centre line with 3-5 walk steps each time"}},
	})
}

func TestCountsAndRanges(t *testing.T) {
	checkWordings(t, []wording{
		{"@X pace walk n3-5steps|pace working trot then", []string{"X  Walk, 3-5 steps, proceed working trot", "X  Walk 3 to 5 steps, then working trot", "X  3–5 walk steps then working trot"}},
		{"@X pace medium walk n4-4steps|pace working trot then", []string{"X  Medium walk, 4 (four) steps, proceed working trot", "X  Medium walk four (4) steps, proceed in working trot"}},
		{"@X pace walk n3-5steps", []string{"X  3 to 5 steps of walk", "X  3-5 steps walk"}},
		{"@over:X pace walk n3-4steps", []string{"Over X  3-4 walk steps", "Over X  walk for one horse's length", "Over X  walk, 1 horse length"}},
		{"@C halt 4s", []string{"C  Halt 3-5 seconds", "C  Halt (3 to 5 seconds)", "C  Halt 4 secs", "C  Halt, immobility 4 sec.", "C  a 4 second halt", "C  Halt 3 s to 5 s"}},
		{"@X halt 3s", []string{"X  Halt not less than 3 seconds", "X  Halt for not less than 3 seconds", "X  Halt, minimum 3 seconds", "X  Halt min. 3 sec"}},
		{"@A circle left 12.5m", []string{"A  Circle left 10-15 m", "A  Circle left 10 to 15 metres diameter", "A  Circle left between 10 and 15 m", "A  Circle left 10m-15m", "A  Circle left 10m to 15m diam."}},
		{"@C halt|rein-back n3-4steps|pace medium walk then", []string{"C  Halt, rein back 3-4 steps, proceed in medium walk", "C  Halt - Rein back 3 to 4 steps - Proceed in medium walk"}},
		{"@X simple change n3-5steps", []string{"X  Simple change (3-5 steps)", "X  Simple change (3-5 walk steps)", "X  Simple change 3-5 steps"}},
		{"@LI flying change n9-9 every1", []string{"L-I  On centre line: 9 one-tempis", "L-I  9 flying changes every stride"}},
		{"@MXK change rein|flying change n7-7 every2", []string{"M-X-K  On the diagonal 7 flying changes of leg every 2nd stride (2-time changes)"}},
	})
}

// A range leaves the choice to the rider: the note says what is planned.
func TestRangesAreSaidBack(t *testing.T) {
	for line, want := range map[string]string{"C  Halt 3-5 seconds": "3 to 5 s is left to the rider; 4 s is planned",
		"A  Circle left 10-15 m": "10 to 15 m is left to the rider; 12.5 m is planned"} {
		f := Parse("t", []byte("arena: 20 x 60\n1 "+line+"\n"))
		if len(f.Problems) != 1 || f.Problems[0].Severity != Note || f.Problems[0].Message != want {
			t.Errorf("%q: %v, want %q", line, f.Problems, want)
		}
	}
}

func TestBracketsThatNameTheFigureAgain(t *testing.T) {
	checkWordings(t, []wording{
		{"@E circle left 10m", []string{"E  Circle left 10 m (volte)", "E  Circle left (volte) 10 m", "E  Circle left 10m (ten metres)", "E  Circle left (10m Ø)", "E  Circle left Ø 10 m"}},
		{"@B volte right 8m", []string{"B  Volte right (8 m)", "B  Volte right, 8 m", "B  Volte right (8m circle)"}},
		{"@M turn on the haunches right", []string{"M  Half turn right on the haunches (turn on haunches)", "M  Turn on the haunches right (half turn)"}},
		{"@G half pirouette left", []string{"G  Half pirouette left (turn on the haunches)", "G  1/2 pirouette L", "G  ½ pirouette left"}},
		{"@G turn on the forehand right", []string{"G  Turn about the forehand right (turn on the forehand)"}},
		{"@E half circle right 10m|@H return", []string{"E  Half circle right 10 m (demi-volte) returning to the track at H", "E  Half circle right 10m, return to the track at H"}},
		{"@F half circle right 10m", []string{"F  Half circle right 10 m (demi-volte)", "F  Demi-volte right (10 m)"}},
		{"@KE shoulder-in left", []string{"K-E  Shoulder-in left (shoulder-in)", "K-E  Shoulder-fore left"}},
		{"@EH travers right", []string{"E-H  Haunches-in right (travers)", "E-H  Travers right (haunches in)"}},
		{"@A pace medium walk", []string{"A  Walk (medium)", "A  Medium walk"}},
		{"@between:GH turn on the haunches right", []string{"Btw. G & H  Turn on haunches right (half pirouette)"}},
		{"@HXF pace extended trot|@F pace collected trot", []string{"H-X-F  Extended trot, F collected trot (transitions at H and F)"}},
	})
}

func TestOneChangeOfPace(t *testing.T) {
	checkWordings(t, []wording{
		{"@K pace collected canter lead:left", []string{"K  Strike off collected canter left", "K  Proceed in collected canter left lead", "K  Depart collected canter left lead",
			"K  Transition to collected canter left lead", "K  Collected canter left strike off", "K  Strike off in collected canter (left lead)", "K  coll. canter left"}},
		{"@C pace canter lead:left", []string{"C  Canter depart left lead", "C  Strike-off into canter left lead", "C  Canter left"}},
		{"@H pace trot|@C pace walk", []string{"H  Transition to trot, C walk", "H  Trot, C walk"}},
	})
}

func TestZigZags(t *testing.T) {
	checkWordings(t, []wording{
		{"@D zig-zag [3 6 6 6 3]", []string{"D  Zig-zag 3-6-6-6-3 strides", "D  Zig-zag, first half-pass 3 strides, the 3 following 6 strides, the last 3 strides"}},
		{"@D zig-zag n5-5 [3 6 6 6 3]", []string{"D  5 half-passes, first 3 strides, the others 6, the last 3",
			"D  5 half-passes to either side of the centre line, the first of 3 strides, the others of 6 strides and the last one 3",
			"D  Five half passes: 3 strides, the others 6, last 3"}},
		{"@D zig-zag left n5-5 [3 6 6 6 3]", []string{"D  5 half-passes, first half-pass to the left and last to the left of 3 strides, the others of 6 strides"}},
		{"@D zig-zag [4 8 8 4]", []string{"D  half-passes 4-8-8-4", "D  Zig zag 4-8-8-4"}},
		{"@DG zig-zag 5m n4-4", []string{"D-G  4 half-passes 5 m to either side of CL", "D-G  4 half-passes, 5m to either side of the centre line", "D-G  Four half passes 5 metres either side of centerline"}},
		{"@D zig-zag right 5m n3-3|flying change", []string{"D  3 half-passes to either side of centre line with flying change at each change of direction, 5 m to either side of the CL, first to the right"}},
	})
}

func TestShortenedWords(t *testing.T) {
	checkWordings(t, []wording{
		{"@C track right|pace working trot", []string{"C  Tr Rt, wkg tr", "C  Track Rt, wkg. trot", "C  Track right, w/t"}},
		{"@C track left", []string{"C  Track Lft", "C  Tr. L", "C  Track lt", "c  track l"}},
		{"@A circle left 20m", []string{"A  Cr L 20m", "A  CR 20m L", "A  twenty-metre circle left", "A  Circ. left 20 m", "A  20m diam. circle left", "A  Circle left 20 metres in diameter", "a  circle left 20m"}},
		{"@HXF pace collected trot", []string{"HXF  coll. trot", "HXF coll trot", "H.X.F. Collected trot", "HXF C.T.", "hxf  collected trot"}},
		{"@HXF pace medium trot", []string{"HXF med. trot", "H-X-F Med trot", "HXF M.T.", "h-x-f  medium trot"}},
		{"@KXM pace extended trot", []string{"KXM  ext trot", "KXM ext. trot", "K–X–M  Extended trot"}},
		{"@A enter working trot", []string{"A  enter w.t.", "A ENTER IN WORKING TROT RISING OR SITTING", "A  Enter in trot (working) sitting or rising", "•  A  Enter in working trot", "- A  Enter in working trot"}},
		{"@C pace medium walk", []string{"C  M.W.", "C  MW", "C  Med. walk", "C  m walk"}},
		{"@B half circle right 10m >X", []string{"B  ½ circle right 10m to X", "B  1/2 10 m circle right to X", "B  10m half circle R to X", "B  Half a circle right, 10 m diam., to X"}},
		{"@G turn on the haunches left 180deg", []string{"G  180° turn on the haunches left", "G  half turn on haunches 180 degrees left", "G  180º turn on the haunches L"}},
		{"@A centre line|@X halt", []string{"A  Down c/l, X halt", "A  Down C/L. X Halt", "A  Turn down CL, X halt", "A Down centerline, X halt"}},
		{"@between:KA pace working canter lead:left", []string{"Between K & A  Working canter left", "between k & a    working canter left", "Btw K & A working canter left lead", "Between K + A  wkg canter left"}},
		{"@before:C pace medium walk", []string{"Just before C  medium walk", "Before C Medium walk", "Shortly before C, medium walk"}},
		{"@C track right", []string{"On reaching C  Track right", "C  Track to the right", "At the letter C track right"}},
		{"@MXK change rein medium trot", []string{"M-X-K  Change the rein across the whole arena in medium trot", "MXK  Chg. rein med trot", "MXK Change rein on diagonal, medium trot"}},
		{"@KH double loop 3m", []string{"KH TWO LOOPS 3M DEEP", "K-H  Two loops 3m from the track", "K-H  Double loop, 3 metres"}},
		{"@A circle trot left 20m|stretch|@before:A retake then", []string{"A  Circle 20m left in rising trot letting the horse take the bit forward and down; before A shorten reins"}},
		{"@X pace walk", []string{"X  A few steps of walk", "X  a few walk steps"}},
	})
}

func TestOtherWordings(t *testing.T) {
	checkWordings(t, []wording{
		{"@RV change rein extended walk|@VK pace medium walk then|@K pace collected walk then", []string{"R-V: Change of hand in extended walk. V-K: Medium walk. K: Collected walk"}},
		{"@KXM change rein medium trot|@X pace working trot then", []string{"K-X-M  Change the rein, medium trot to X. X-M working trot"}},
		{"@EB half circle free walk left 20m", []string{"E  Half circle left, 20 metres, E-B in free walk on a long rein"}},
		{"@X trot change", []string{"X  Simple change of leg through trot", "X  Change of leg through trot"}},
		{"@C circle left 20m|stretch", []string{"C  Circle left 20m allowing the horse to take the rein and stretch the neck forward and down", "C  Circle left 20m, let the horse chew the reins out of the hand"}},
		{"@MXK change rein medium trot", []string{"M-X-K: Change the whole arena in medium trot", "MXK Change rein, medium trot"}},
		{"@C circle right 20m|give and retake n3-4strides then|retake", []string{"C  Circle right 20 m. Between the centre line and the long side give both reins forward for 3-4 strides and retake"}},
		{"@A half circle right 10m|@between:VE return", []string{"A  Half circle right 10m, return to the track between V and E", "A  10 m half circle right and return to the track between V and E"}},
		{"@M judged >K", []string{"(Transitions at M and K)"}},
		{"judged", []string{"The transitions from collected trot to extended trot and back", "Transitions"}},
		{"@HK pace medium canter|@K pace working canter", []string{"H-K  Medium canter, K working canter", "H-K Med. canter, K wkg canter"}},
		{"@E turn left|@X halt 4s|pace working trot then|@B track right", []string{"E  Turn left X Halt 4 sec, proceed working trot, B track right"}},
	})
}

// The coefficient and the best mark stand in many forms at the end of a line.
func TestCoefficientForms(t *testing.T) {
	for _, end := range []string{" x2", "  2", " (2)", "  coeff. 2", "  10 x 2", " *2", "  10  2", "  10 (2)", " 2x", "  10×2", " (coefficient: 2)", " [x2]",
		"  COEF 2", "\t10\t2", "|10|2|", "  10  ____  2", "  10  2  ____", "\t10\t\tx2", " (x2)", "  straightness; regularity  10  2", "  2  10  Straightness, contact",
		"\t2\t10\tBend, rhythm; quality"} {
		f := Parse("t", []byte("1 A  Enter in collected trot"+end+"\n"))
		if m := f.Movements[0]; m.Coefficient != 2 || m.MaxMark != 10 || len(m.Parts[0].Acts) != 1 || strings.Contains(m.Parts[0].Text, "2") {
			t.Errorf("%q: coefficient %d, best mark %d, %v", end, m.Coefficient, m.MaxMark, m.Parts[0].Acts)
		}
	}
	for _, l := range []string{"1 C  Rein back 4", "1 A  Circle left 20 m", "1 C  Halt 4 s"} {
		if m := Parse("t", []byte(l+"\n")).Movements[0]; m.Coefficient != 1 {
			t.Errorf("%q: coefficient %d", l, m.Coefficient)
		}
	}
}

// The size of the arena is found however it stands above the movements.
func TestArenaLines(t *testing.T) {
	for _, l := range []string{"Arena 20m x 40m", "arena: 20 x 40", "Arena: Small 20 x 40", "Conditions: Small arena 20m x 40m", "20 x 40 arena", "20m × 40m", "ARENA 20 X 40", "Size of arena 40 x 20 m"} {
		f := Parse("t", []byte(l+"\n1 A Enter in working trot\n"))
		h, ok := f.Header("arena")
		if !ok || len(f.Movements) != 1 {
			t.Errorf("%q: %v, %d movements", l, f.Headers, len(f.Movements))
			continue
		}
		if _, n, err := ParseArena(h.Value); err != nil || n != 40 {
			t.Errorf("%q: arena %q", l, h.Value)
		}
		for _, p := range f.Problems {
			if p.Severity != Note {
				t.Errorf("%q: %s", l, p)
			}
		}
	}
}

// Titles, headings, totals, remarks and riding out never become a marked movement, with numbers
// and without; each is said in a note.
func TestWhatIsNoMovement(t *testing.T) {
	above := "HOLLOW OAK RIDING CLUB\nNOVICE TEST 4 (2023)\nTrot work may be ridden rising or sitting\nNo.  Movement  Directives  Max Mark  Coefficient  Total  Remarks\n"
	below := "Leave arena at A in free walk on a long rein\nCOLLECTIVE MARKS:\nPaces (freedom and regularity)  10\nSubmission (attention and confidence; lightness\nof the movements)   10   x2\n" +
		"Total marks: 230\nDeductions: errors of course 1st error 2 marks\nFurther remarks: ______\nJudge's signature ______\nPage 1 of 2\n"
	for name, body := range map[string]string{
		"numbered":   "1  A  Enter in working trot\n   X  Halt, salute\n2  C  Track left\nNOVICE TEST 4 (2023)\n3  A  Down the centre line\n   X  Halt, salute\n",
		"unnumbered": "A  Enter in working trot\nC  Track left\nA  Down the centre line, X halt, salute\n",
	} {
		f := Parse("t", []byte(above+body+below))
		if len(f.Movements) != 3 {
			t.Errorf("%s: %d movements", name, len(f.Movements))
		}
		last := f.Movements[len(f.Movements)-1]
		if p := last.Parts[len(last.Parts)-1]; p.Acts[0].Kind != "leave" {
			t.Errorf("%s: the last part asks %v", name, p.Acts)
		}
		var marks []string
		for _, c := range f.Collectives {
			marks = append(marks, c.Name)
		}
		if d := cmp.Diff([]string{"Paces (freedom and regularity)", "Submission (attention and confidence; lightness of the movements)"}, marks); d != "" || f.Collectives[len(f.Collectives)-1].Coefficient != 2 {
			t.Errorf("%s: collective marks (-want +got):\n%s", name, d)
		}
		for _, p := range f.Problems {
			if p.Severity != Note {
				t.Errorf("%s: %s", name, p)
			}
		}
	}
}

// Sentences broken by a page's columns are put together; what is wrong in them keeps its place.
func TestBrokenLines(t *testing.T) {
	text := "1  A   Enter in working\n       trot\n   X   Halt, salute. Proceed in\n       working trot\n2  C   Track left\n" +
		"3  Between\n   C & H  Working canter left\n4  E   Half circle left 20m   Shape and size\n       diameter to B          of the circle\n5  A   Circle left 15\n       metres in mediun trot\n"
	f := Parse("t", []byte(text))
	var got []string
	for _, m := range f.Movements {
		for _, p := range m.Parts {
			for _, a := range p.Acts {
				got = append(got, say(a))
			}
		}
	}
	want := []string{"@A enter working trot", "@X halt", "salute", "pace working trot then", "@C track left", "@between:CH pace working canter lead:left",
		"@E half circle left 20m >B", "@A circle trot left 15m"}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("acts (-want +got):\n%s", d)
	}
	if d := f.Movements[3].Parts[0].Directive; d != "Shape and size of the circle" {
		t.Errorf("directive %q", d)
	}
	for _, p := range f.Problems {
		if p.Severity == Error && (p.Line != 11 || p.Column != 18) {
			t.Errorf("%s, want 11:18", p)
		}
	}
}
