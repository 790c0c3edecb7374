package access

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// Limit slows guessing: a bucket for each key (an address), and one for all keys together.
// The key map is bounded; when it is full the longest unused key makes room, and what all keys
// share still holds.
type Limit struct {
	mu    sync.Mutex
	every rate.Limit
	burst int
	most  int
	all   *rate.Limiter
	keys  map[string]*bucket
}

type bucket struct {
	limiter *rate.Limiter
	used    time.Time
}

// NewLimit allows burst tries at once for each key and one more every interval; all keys together
// may use twenty times that, so that fifty phones of a clinic can be paired one after another.
func NewLimit(interval time.Duration, burst int) *Limit {
	return &Limit{
		every: rate.Every(interval), burst: burst, most: 4096,
		all:  rate.NewLimiter(20*rate.Every(interval), 20*burst),
		keys: map[string]*bucket{},
	}
}

// Try counts one try of key at the given time. When it is refused, wait says for how long.
func (l *Limit) Try(key string, now time.Time) (ok bool, wait time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	b := l.keys[key]
	if b == nil {
		l.makeRoom()
		b = &bucket{limiter: rate.NewLimiter(l.every, l.burst)}
		l.keys[key] = b
	}
	b.used = now
	if wait := refuse(b.limiter, now); wait > 0 {
		return false, wait
	}
	if wait := refuse(l.all, now); wait > 0 {
		return false, wait
	}
	return true, 0
}

// Forgive gives a key its tries back after it succeeded.
func (l *Limit) Forgive(key string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.keys, key)
}

func refuse(l *rate.Limiter, now time.Time) time.Duration {
	r := l.ReserveN(now, 1)
	wait := r.DelayFrom(now)
	if wait > 0 {
		r.CancelAt(now)
	}
	return wait
}

func (l *Limit) makeRoom() {
	if len(l.keys) < l.most {
		return
	}
	oldest, at := "", time.Time{}
	for k, b := range l.keys {
		if oldest == "" || b.used.Before(at) || (b.used.Equal(at) && k < oldest) {
			oldest, at = k, b.used
		}
	}
	delete(l.keys, oldest)
}
