package strides

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/track"
)

// outcome gathers how the detector did over many rides.
type outcome struct {
	seen, right, pure, pureRight    float64 // windows; pure: no change of pace inside
	confusion                       map[[2]gait.Pace]float64
	byPace                          map[gait.Pace][]float64
	countErr                        []float64 // relative, by pace span of 6 s or more
	edge                            []float64 // s
	hz                              []float64 // relative error of stride rate
	leadSeen, leadRight, leadSilent float64   // seconds of canter
	falseIrregular, strides         float64
	advice, uncounted               int
}

func (o *outcome) add(r Result, tr truth) {
	for _, w := range r.Windows {
		want := tr.at(float64(w.T)).pace
		pure := tr.at(float64(w.T)-1.5).pace == want && tr.at(float64(w.T)+1.5).pace == want
		o.seen++
		if w.Pace == want {
			o.right++
		}
		if pure {
			o.pure++
			if w.Pace == want {
				o.pureRight++
			}
		}
		o.confusion[[2]gait.Pace{want, w.Pace}]++
	}
	for i := 1; i < len(tr.acts); i++ {
		if tr.acts[i].pace == tr.acts[i-1].pace {
			continue
		}
		best := math.Inf(1)
		for k := 1; k < len(r.Spans); k++ {
			if d := float64(r.Spans[k].Start) - tr.edges[i]; r.Spans[k].Pace == tr.acts[i].pace && r.Spans[k-1].Pace == tr.acts[i-1].pace && math.Abs(d) < math.Min(4, math.Abs(best)) {
				best = d
			}
		}
		o.edge = append(o.edge, best)
	}
	o.addCounts(r, tr)
	o.addLeads(r, tr)
	o.advice += len(r.Advice)
}

func (o *outcome) addCounts(r Result, tr truth) {
	for _, sp := range r.Spans {
		if sp.Pace == gait.Halt || sp.End-sp.Start < 6 {
			continue
		}
		if sp.Reason != "" {
			o.uncounted++
			continue
		}
		n, d := 0.0, 0.0
		for _, s := range tr.strides {
			// strides, and the parts of strides at the ends
			part := math.Min(s.t+s.d, float64(sp.End)) - math.Max(s.t, float64(sp.Start))
			if s.pace == sp.Pace && part > 0 {
				n += part / s.d
				d += part
			}
		}
		if n < 4 {
			continue
		}
		o.countErr = append(o.countErr, (sp.Count-n)/n)
		o.byPace[sp.Pace] = append(o.byPace[sp.Pace], (sp.Count-n)/n)
		o.hz = append(o.hz, sp.StrideHz*d/n-1)
		for _, s := range sp.Strides {
			o.strides++
			if s.Irregular {
				o.falseIrregular++
			}
		}
	}
}

func (o *outcome) addLeads(r Result, tr truth) {
	for t := 0.25; t < tr.edges[len(tr.edges)-1]; t += 0.5 {
		a := tr.at(t)
		if a.pace != gait.Canter {
			continue
		}
		for _, sp := range r.Spans {
			if sp.Pace == gait.Canter && t >= float64(sp.Start) && t < float64(sp.End) {
				o.leadSeen += 0.5
				switch sp.Lead {
				case a.lead:
					o.leadRight += 0.5
				case "":
					o.leadSilent += 0.5
				}
			}
		}
	}
}

func spread(v []float64) (mean, sd, worst float64) {
	n := 0.0
	for _, x := range v {
		if !math.IsInf(x, 0) {
			mean += x
			n++
		}
	}
	mean /= n
	for _, x := range v {
		if !math.IsInf(x, 0) {
			sd += (x - mean) * (x - mean) / n
			worst = math.Max(worst, math.Abs(x))
		}
	}
	return mean, math.Sqrt(sd), worst
}

// rides runs many simulated rides at one sampling rate.
func rides(t *testing.T, n int, hz float64, expected bool, change func(*horse)) *outcome {
	o := &outcome{byPace: map[gait.Pace][]float64{}, confusion: map[[2]gait.Pace]float64{}}
	for seed := range n {
		rng := rand.New(rand.NewPCG(uint64(seed), 77))
		h := newHorse(rng)
		if change != nil {
			change(&h)
		}
		tk, tr := h.ride(h.testRide(rng), hz, rng, true)
		var opt Options
		if expected {
			opt.Expected = func(s Seconds) gait.Variety {
				return map[gait.Pace]gait.Variety{gait.Halt: gait.HaltVariety, gait.Walk: gait.MediumWalk, gait.Trot: gait.WorkingTrot, gait.Canter: gait.WorkingCant}[tr.at(float64(s)-1).pace]
			}
		}
		r := Detect(tk, opt)
		if r.Reason != "" {
			t.Fatal(r.Reason)
		}
		o.add(r, tr)
	}
	return o
}

func (o *outcome) report(t *testing.T, name string) {
	lost := 0
	for _, e := range o.edge {
		if math.IsInf(e, 0) {
			lost++
		}
	}
	em, es, ew := spread(o.edge)
	cm, cs, cw := spread(o.countErr)
	hm, hs, hw := spread(o.hz)
	t.Logf("%s: %.0f windows, %.1f %% right, %.1f %% of those without a change inside", name, o.seen, 100*o.right/o.seen, 100*o.pureRight/o.pure)
	t.Logf("  changes of pace: %d of %d found, %.2f s late, SD %.2f s, worst %.2f s", len(o.edge)-lost, len(o.edge), em, es, ew)
	t.Logf("  count of a span: %.1f %%, SD %.1f %%, worst %.1f %%; stride rate: %.2f %%, SD %.2f %%, worst %.1f %%", 100*cm, 100*cs, 100*cw, 100*hm, 100*hs, 100*hw)
	t.Logf("  lead: %.1f %% right, %.1f %% wrong, %.1f %% not said; irregular strides wrongly named: %.0f of %.0f; advice %d; spans not counted %d", 100*o.leadRight/o.leadSeen, 100*(o.leadSeen-o.leadRight-o.leadSilent)/o.leadSeen, 100*o.leadSilent/o.leadSeen, o.falseIrregular, o.strides, o.advice, o.uncounted)
	for _, a := range []gait.Pace{gait.Walk, gait.Trot, gait.Canter} {
		m, sd, w := spread(o.byPace[a])
		t.Logf("  count %-7s %.1f %%, SD %.1f %%, worst %.1f %%", a, 100*m, 100*sd, 100*w)
	}
	for _, a := range []gait.Pace{gait.Halt, gait.Walk, gait.Trot, gait.Canter} {
		t.Logf("  %-7s halt %4.0f walk %4.0f trot %4.0f canter %4.0f", a, o.confusion[[2]gait.Pace{a, gait.Halt}], o.confusion[[2]gait.Pace{a, gait.Walk}], o.confusion[[2]gait.Pace{a, gait.Trot}], o.confusion[[2]gait.Pace{a, gait.Canter}])
	}
}

// rideCount is how many rides the tables take: a few, or RINGCRAFT_RIDES for the figures of docs/RECORDINGS.md.
func rideCount(few int) int {
	if n, err := strconv.Atoi(os.Getenv("RINGCRAFT_RIDES")); err == nil && n > 0 {
		return n
	}
	return few
}

// The detector over simulated rides at two rates; the figures stand in docs/RECORDINGS.md.
// Published classifiers on real horses reach 90 to 95 % of windows: the simulator is kinder than a
// horse, so these figures are what the method can do, not what it will do.
func TestSimulatedRides(t *testing.T) {
	for _, c := range []struct {
		name    string
		rides   int
		hz      float64
		planned bool
	}{{"100 Hz", rideCount(4), 100, false}, {"25 Hz", rideCount(8), 25, false}, {"25 Hz, plan known, a second off", rideCount(4), 25, true}} {
		o := rides(t, c.rides, c.hz, c.planned, nil)
		o.report(t, c.name)
		if s := o.right / o.seen; s < 0.96 {
			t.Errorf("%s: %.1f %% of windows right", c.name, 100*s)
		}
		if s := o.pureRight / o.pure; s < 0.985 {
			t.Errorf("%s: %.1f %% of windows without a change right", c.name, 100*s)
		}
		_, sd, worst := spread(o.edge)
		for _, e := range o.edge {
			if math.IsInf(e, 0) {
				t.Errorf("%s: a change of pace was not found", c.name)
			}
		}
		if sd > edgeSD || worst > 3*edgeSD {
			t.Errorf("%s: changes of pace off by SD %.2f s, worst %.2f s; said %.2f s", c.name, sd, worst, edgeSD)
		}
		if m, sd, _ := spread(o.countErr); math.Abs(m) > 0.01 || sd > 0.03 {
			t.Errorf("%s: count off by %.1f %%, SD %.1f %%", c.name, 100*m, 100*sd)
		}
		if m, sd, _ := spread(o.hz); math.Abs(m) > 0.005 || sd > 0.01 {
			t.Errorf("%s: stride rate off by %.2f %%, SD %.2f %%", c.name, 100*m, 100*sd)
		}
		if wrong := (o.leadSeen - o.leadRight - o.leadSilent) / o.leadSeen; wrong > 0.02 || o.leadRight/o.leadSeen < 0.9 {
			t.Errorf("%s: lead wrong for %.1f %% of the canter, right for %.1f %%", c.name, 100*wrong, 100*o.leadRight/o.leadSeen)
		}
		if o.falseIrregular/o.strides > 0.01 {
			t.Errorf("%s: %.1f %% of even strides called irregular", c.name, 100*o.falseIrregular/o.strides)
		}
		if o.advice > c.rides/10 {
			t.Errorf("%s: %d sound horses of %d are sent to the vet", c.name, o.advice, c.rides)
		}
	}
}

// Half the motion, strides three times as uneven as a good pair's, a loose and noisy sensor: how far
// the figures fall, and that what is said about the lead stays right.
func TestHardRides(t *testing.T) {
	o := rides(t, rideCount(6), 25, false, func(h *horse) { h.size, h.cv, h.noise, h.gyroNoise, h.slip = h.size/2, 0.06, 0.8, 0.2, 0.5 })
	o.report(t, "hard, 25 Hz")
	if s := o.right / o.seen; s < 0.9 {
		t.Errorf("%.1f %% of windows right", 100*s)
	}
	if wrong := (o.leadSeen - o.leadRight - o.leadSilent) / o.leadSeen; wrong > 0.03 {
		t.Errorf("lead wrong for %.1f %% of the canter", 100*wrong)
	}
}

// one rides the given acts on a middling horse with a good sensor.
func one(acts []act, hz float64, gyro bool, change func(*horse)) (Result, truth) {
	rng := rand.New(rand.NewPCG(4, 4))
	h := newHorse(rng)
	h.size, h.cv, h.noise, h.damp = 1, 0.025, 0.2, 0.8
	if change != nil {
		change(&h)
	}
	tk, tr := h.ride(acts, hz, rng, gyro)
	return Detect(tk, Options{}), tr
}

// The octave trap: a trot's beat is near a canter's stride, a passage's beat nearer still, and rising
// trot adds the stride's own rate to a trot.
func TestOctaveTrap(t *testing.T) {
	for name, c := range map[string]struct {
		a    act
		want gait.Pace
	}{
		"passage":        {act{pace: gait.Trot, dur: 30, hz: 0.93}, gait.Trot},
		"slow passage":   {act{pace: gait.Trot, dur: 30, hz: 0.88}, gait.Trot},
		"rising trot":    {act{pace: gait.Trot, dur: 30, hz: 1.3, rising: true}, gait.Trot},
		"quick trot":     {act{pace: gait.Trot, dur: 30, hz: 1.5}, gait.Trot},
		"canter":         {act{pace: gait.Canter, lead: LeadLeft, dur: 30, hz: 1.65}, gait.Canter},
		"slow canter":    {act{pace: gait.Canter, lead: LeadLeft, dur: 30, hz: 1.5}, gait.Canter},
		"pirouette":      {act{pace: gait.Canter, lead: LeadLeft, dur: 12, hz: 1.07, turn: 1}, gait.Canter},
		"walk":           {act{pace: gait.Walk, dur: 30, hz: 0.92}, gait.Walk},
		"quick walk":     {act{pace: gait.Walk, dur: 30, hz: 1.05}, gait.Walk},
		"collected walk": {act{pace: gait.Walk, dur: 30, hz: 0.85}, gait.Walk},
	} {
		r, tr := one([]act{c.a}, 50, false, nil)
		wrong := 0
		for _, w := range r.Windows {
			if w.Pace != c.want {
				wrong++
			}
		}
		if wrong > len(r.Windows)/20 {
			t.Errorf("%s: %d of %d windows are not %s", name, wrong, len(r.Windows), c.want)
			continue
		}
		n := 0.0
		for _, sp := range r.Spans {
			n += sp.Count
		}
		want := tr.edges[len(tr.edges)-1] * c.a.hz
		if math.Abs(n-want) > 1.5 {
			t.Errorf("%s: %.1f strides, truth %.1f", name, n, want)
		}
	}
}

// One stride a quarter longer than its neighbours in forty seconds of trot.
func TestIrregularStride(t *testing.T) {
	acts := []act{{pace: gait.Trot, dur: 20, hz: 1.3}, {pace: gait.Trot, dur: 1 / 1.04, hz: 1.04}, {pace: gait.Trot, dur: 20, hz: 1.3}}
	r, _ := one(acts, 50, false, func(h *horse) { h.cv = 0.02 })
	near, far := 0, 0
	for _, i := range r.Irregular {
		if i.T > 18.5 && i.T < 22 {
			near++
			if i.Change < 0.1 {
				t.Errorf("the long stride is said to be %+.0f %%", 100*i.Change)
			}
		} else {
			far++
		}
	}
	if near == 0 || near > 2 || far > 0 {
		t.Errorf("irregular strides %+v, want the one at 20 s", r.Irregular)
	}
}

// A lasting difference between the two beats is advice to ask a vet, worded as no finding.
func TestUnevenTrot(t *testing.T) {
	acts := []act{{pace: gait.Trot, dur: 25, hz: 1.3, turn: 0.3}, {pace: gait.Walk, dur: 10, hz: 0.92}, {pace: gait.Trot, dur: 25, hz: 1.3, turn: -0.3}}
	uneven, _ := one(acts, 50, true, func(h *horse) { h.sound = 0.8 })
	even, _ := one(acts, 50, true, nil)
	if len(uneven.Advice) != 1 || !strings.Contains(uneven.Advice[0], "ask a vet") || !strings.Contains(uneven.Advice[0], "no finding") {
		t.Errorf("uneven trot: advice %q, split %.2f", uneven.Advice, uneven.Spans[0].BeatSplit)
	}
	if len(even.Advice) != 0 {
		t.Errorf("even trot: advice %q, split %.2f", even.Advice, even.Spans[0].BeatSplit)
	}
}

// A flying change: the canter goes on, the lead changes, and its place is found to a second.
func TestFlyingChange(t *testing.T) {
	acts := []act{{pace: gait.Canter, lead: LeadLeft, dur: 12, hz: 1.65, turn: 0.4}, {pace: gait.Canter, lead: LeadRight, dur: 12, hz: 1.65, turn: -0.4},
		{pace: gait.Canter, lead: LeadLeft, dur: 8, hz: 1.65}, {pace: gait.Canter, lead: LeadLeft, dur: 4, hz: 1.65, turn: -0.3}}
	alone, _ := one(acts, 50, true, nil) // one canter is one witness: its changes show, not which lead is left
	for i, sp := range alone.Spans {
		if len(alone.Spans) != 3 || sp.Lead != "" || sp.LeadGroup == 0 || i > 0 && sp.LeadGroup == alone.Spans[i-1].LeadGroup {
			t.Errorf("one canter, span %d of %d: %q, group %d", i, len(alone.Spans), sp.Lead, sp.LeadGroup)
		}
	}
	acts = append(acts, act{pace: gait.Trot, dur: 8, hz: 1.3}, act{pace: gait.Canter, lead: LeadRight, dur: 12, hz: 1.65, turn: -0.4})
	r, _ := one(acts, 50, true, nil)
	if len(r.Spans) != 5 {
		t.Fatalf("%d spans, want left, right, left, trot, right: %+v", len(r.Spans), r.Spans)
	}
	for i, want := range []string{LeadLeft, LeadRight, LeadLeft} { // the last turns right: counter-canter
		if r.Spans[i].Lead != want {
			t.Errorf("span %d: lead %q, want %q", i, r.Spans[i].Lead, want)
		}
	}
	for i, at := range []float64{12, 24} {
		if d := float64(r.Spans[i].End) - at; math.Abs(d) > 0.6 {
			t.Errorf("change %d is placed %.2f s off", i, d)
		}
	}
}

// What cannot be told is said: no gyroscope, turns to one side only, too slow a sensor, no motion.
func TestCannotTell(t *testing.T) {
	left := []act{{pace: gait.Canter, lead: LeadLeft, dur: 30, hz: 1.65, turn: 0.4}}
	for name, c := range map[string]struct {
		r    Result
		says string
	}{
		"no gyroscope": {first(one(left, 50, false, nil)), "gyroscope"},
		"one side":     {first(one(left, 50, true, nil)), "both sides"},
	} {
		for _, sp := range c.r.Spans {
			if sp.Pace == gait.Canter && (sp.Lead != "" || !strings.Contains(sp.LeadReason, c.says)) {
				t.Errorf("%s: lead %q, reason %q", name, sp.Lead, sp.LeadReason)
			}
		}
	}
	if r, _ := one(left, 10, false, nil); !strings.Contains(r.Reason, "25 Hz") || len(r.Windows) != 0 {
		t.Errorf("10 Hz: %q", r.Reason)
	}
	if r := Detect(&track.Track{}, Options{}); !strings.Contains(r.Reason, "no motion") {
		t.Errorf("empty: %q", r.Reason)
	}
	if r, _ := one([]act{{pace: gait.Trot, dur: 4, hz: 1.3}}, 50, false, nil); !strings.Contains(r.Reason, "six seconds") {
		t.Errorf("short: %q", r.Reason)
	}
}

func first(r Result, _ truth) Result { return r }

// A plan that is wrong from end to end changes nothing that the motion shows.
func TestExpectationNeverDecides(t *testing.T) {
	acts := []act{{pace: gait.Trot, dur: 20, hz: 1.3}, {pace: gait.Walk, dur: 20, hz: 0.92}, {pace: gait.Canter, lead: LeadLeft, dur: 20, hz: 1.65}, {pace: gait.Halt, dur: 8}}
	rng := rand.New(rand.NewPCG(6, 6))
	tk, _ := newHorse(rng).ride(acts, 50, rng, false)
	plain := Detect(tk, Options{})
	for _, v := range []gait.Variety{gait.HaltVariety, gait.MediumWalk, gait.WorkingTrot, gait.WorkingCant, "", "no such variety"} {
		told := Detect(tk, Options{Expected: func(Seconds) gait.Variety { return v }})
		differ := 0
		for i := range plain.Windows {
			if plain.Windows[i].Pace != told.Windows[i].Pace {
				differ++
			}
		}
		if differ > len(plain.Windows)/50 {
			t.Errorf("expecting %q changes %d of %d windows", v, differ, len(plain.Windows))
		}
	}
}

// Ten seconds without data: said as missing, no pace given there, the rest as before.
func TestMissingMotion(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	tk, _ := newHorse(rng).ride([]act{{pace: gait.Trot, dur: 60, hz: 1.3}}, 50, rng, false)
	kept := tk.Motion[:0]
	for _, m := range tk.Motion {
		if m.T < 20 || m.T > 30 {
			kept = append(kept, m)
		}
	}
	tk.Motion = kept
	r := Detect(tk, Options{})
	if len(r.Missing) != 1 || math.Abs(float64(r.Missing[0][0]-20)) > 0.1 || math.Abs(float64(r.Missing[0][1]-30)) > 0.1 {
		t.Errorf("missing %v", r.Missing)
	}
	if _, ok := r.At(25); ok {
		t.Error("a pace is given where there is no motion")
	}
	if w, ok := r.At(40); !ok || w.Pace != gait.Trot {
		t.Errorf("at 40 s: %+v", w)
	}
	for _, sp := range r.Spans {
		for _, st := range sp.Strides {
			if st.T > 20.6 && st.T < 29.4 {
				t.Errorf("a stride is counted at %.1f s, where there is no motion", float64(st.T))
			}
			if st.T < 25 && st.T+st.Duration > 25 || st.Duration > 2 {
				t.Errorf("a stride of %.1f s from %.1f s spans the gap", float64(st.Duration), float64(st.T))
			}
		}
	}
}

// Any numbers in, an answer out.
func FuzzDetect(f *testing.F) {
	f.Add([]byte("some bytes as motion, some more of them, and again"), uint8(50), uint8(0))
	for _, rate := range []float64{0.9, 1.3, 1.7, 25} { // as the paces move, and as none does
		wave := make([]byte, 200)
		for i := range wave {
			wave[i] = byte(int8(60 * math.Sin(2*math.Pi*rate*float64(i)/50)))
		}
		f.Add(wave, uint8(50), uint8(0))
		f.Add(wave, uint8(101), uint8(0))
	}
	for _, b := range []string{"\x00", "\x7f\x80", "\x00\x00\x00\x00\x7f", "\x01\x00\xff\x00"} {
		f.Add([]byte(b), uint8(0), uint8(0))
		f.Add([]byte(b), uint8(255), uint8(20)) // a sensor gone mad
	}
	f.Fuzz(func(t *testing.T, b []byte, hz, scale uint8) {
		times := math.Ldexp(1, int(scale%32))
		tk := &track.Track{HasGyro: hz%2 == 1}
		at := 0.0
		for i := 0; len(b) > 0 && i < 2000; i++ {
			k := float64(int8(b[i%len(b)])) * times
			tk.Motion = append(tk.Motion, track.Motion{T: Seconds(at), AccX: k, AccY: k * k, AccZ: 9.8 - k, GyrZ: k / 20, GyrX: -k})
			at += (1 + math.Abs(k/times)/30) / (1 + float64(hz))
		}
		r := Detect(tk, Options{})
		for _, w := range r.Windows {
			if math.IsNaN(w.Probability+w.StrideHz+w.Regularity+w.Symmetry+w.AmplitudeMS) || w.Probability < 0 || w.Probability > 1.000001 {
				t.Fatalf("window %+v", w)
			}
		}
		for i, sp := range r.Spans {
			if sp.End < sp.Start || i > 0 && sp.Start < r.Spans[i-1].End-1e-9 || math.IsNaN(sp.Count+sp.StrideHz+sp.DurationCV+sp.BeatSplit) {
				t.Fatalf("span %+v", sp)
			}
		}
	})
}

func BenchmarkDetect6min100Hz(b *testing.B) { benchDetect(b, 1) }
func BenchmarkDetect1h100Hz(b *testing.B)   { benchDetect(b, 10) }

func benchDetect(b *testing.B, times int) {
	rng := rand.New(rand.NewPCG(1, 1))
	h := newHorse(rng)
	var acts []act
	for range times {
		for range 6 {
			acts = append(acts, act{pace: gait.Trot, dur: 20, hz: 1.3, turn: 0.3}, act{pace: gait.Walk, dur: 15, hz: 0.92}, act{pace: gait.Canter, lead: LeadLeft, dur: 15, hz: 1.65, turn: 0.4}, act{pace: gait.Canter, lead: LeadRight, dur: 10, hz: 1.65, turn: -0.4})
		}
	}
	tk, _ := h.ride(acts, 100, rng, true)
	b.ReportAllocs()
	b.ReportMetric(float64(len(tk.Motion)), "samples")
	for b.Loop() {
		Detect(tk, Options{})
	}
}

// withPath adds positions at 5 Hz that follow the turns of the ride at 3 m/s.
func withPath(tk *track.Track, tr truth) {
	tk.Frame = track.FrameArena
	rng := rand.New(rand.NewPCG(9, 9))
	x, y, h := 0.0, 0.0, 0.0
	for k := 0; ; k++ {
		t := float64(k) / 5
		if t > tr.edges[len(tr.edges)-1] {
			return
		}
		a := tr.at(t)
		if a.pace != gait.Halt {
			x, y = x+0.6*math.Cos(h), y+0.6*math.Sin(h)
			h += a.turn / 5
		}
		tk.Fixes = append(tk.Fixes, track.Fix{T: Seconds(t), P: track.Local{X: x + 0.1*rng.NormFloat64(), Y: y + 0.1*rng.NormFloat64()}})
	}
}

// A sensor that gives gravity downwards, and one without gravity: with the path beside it the first
// tells the leads right, the second says that it cannot; the paces are the same in all.
func TestSensorConventions(t *testing.T) {
	acts := []act{{pace: gait.Trot, dur: 15, hz: 1.3, turn: 0.3}, {pace: gait.Canter, lead: LeadLeft, dur: 20, hz: 1.65, turn: 0.4},
		{pace: gait.Trot, dur: 10, hz: 1.3, turn: -0.3}, {pace: gait.Canter, lead: LeadRight, dur: 20, hz: 1.65, turn: -0.4}, {pace: gait.Walk, dur: 12, hz: 0.92}}
	want := []gait.Pace{gait.Trot, gait.Canter, gait.Trot, gait.Canter, gait.Walk}
	for name, c := range map[string]struct {
		change func(*track.Motion)
		leads  bool
		note   string
	}{
		"upwards":    {func(*track.Motion) {}, true, ""},
		"downwards":  {func(m *track.Motion) { m.AccX, m.AccY, m.AccZ = -m.AccX, -m.AccY, -m.AccZ }, true, "downwards"},
		"no gravity": {nil, false, "no gravity"},
	} {
		rng := rand.New(rand.NewPCG(12, 12))
		h := newHorse(rng)
		h.slip = 0.05
		tk, tr := h.ride(acts, 50, rng, true)
		withPath(tk, tr)
		for i := range tk.Motion {
			m := &tk.Motion[i]
			if c.change != nil {
				c.change(m)
				continue
			}
			for r, p := range []*float64{&m.AccX, &m.AccY, &m.AccZ} {
				*p -= 9.81 * h.axes[r][2]
			}
		}
		r := Detect(tk, Options{})
		if got := strings.Join(r.Notes, "|"); !strings.Contains(got, c.note) || c.note == "" && got != "" {
			t.Errorf("%s: notes %q", name, got)
		}
		if len(r.Spans) != len(want) {
			t.Errorf("%s: %d spans, want %d", name, len(r.Spans), len(want))
			continue
		}
		for i, sp := range r.Spans {
			if sp.Pace != want[i] {
				t.Errorf("%s: span %d is %s, want %s", name, i, sp.Pace, want[i])
			}
			lead := acts[i].lead
			if !c.leads {
				lead = ""
			}
			if sp.Lead != lead {
				t.Errorf("%s: span %d has lead %q, want %q (%s)", name, i, sp.Lead, lead, sp.LeadReason)
			}
		}
	}
}
