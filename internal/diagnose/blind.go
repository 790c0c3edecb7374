package diagnose

import "math/rand/v2"

// BlindOrderRequest says why marking again unseen would help.
type BlindOrderRequest struct {
	Why string `json:"why"`
}

// Clip is one movement of one ride to be marked without knowing which ride it is from.
type Clip struct {
	Ride     int `json:"ride"` // index into the rides given
	Movement int `json:"movement"`
}

// BlindOrder shuffles the movements of all rides. The same seed gives the same order. As
// far as the numbers allow, the same movement does not follow itself, so that two versions
// are not set side by side.
func BlindOrder(rides []RideFacts, seed uint64) []Clip {
	var out []Clip
	for i, r := range rides {
		for _, m := range r.Movements {
			out = append(out, Clip{i, m.Number})
		}
	}
	rng := rand.New(rand.NewPCG(seed, 0x636c6970))
	rng.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	for i := 1; i < len(out); i++ {
		if out[i].Movement == out[i-1].Movement {
			swapAway(out, i)
		}
	}
	return out
}

// swapAway exchanges out[i] with another clip such that neither has a twin beside it.
func swapAway(out []Clip, i int) {
	fits := func(at, movement int) bool {
		left := at == 0 || out[at-1].Movement != movement
		return left && (at+1 >= len(out) || out[at+1].Movement != movement)
	}
	for j := range out {
		if abs(i-j) > 1 && fits(j, out[i].Movement) && fits(i, out[j].Movement) {
			out[i], out[j] = out[j], out[i]
			return
		}
	}
}

func abs(i int) int {
	if i < 0 {
		return -i
	}
	return i
}
