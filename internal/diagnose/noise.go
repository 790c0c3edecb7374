package diagnose

import (
	_ "embed"
	"encoding/json"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

//go:embed noise.json
var noiseJSON []byte

// noiseModel is how far marks and measures scatter without any change of riding.
type noiseModel struct {
	MarkSD        float64  `json:"mark_sd"`          // marks, one judge, one movement
	OffsetSD      float64  `json:"offset_points_sd"` // percentage points, one judge, whole ride
	SameJudge     float64  `json:"same_judge_factor"`
	Improvement   float64  `json:"improvement_prior_points"`
	Z             float64  `json:"z"`
	LeastGain     float64  `json:"least_gain_of_tolerance"`
	Source        string   `json:"source"`
	AtLeast       []string `json:"at_least"`
	AtLeastSource string   `json:"at_least_source"`
	Places        []string `json:"places"`
	PlacesSource  string   `json:"places_source"`
}

var noise = mustLoad[noiseModel](noiseJSON, "noise.json")

// mustLoad reads an embedded data file; a bad one cannot pass the tests.
func mustLoad[T any](data []byte, name string) T {
	var v T
	if err := json.Unmarshal(data, &v); err != nil {
		panic("diagnose: embedded " + name + ": " + err.Error())
	}
	return v
}

// markChangeSD is the standard deviation of the difference of one movement's mean mark
// between two rides of unchanged riding, in marks.
func (n noiseModel) markChangeSD(before, after int, same bool) float64 {
	one := n.MarkSD*n.MarkSD + n.OffsetSD*n.OffsetSD/100 // 1 point = 0.1 mark on every movement
	return n.factor(same) * math.Sqrt(one/float64(before)+one/float64(after))
}

// percentSD is the standard deviation of one ride's final percentage marked by so many
// judges: the offset of the whole ride and each movement's own scatter.
func (n noiseModel) percentSD(r RideFacts, judges int) float64 {
	points, own := r.points(), 0.0
	for _, m := range r.Movements {
		w := 100 * float64(m.Coefficient) / points
		own += w * w * n.MarkSD * n.MarkSD
	}
	return math.Sqrt((n.OffsetSD*n.OffsetSD + own) / float64(judges))
}

func (n noiseModel) factor(same bool) float64 {
	if same {
		return n.SameJudge
	}
	return 1
}

// isPlace reports whether a measure shares the ride's placing error. The later ones of a
// movement carry a letter ("halt place X").
func (n noiseModel) isPlace(what string) bool { return hasPrefixWord(n.Places, what) }

// oneSided reports whether more than asked is no fault.
func (n noiseModel) oneSided(what string) bool { return hasPrefixWord(n.AtLeast, what) }

func hasPrefixWord(list []string, what string) bool {
	for _, p := range list {
		if what == p || strings.HasPrefix(what, p+" ") {
			return true
		}
	}
	return false
}

// normalQuantile is the z below which a standard normal falls with probability p.
func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// binomialTail is P(at least k of n) when each happens with probability p.
func binomialTail(k, n int, p float64) float64 {
	if k <= 0 {
		return 1
	}
	return 1 - distuv.Binomial{N: float64(n), P: p}.CDF(float64(k-1))
}

// MeanMarkSD is how far the mean mark of n movements of one ride scatters from marking alone, in
// marks: the offset of the whole ride and each movement's own scatter.
func MeanMarkSD(n int) float64 {
	return math.Sqrt(noise.OffsetSD*noise.OffsetSD/100 + noise.MarkSD*noise.MarkSD/float64(max(n, 1)))
}
