package logbook

import (
	"container/list"
	"crypto/sha256"
	"fmt"
	"sync"

	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// maxPlans bounds the memory of remembered plans: a busy yard rides a few dozen sheets and
// exercises, and the plan of a test of seven minutes takes about 1 MB.
const maxPlans = 96

// plans remembers the compiled sheets used last in this program run, by their content: the same
// text for the same horse is the same plan, and a plan is never changed. What is being typed is
// not remembered, it will be another text with the next key.
type plans struct {
	mu    sync.Mutex
	known map[[32]byte]*list.Element
	order list.List // of rememberedPlan, the last used in front
}

type rememberedPlan struct {
	key  [32]byte
	plan *rideplan.Plan
}

func planKey(file, text, profile string) [32]byte {
	return sha256.Sum256(fmt.Appendf(nil, "%d %d %d %s%s%s", rideplan.Version, len(file), len(text), file, text, profile))
}

// get returns a remembered plan, nil when there is none.
func (c *plans) get(key [32]byte) *rideplan.Plan {
	c.mu.Lock()
	defer c.mu.Unlock()
	e := c.known[key]
	if e == nil {
		return nil
	}
	c.order.MoveToFront(e)
	return e.Value.(rememberedPlan).plan
}

// put remembers a plan and forgets the one unused for longest. Where two were compiled at the
// same time the first stays, so that everybody holds the same one.
func (c *plans) put(key [32]byte, p *rideplan.Plan) *rideplan.Plan {
	c.mu.Lock()
	defer c.mu.Unlock()
	if e := c.known[key]; e != nil {
		c.order.MoveToFront(e)
		return e.Value.(rememberedPlan).plan
	}
	if c.known == nil {
		c.known = map[[32]byte]*list.Element{}
	}
	c.known[key] = c.order.PushFront(rememberedPlan{key, p})
	if last := c.order.Back(); len(c.known) > maxPlans {
		delete(c.known, last.Value.(rememberedPlan).key)
		c.order.Remove(last)
	}
	return p
}

// PlanOf compiles a sheet for a horse (its file as text, "" for the usual figures), or remembers it.
func (b *Book) PlanOf(file, text, profile string) *rideplan.Plan {
	key := planKey(file, text, profile)
	if p := b.plans.get(key); p != nil {
		return p
	}
	return b.plans.put(key, compileSheet(file, text, profile))
}

func compileSheet(file, text, profile string) *rideplan.Plan {
	o := rideplan.Options{File: file}
	if profile != "" {
		if h, ps := prepare.ReadHorse("horse", []byte(profile)); !sheet.HasErrors(ps) {
			o.Horse = h.Profile
		}
	}
	return rideplan.CompileText(file, text, o)
}
