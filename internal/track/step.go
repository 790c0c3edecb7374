package track

// Step is told now and then how far long work is, as a share from 0 to 1 (below 0 where that cannot be
// said). Its error ends the work, which then gives that error and nothing else. nil: nobody asks.
type Step func(share float64) error

// stepEvery is how many nodes, samples or bytes are worked off between two looks at a Step: far below a
// tenth of a second of work each.
const (
	stepEvery      = 4096
	stepEveryBytes = 64 << 10
)

// at asks the step, which may be nil.
func (s Step) at(share float64) error {
	if s == nil {
		return nil
	}
	return s(share)
}

// within gives the step of a part of the work, from one share of the whole to another.
func (s Step) within(from, to float64) Step {
	if s == nil {
		return nil
	}
	return func(share float64) error {
		if share >= 0 {
			share = from + (to-from)*min(1, share)
		}
		return s(share)
	}
}
