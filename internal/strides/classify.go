package strides

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"

	"ringcraft/internal/gait"
)

//go:embed paces.json
var pacesJSON []byte

const modelCount = 7

// model is how a pace looks; each pair is mean and spread.
type model struct {
	Name     string     `json:"name"`
	Pace     gait.Pace  `json:"pace"`
	Beats    int        `json:"beats"`
	Weight   float64    `json:"weight"` // how usual it is against its pace's main form
	Stride   [2]float64 `json:"stride_s"`
	RMS      [2]float64 `json:"rms_mps2"`
	Half     [2]float64 `json:"half"`
	Whole    [2]float64 `json:"whole"`
	SideHalf [2]float64 `json:"side_half"`
	SideDrop [2]float64 `json:"side_drop"`
	Source   string     `json:"source"`
}

var models = loadModels()

func loadModels() (m [modelCount]model) {
	var f struct {
		Paces []model `json:"paces"`
	}
	if err := json.Unmarshal(pacesJSON, &f); err != nil || len(f.Paces) != modelCount {
		panic(fmt.Sprintf("strides: embedded paces.json: %v, %d paces", err, len(f.Paces))) // impossible state: checked by test
	}
	copy(m[:], f.Paces)
	return m
}

// score is the log probability density of a window under the pace, sensor size aside.
func (m *model) score(_ *feature, c candidate) float64 {
	return gauss(c.period, m.Stride) + gauss(c.half, m.Half) + gauss(c.whole, m.Whole) + gauss(c.sideHalf, m.SideHalf) + gauss(c.sideWhole-c.whole, m.SideDrop)
}

func gauss(x float64, p [2]float64) float64 {
	d := (x - p[0]) / p[1]
	return -d*d/2 - math.Log(p[1])
}

// decision is the state of one window and its probability (of the pace, all forms together).
type decision struct {
	state int
	prob  float64
}

const (
	// a window shares five sixths of its samples with the next: its evidence counts that much less
	evidenceShare = 0.3
	stayPerSecond = 0.95
	// an expected pace is three times as likely before the motion is seen, once per window length
	expectedOdds = 3.0
	// what the motion itself must leave to a pace for the expectation to choose it
	leastEvidence = 0.15
)

// classify finds the most probable pace of every window: a hidden Markov model over the six forms,
// forward and backward. The size that each pace has on this sensor is learned from a first run.
func classify(f []feature, expected func(Seconds) gait.Variety) []decision {
	size := sizes()
	var post [][modelCount]float64
	for range 3 {
		post = forwardBackward(emissions(f, size, nil))
		size = learn(f, post, size)
	}
	plain := decide(post)
	if expected == nil {
		return plain
	}
	told := decide(forwardBackward(emissions(f, size, expected)))
	for i := range told {
		if models[told[i].state].Pace != models[plain[i].state].Pace && paceProb(post[i], models[told[i].state].Pace) < leastEvidence {
			told[i] = plain[i]
		}
	}
	return told
}

func sizes() (s [modelCount]float64) {
	for k, m := range models {
		s[k] = math.Log(m.RMS[0])
	}
	return s
}

// learn moves the usual size of each pace towards what this recording shows, as if twenty windows
// had been seen of the usual size before.
func learn(f []feature, post [][modelCount]float64, old [modelCount]float64) [modelCount]float64 {
	const before = 20
	usual := sizes()
	var sum, n [modelCount]float64
	for i := range f {
		for k := range models {
			if p := post[i][k]; p > 0.8 && !f[i].absent {
				sum[k] += p * math.Log(max(f[i].middle, 1e-3))
				n[k] += p
			}
		}
	}
	for k := range models {
		old[k] = (sum[k] + before*usual[k]) / (n[k] + before)
	}
	return old
}

func emissions(f []feature, size [modelCount]float64, expected func(Seconds) gait.Variety) [][modelCount]float64 {
	out := make([][modelCount]float64, len(f))
	for i := range f {
		want := gait.Pace("")
		if expected != nil {
			want = expected(f[i].t).PaceOf()
		}
		for k := range models {
			m := &models[k]
			e := 0.0
			if !f[i].absent {
				e = f[i].chosen[k].score + f[i].sizeScore(m, size[k]) + math.Log(m.Weight)
			}
			if want != "" && m.Pace == want {
				e += math.Log(expectedOdds)
			}
			out[i][k] = evidenceShare * e
		}
	}
	return out
}

// sizeScore judges the size of the motion: of a moving pace over the whole window, and that the middle
// moves as much as the rest; of a halt over the middle alone, so that a short halt between two paces
// is seen.
func (f *feature) sizeScore(m *model, size float64) float64 {
	all, mid := math.Log(max(f.rms, 1e-3)), math.Log(max(f.middle, 1e-3))
	if m.Beats == 0 {
		return gauss(mid, [2]float64{size, m.RMS[1]}) + gauss(all-mid, [2]float64{0.5, 1.5})
	}
	return gauss(all, [2]float64{size, m.RMS[1]}) + gauss(all-mid, [2]float64{0, middleSpread})
}

// middleSpread is how much the size of the middle second differs from that of the window in one pace.
const middleSpread = 0.3

// transition is the log probability of going from one form to another in one hop.
var transition = func() (t [modelCount][modelCount]float64) {
	stay := math.Pow(stayPerSecond, hopS)
	for a := range models {
		sum := 0.0
		var w [modelCount]float64
		for b := range models {
			if a != b {
				w[b] = models[b].Weight
				if odd(models[a].Pace, models[b].Pace) {
					w[b] *= 0.2
				}
				sum += w[b]
			}
		}
		for b := range models {
			t[a][b] = math.Log(stay)
			if a != b {
				t[a][b] = math.Log((1 - stay) * w[b] / sum)
			}
		}
	}
	return t
}()

// odd names the changes that are rare in a horse: straight between halt and canter.
func odd(a, b gait.Pace) bool {
	return a == gait.Halt && b == gait.Canter || a == gait.Canter && b == gait.Halt
}

func forwardBackward(e [][modelCount]float64) [][modelCount]float64 {
	n := len(e)
	fw, bw := make([][modelCount]float64, n), make([][modelCount]float64, n)
	for i := range n {
		for b := range models {
			if i == 0 {
				fw[0][b] = e[0][b]
				continue
			}
			var in [modelCount]float64
			for a := range models {
				in[a] = fw[i-1][a] + transition[a][b]
			}
			fw[i][b] = logSum(in) + e[i][b]
		}
	}
	for i := n - 2; i >= 0; i-- {
		for a := range models {
			var in [modelCount]float64
			for b := range models {
				in[b] = transition[a][b] + e[i+1][b] + bw[i+1][b]
			}
			bw[i][a] = logSum(in)
		}
	}
	for i := range n {
		var l [modelCount]float64
		for k := range models {
			l[k] = fw[i][k] + bw[i][k]
		}
		total := logSum(l)
		for k := range models {
			fw[i][k] = math.Exp(l[k] - total)
		}
	}
	return fw
}

func logSum(v [modelCount]float64) float64 {
	m := math.Inf(-1)
	for _, x := range v {
		m = max(m, x)
	}
	s := 0.0
	for _, x := range v {
		s += math.Exp(x - m)
	}
	return m + math.Log(s)
}

func paceProb(p [modelCount]float64, pace gait.Pace) float64 {
	s := 0.0
	for k, m := range models {
		if m.Pace == pace {
			s += p[k]
		}
	}
	return s
}

// decide takes the most probable pace of each window and its most probable form.
func decide(post [][modelCount]float64) []decision {
	out := make([]decision, len(post))
	for i, p := range post {
		best := 0
		for k, m := range models {
			if pk, pb := paceProb(p, m.Pace), paceProb(p, models[best].Pace); pk > pb || pk == pb && p[k] > p[best] {
				best = k
			}
		}
		out[i] = decision{best, paceProb(p, models[best].Pace)}
	}
	return out
}
