package prepare

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/testkit"
)

// The planner against an independent solver: the HiGHS mixed integer solver (npm package
// "highs", MIT) on 200 random lessons, gap 0. The program written for it shares nothing with
// the planner but the problem.
func TestPlannerAgainstIndependentSolver(t *testing.T) {
	node, dir := solver(t)
	rng := rand.New(rand.NewPCG(2026, 11))
	var ps []*problem
	var own []float64
	var ownTime time.Duration
	for i := range 200 {
		p := randomProblem(rng, 5+rng.IntN(8), 3+rng.IntN(4))
		p.blocks = min(p.blocks, 4)
		if i%4 == 0 { // a lesson under way: some doses are had already
			for range p.values {
				p.start = append(p.start, rng.Float64())
			}
		}
		began := time.Now()
		s, err := p.solve(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		ownTime += time.Since(began)
		ps, own = append(ps, p), append(own, s.gain)
	}
	theirs, ms := solveAll(t, node, dir, ps)
	worst := 0.0
	for i := range ps {
		// HiGHS accepts a row broken by 1e-6; with slopes up to about 3 that is worth 1e-5.
		if d := own[i] - theirs[i]; d < -1e-5 || d > 1e-5 {
			t.Errorf("case %d: %v here, %v there", i, own[i], theirs[i])
		} else if d < 0 {
			worst = max(worst, -d)
		}
	}
	t.Logf("200 lessons: here %.0f ms, HiGHS %.0f ms, largest difference %.1e", float64(ownTime.Microseconds())/1000, ms, worst)
}

func solver(t testing.TB) (node, dir string) {
	node = testkit.Program(t, "node", "node", "nodejs")
	dir = filepath.Join(testkit.Root(t), "internal", "prepare", "testdata", "highs")
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "highs")); err != nil {
		why := "the npm package highs is not installed (npm install --no-package-lock in internal/prepare/testdata/highs)"
		if strings.Contains(os.Getenv("RINGCRAFT_REQUIRE"), "node") {
			t.Fatal(why)
		}
		t.Skip(why)
	}
	return node, dir
}

// solveAll runs the other solver over all problems in one process.
func solveAll(t testing.TB, node, dir string, ps []*problem) (objectives []float64, ms float64) {
	var in bytes.Buffer
	for _, p := range ps {
		line, err := json.Marshal(program(p))
		if err != nil {
			t.Fatal(err)
		}
		in.Write(append(line, '\n'))
	}
	cmd := exec.Command(node, "solve.mjs")
	cmd.Dir, cmd.Stdin = dir, &in
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, stderr.String())
	}
	for i, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		var r struct {
			Status    string
			Objective float64
			Ms        float64
		}
		if err := json.Unmarshal([]byte(line), &r); err != nil || r.Status != "Optimal" {
			t.Fatalf("case %d: %v %s", i, err, line)
		}
		objectives, ms = append(objectives, r.Objective), ms+r.Ms
	}
	if len(objectives) != len(ps) {
		t.Fatalf("%d answers for %d problems", len(objectives), len(ps))
	}
	return objectives, ms
}

// program writes a problem as a mixed integer program in LP format: x<i>_<o> takes option o
// of item i; y<l>_<k> is how much of piece k of need l's returns is filled.
func program(p *problem) string {
	var objective, rows, bounds, binaries strings.Builder
	row := func(terms []string, limit float64) {
		if len(terms) > 0 {
			fmt.Fprintf(&rows, " %s <= %.10g\n", strings.Join(terms, " "), limit)
		}
	}
	term := func(c float64, name string) string { return fmt.Sprintf("%+.12g %s", c, name) }
	served := make([][]string, len(p.values))
	var time, work, load, blocks, lean, exclusive []string
	for i, it := range p.items {
		var one []string
		for o, opt := range it.options {
			x := fmt.Sprintf("x%d_%d", i, o)
			fmt.Fprintf(&binaries, " %s\n", x)
			one = append(one, term(1, x))
			time, work = append(time, term(float64(opt.time+p.pause), x)), append(work, term(float64(opt.time), x))
			load, blocks = append(load, term(float64(opt.load), x)), append(blocks, term(1, x))
			if opt.left != opt.right {
				lean = append(lean, term(float64(opt.left-opt.right), x))
			}
			for j, l := range opt.which {
				served[l] = append(served[l], term(-opt.dose[j], x))
			}
		}
		row(one, 1)
		if it.needs >= 0 {
			needs := append([]string{}, one...)
			for o := range p.items[it.needs].options {
				needs = append(needs, term(-1, fmt.Sprintf("x%d_%d", it.needs, o)))
			}
			row(needs, 0)
		}
	}
	for _, e := range p.exclusive {
		for o := range p.items[e].options {
			exclusive = append(exclusive, term(1, fmt.Sprintf("x%d_%d", e, o)))
		}
	}
	row(time, float64(p.time+p.pause))
	row(work, float64(p.work))
	row(load, float64(p.load))
	row(blocks, float64(p.blocks))
	row(exclusive, 1)
	row(lean, float64(p.slack))
	row(negated(lean), float64(p.slack))
	for l, v := range p.values {
		fills, from := served[l], 0.0
		for k, s := range p.returns {
			y := fmt.Sprintf("y%d_%d", l, k)
			fmt.Fprintf(&objective, " %s", term(v*s.Share/(s.Dose-from), y))
			fmt.Fprintf(&bounds, " 0 <= %s <= %.12g\n", y, s.Dose-from)
			fills, from = append(fills, term(1, y)), s.Dose
		}
		row(fills, p.had(l))
	}
	return "Maximize\n obj:" + objective.String() + "\nSubject To\n" + rows.String() + "Bounds\n" + bounds.String() + "Binary\n" + binaries.String() + "End\n"
}

func negated(terms []string) []string {
	out := make([]string, len(terms))
	for i, s := range terms {
		out[i] = map[byte]string{'+': "-", '-': "+"}[s[0]] + s[1:]
	}
	return out
}

// BenchmarkIndependentSolver times the other solver on the planner benchmark's problems; run
// beside BenchmarkPlanner. ns/op includes starting node once.
func BenchmarkIndependentSolver(b *testing.B) {
	node, dir := solver(b)
	for _, n := range []int{20, 60, 200} {
		b.Run(fmt.Sprintf("exercises=%d", n), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(7, uint64(n)))
			ps := make([]*problem, 5)
			for i := range ps {
				ps[i] = randomProblem(rng, n, 25)
			}
			total := 0.0
			for b.Loop() {
				_, ms := solveAll(b, node, dir, ps)
				total += ms
			}
			b.ReportMetric(total/float64(b.N*len(ps)), "ms/lesson")
		})
	}
}
