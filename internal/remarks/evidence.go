package remarks

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// profile is what a movement of the plan can be called.
type profile struct {
	number   int
	kinds    map[terms.Kind]bool
	list     []terms.Kind
	letters  map[string]bool
	paces    map[string]bool
	variety  map[string]bool
	hands    map[terms.Kind]map[rideplan.Hand]bool
	sizes    map[int]bool
	from, to float64 // span on the reference clock
}

func profiles(plan *rideplan.Plan) []profile {
	out := make([]profile, 0, len(plan.Movements))
	for _, m := range plan.Movements {
		p := profile{number: m.Number, kinds: map[terms.Kind]bool{}, letters: map[string]bool{}, paces: map[string]bool{},
			variety: map[string]bool{}, hands: map[terms.Kind]map[rideplan.Hand]bool{}, sizes: map[int]bool{},
			from: float64(m.StartS), to: float64(m.EndS), list: m.Kinds()}
		for _, f := range m.Figures {
			p.addFigure(f)
		}
		for _, r := range strings.ToUpper(m.Letters) {
			if r >= 'A' && r <= 'Z' {
				p.letters[string(r)] = true
			}
		}
		out = append(out, p)
	}
	return out
}

func (p *profile) addFigure(f rideplan.Figure) {
	p.kinds[f.Kind] = true
	if p.hands[f.Kind] == nil {
		p.hands[f.Kind] = map[rideplan.Hand]bool{}
	}
	for _, h := range []rideplan.Hand{f.Hand, f.Lead} {
		if h != rideplan.NoHand {
			p.hands[f.Kind][h] = true
		}
	}
	for _, v := range []string{string(f.Variety), string(f.From)} {
		if v != "" {
			p.variety[v] = true
			p.paces[v[strings.LastIndexByte(v, ' ')+1:]] = true
		}
	}
	if f.Nominal > 0 {
		p.sizes[int(math.Round(float64(f.Nominal)))] = true
	}
	for _, l := range []string{f.At, f.To} {
		if l != "" {
			p.letters[l] = true
		}
	}
}

// Weights of the evidence, in nats. Set on the tuning half of the corpus only.
var weigh = struct {
	kind, miss, soft, softHere, letter, letterMiss, hand, handMiss, pace, paceMiss, variety, varietyMiss, size, ordinal, ordinalMiss float64
}{kind: 3.4, miss: -1.6, soft: 2.0, softHere: 0.9, letter: 1.6, letterMiss: -0.9, hand: 1.0, handMiss: -1.8, pace: 0.6, paceMiss: -1.6,
	variety: 0.9, varietyMiss: -0.6, size: 0.9, ordinal: 1.0, ordinalMiss: -0.8}

// clue is the weight of the words of a remark for each movement, and why.
type clue struct {
	w   []float64
	why []string
}

// clues weighs a remark against every movement. Nothing named gives zeros.
func clues(n named, ps []profile) clue {
	c := clue{w: make([]float64, len(ps)), why: make([]string, len(ps))}
	for i, p := range ps {
		var why []string
		add := func(w float64, reason string) {
			c.w[i] += w
			if w > 0 && reason != "" {
				why = append(why, reason)
			}
		}
		n.kindClue(p, add)
		n.placeClue(p, add)
		n.paceClue(p, add)
		n.orderClue(p, ps, add)
		c.why[i] = strings.Join(why, ", ")
	}
	return c
}

func (n named) kindClue(p profile, add func(float64, string)) {
	best, hit := 0.0, terms.Kind("")
	sum := 0.0
	for _, k := range n.kinds {
		w := 0.0
		for _, have := range p.list {
			if n.weightOf(k, have) > w {
				w = n.weightOf(k, have)
			}
		}
		sum += w
		if w > best {
			best, hit = w, k
		}
	}
	if len(n.kinds) > 0 {
		share := 0.7*best + 0.3*sum/float64(len(n.kinds))
		if best > 0 {
			add(weigh.kind*share, fmt.Sprintf("it speaks of %q", hit))
		} else {
			add(weigh.miss, "")
		}
	}
	best, hit = 0, ""
	for _, f := range n.soft {
		w := weigh.soft
		if f.here || f.OnlyHere {
			w = weigh.softHere
		}
		if f.Special(p.list) && w > best {
			best, hit = w, terms.Kind(f.ID)
		}
	}
	if best > 0 {
		add(best, fmt.Sprintf("%q belongs there", hit))
	}
}

// weightOf is how far a kind as said stands for a kind of the plan.
func (n named) weightOf(said, have terms.Kind) float64 {
	if said == have {
		return 1
	}
	for _, kw := range terms.Words().Movements.Kinds {
		if kw.Kind == said {
			return kw.Also[have]
		}
	}
	return 0
}

func (n named) placeClue(p profile, add func(float64, string)) {
	for _, l := range n.letters {
		if p.letters[l] {
			add(weigh.letter, "letter "+l)
		} else {
			add(weigh.letterMiss, "")
		}
	}
	if n.hand != rideplan.NoHand {
		for _, k := range p.list {
			if n.weights[k] == 0 || len(p.hands[k]) == 0 {
				continue
			}
			if p.hands[k][n.hand] {
				add(weigh.hand, string(n.hand))
			} else {
				add(weigh.handMiss, "")
			}
			break
		}
	}
	for _, s := range n.sizes {
		if p.sizes[s] {
			add(weigh.size, fmt.Sprintf("%d m", s))
			break
		}
	}
}

func (n named) paceClue(p profile, add func(float64, string)) {
	seen := map[string]bool{}
	for _, pw := range n.paces {
		key := pw.Pace + pw.Variety
		if seen[key] {
			continue
		}
		seen[key] = true
		switch {
		case pw.Variety != "" && p.variety[pw.Variety]:
			add(weigh.variety, pw.Variety)
		case pw.Variety != "":
			add(weigh.varietyMiss, "")
		case p.paces[pw.Pace]:
			add(weigh.pace, pw.Pace)
		default:
			add(weigh.paceMiss, "")
		}
	}
}

// orderClue weighs "first circle", "second half-pass", "last halt".
func (n named) orderClue(p profile, ps []profile, add func(float64, string)) {
	if n.ordinal == "" || len(n.kinds) == 0 {
		return
	}
	kind := n.kinds[0]
	var have []int
	for _, q := range ps {
		for _, k := range q.list {
			if n.weightOf(kind, k) >= 0.7 {
				have = append(have, q.number)
				break
			}
		}
	}
	if len(have) < 2 {
		return
	}
	want := map[string]int{"first": 0, "second": 1, "third": 2, "last": len(have) - 1}[n.ordinal]
	if want < len(have) && have[want] == p.number {
		add(weigh.ordinal, n.ordinal)
	} else {
		add(weigh.ordinalMiss, "")
	}
}
