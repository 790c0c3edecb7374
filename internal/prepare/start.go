package prepare

import "slices"

// greedy takes again and again the option that adds most per half minute: a good start.
func (s *search) greedy() {
	t, k, load, lean := s.p.room(), s.p.blocks, s.p.load, 0
	for k > 0 {
		bi, bo, rate := -1, -1, tiny
		now := s.p.gainOf(s.u)
		for i := range s.p.items {
			for o, opt := range s.p.items[i].options {
				if s.chosen[i] >= 0 || !s.fits(i, opt, t, k, load, lean, 0) || !s.complete(i) {
					continue
				}
				s.add(opt, 1)
				if r := (s.p.gainOf(s.u) - now) / float64(opt.time+s.p.pause); r > rate {
					bi, bo, rate = i, o, r
				}
				s.add(opt, -1)
			}
		}
		if bi < 0 {
			break
		}
		opt := s.p.items[bi].options[bo]
		s.chosen[bi] = bo
		s.add(opt, 1)
		t, k, load, lean = t-opt.time-s.p.pause, k-1, load-opt.load, lean+opt.left-opt.right
		s.keep(lean)
	}
	for i := range s.chosen {
		if s.chosen[i] >= 0 {
			s.add(s.p.items[i].options[s.chosen[i]], -1)
			s.chosen[i] = -1
		}
	}
}

// improve exchanges one taken option for another of any item, or for none, as long as that
// adds gain: a closer start than greedy alone.
func (s *search) improve() {
	for range 50 {
		before := s.best.gain
		for out := range s.p.items {
			if s.best.taken[out] < 0 {
				continue
			}
			base := slices.Clone(s.best.taken)
			base[out] = -1
			s.fillFrom(base)
		}
		if s.best.gain <= before+tiny {
			return
		}
	}
}

// fillFrom tries every option on top of a choice and keeps the best that is allowed.
func (s *search) fillFrom(base []int) {
	t, k, load, lean := s.p.room(), s.p.blocks, s.p.load, 0
	copy(s.chosen, base)
	for i, o := range base {
		if o >= 0 {
			opt := s.p.items[i].options[o]
			s.add(opt, 1)
			t, k, load, lean = t-opt.time-s.p.pause, k-1, load-opt.load, lean+opt.left-opt.right
		}
	}
	for i := range s.p.items {
		for o, opt := range s.p.items[i].options {
			if k > 0 && s.chosen[i] < 0 && s.fits(i, opt, t, k, load, lean, 0) {
				s.chosen[i] = o
				s.add(opt, 1)
				s.keep(lean + opt.left - opt.right)
				s.add(opt, -1)
				s.chosen[i] = -1
			}
		}
	}
	for i, o := range base {
		if o >= 0 {
			s.add(s.p.items[i].options[o], -1)
		}
		s.chosen[i] = -1
	}
}
