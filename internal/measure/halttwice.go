package measure

import (
	"fmt"
	"math"
)

// standing is a time for which the horse kept its place.
type standing struct{ from, to, at float64 }

const (
	leastStand = 1.0 // s: a shorter stop is part of slowing down
	stepAside  = 0.4 // m: a horse that shifts its weight moves less
)

// movedWithin says where a horse that moved on within a halt stood, "" when one standing
// explains the fixes. One place and one time for both would be right for neither.
func (h halted) movedWithin(os []obs, white float64) string {
	free := math.Max(1, float64(h.n-len(h.theta)))
	if math.Sqrt(h.ss/free) < 2*math.Max(white, 0.02)+0.05 {
		return ""
	}
	list := standings(os, stepAside/2+2*white)
	if len(list) < 2 {
		return ""
	}
	a, b := list[0], list[len(list)-1]
	if math.Abs(b.at-a.at) < stepAside+3*white {
		return ""
	}
	return fmt.Sprintf("the horse did not stay where it halted: it stood for %.1f s, then %.1f m further on for %.1f s", a.to-a.from, b.at-a.at, b.to-b.from)
}

// standings lists the times of at least leastStand within which the running place over half
// a second keeps within a distance.
func standings(os []obs, within float64) []standing {
	var out []standing
	for i := 0; i < len(os); {
		j, mean := i, os[i].s
		for j+1 < len(os) && math.Abs(runningPlace(os, j+1)-mean) < within {
			j++
			mean += (os[j].s - mean) / float64(j-i+1)
		}
		if os[j].t-os[i].t >= leastStand {
			out = append(out, standing{os[i].t, os[j].t, mean})
			i = j
		}
		i++
	}
	return out
}

// runningPlace is the mean way of the fixes within a quarter of a second of fix i.
func runningPlace(os []obs, i int) float64 {
	lo, hi := i, i
	for lo > 0 && os[i].t-os[lo-1].t <= 0.25 {
		lo--
	}
	for hi+1 < len(os) && os[hi+1].t-os[i].t <= 0.25 {
		hi++
	}
	var sum float64
	for _, o := range os[lo : hi+1] {
		sum += o.s
	}
	return sum / float64(hi-lo+1)
}
