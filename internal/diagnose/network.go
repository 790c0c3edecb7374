package diagnose

import (
	"fmt"
	"math/bits"
	"sort"
)

// Network is a Bayesian network of yes/no nodes. Parents come before their children. It is
// immutable; inference is exact (variable elimination).
//
// Method: variable elimination as in Koller and Friedman, Probabilistic Graphical Models
// (2009), chapter 9; noisy-OR as in Pearl, Probabilistic Reasoning in Intelligent Systems
// (1988), section 4.3.2.
type Network struct {
	names []string
	nodes []netNode
	index map[string]int
}

type netNode struct {
	parents []int
	// cpt[mask] is P(yes | the parents whose bits are set in mask say yes).
	cpt []float64
}

// maxParents keeps every table small: 2^14 rows.
const maxParents = 14

// Likelihood is what was observed about one node: how likely the observation is when the
// node is no, and when it is yes. {1, 1} is no evidence; {0, 1} is "surely yes".
type Likelihood struct{ No, Yes float64 }

// Evidence holds one likelihood per observed node, by name.
type Evidence map[string]Likelihood

// AddTable adds a node with the full table P(yes | parents). The row of a combination is
// the sum of 1<<i over the parents i that say yes.
func (n *Network) AddTable(name string, parents []string, yes []float64) error {
	node := netNode{cpt: append([]float64(nil), yes...)}
	if _, dup := n.index[name]; dup {
		return fmt.Errorf("network: node %q twice", name)
	}
	for _, p := range parents {
		i, ok := n.index[p]
		if !ok {
			return fmt.Errorf("network: node %q names the parent %q before it is defined", name, p)
		}
		node.parents = append(node.parents, i)
	}
	if len(parents) > maxParents || len(yes) != 1<<len(parents) {
		return fmt.Errorf("network: node %q has %d rows for %d parents; at most %d parents, 2^parents rows", name, len(yes), len(parents), maxParents)
	}
	for _, p := range yes {
		if !(p >= 0 && p <= 1) {
			return fmt.Errorf("network: node %q has the probability %v", name, p)
		}
	}
	if n.index == nil {
		n.index = map[string]int{}
	}
	n.index[name] = len(n.nodes)
	n.names = append(n.names, name)
	n.nodes = append(n.nodes, node)
	return nil
}

// AddNoisyOr adds a node that each yes-parent alone would make yes with its link
// probability, and that is yes without any of them with probability leak.
func (n *Network) AddNoisyOr(name string, leak float64, parents []string, links []float64) error {
	if len(parents) != len(links) || len(parents) > maxParents {
		return fmt.Errorf("network: node %q has %d parents and %d links; at most %d", name, len(parents), len(links), maxParents)
	}
	rows := make([]float64, 1<<len(parents))
	for mask := range rows {
		no := 1 - leak
		for i, l := range links {
			if mask&(1<<i) != 0 {
				no *= 1 - l
			}
		}
		rows[mask] = 1 - no
	}
	return n.AddTable(name, parents, rows)
}

// Joint returns P(query | evidence) as a table: bit i of the index is query[i]. An error
// means an unknown name or evidence that the network holds impossible.
func (n *Network) Joint(query []string, ev Evidence) ([]float64, error) {
	q, like, err := n.resolve(query, ev)
	if err != nil {
		return nil, err
	}
	work := n.eliminate(q, like)
	total := 0.0
	for _, v := range work.table {
		total += v
	}
	if !(total > 0) {
		return nil, fmt.Errorf("network: the evidence contradicts itself")
	}
	out := make([]float64, len(work.table))
	for idx, v := range work.table {
		out[work.reindex(idx, q)] = v / total
	}
	return out, nil
}

// Posterior returns P(name is yes | evidence).
func (n *Network) Posterior(name string, ev Evidence) (float64, error) {
	t, err := n.Joint([]string{name}, ev)
	if err != nil {
		return 0, err
	}
	return t[1], nil
}

func (n *Network) resolve(query []string, ev Evidence) ([]int, []Likelihood, error) {
	like := make([]Likelihood, len(n.nodes))
	for i := range like {
		like[i] = Likelihood{1, 1}
	}
	for name, l := range ev { // order does not matter: each writes its own cell
		i, ok := n.index[name]
		if !ok || l.No < 0 || l.Yes < 0 {
			return nil, nil, fmt.Errorf("network: evidence %v on %q", l, name)
		}
		like[i] = l
	}
	var q []int
	for _, name := range query {
		i, ok := n.index[name]
		if !ok {
			return nil, nil, fmt.Errorf("network: no node %q", name)
		}
		q = append(q, i)
	}
	return q, like, nil
}

// eliminate sums out every node but the query. Nodes that are neither asked nor observed
// nor ancestors of such nodes sum to one and are left out.
func (n *Network) eliminate(q []int, like []Likelihood) factor {
	needed := n.needed(q, like)
	var fs []factor
	var hidden []int
	for i := range n.nodes {
		if !needed[i] {
			continue
		}
		fs = append(fs, n.factorOf(i, like[i]))
		if !contains(q, i) {
			hidden = append(hidden, i)
		}
	}
	for len(hidden) > 0 {
		k := cheapest(hidden, fs)
		fs = sumOut(fs, hidden[k])
		hidden = append(hidden[:k], hidden[k+1:]...)
	}
	out := factor{table: []float64{1}}
	for _, f := range fs {
		out = multiply(out, f)
	}
	return out
}

func (n *Network) needed(q []int, like []Likelihood) []bool {
	out := make([]bool, len(n.nodes))
	for _, i := range q {
		out[i] = true
	}
	for i := len(n.nodes) - 1; i >= 0; i-- { // children before parents
		if like[i].No != like[i].Yes {
			out[i] = true
		}
		if out[i] {
			for _, p := range n.nodes[i].parents {
				out[p] = true
			}
		}
	}
	return out
}

func (n *Network) factorOf(i int, l Likelihood) factor {
	node := n.nodes[i]
	vars := append([]int{i}, node.parents...)
	sort.Ints(vars)
	f := factor{vars: vars, table: make([]float64, 1<<len(vars))}
	for idx := range f.table {
		mask := 0
		for b, p := range node.parents {
			if f.bit(idx, p) {
				mask |= 1 << b
			}
		}
		yes := node.cpt[mask]
		if f.bit(idx, i) {
			f.table[idx] = yes * l.Yes
		} else {
			f.table[idx] = (1 - yes) * l.No
		}
	}
	return f
}

// factor is a table over yes/no variables: bit i of an index is vars[i]; vars ascend.
type factor struct {
	vars  []int
	table []float64
}

func (f factor) bit(idx, v int) bool {
	i := sort.SearchInts(f.vars, v)
	return idx&(1<<i) != 0
}

// reindex turns an index of f, whose variables are those of q in any order, into q's order.
func (f factor) reindex(idx int, q []int) int {
	out := 0
	for b, v := range q {
		if f.bit(idx, v) {
			out |= 1 << b
		}
	}
	return out
}

// multiply returns a*b. It may use a's table for the result: a is not used again.
func multiply(a, b factor) factor {
	vars := union(a.vars, b.vars)
	if len(vars) == len(a.vars) { // b adds no variable: in place
		at := newGatherer(a.vars, b.vars)
		for idx := range a.table {
			a.table[idx] *= b.table[at.of(idx)]
		}
		return a
	}
	out := factor{vars: vars, table: make([]float64, 1<<len(vars))}
	pa, pb := newGatherer(vars, a.vars), newGatherer(vars, b.vars)
	for idx := range out.table {
		out.table[idx] = a.table[pa.of(idx)] * b.table[pb.of(idx)]
	}
	return out
}

// gatherer picks the bits of some variables out of an index over more: two look-ups instead
// of a loop over the bits, since tables of 2^18 rows are walked many times.
type gatherer struct{ low, high []int }

const lowBits = 9

func newGatherer(all, some []int) gatherer {
	at := positions(all, some)
	n := min(len(all), lowBits)
	g := gatherer{low: make([]int, 1<<n), high: make([]int, 1<<(len(all)-n))}
	for i := range g.low {
		g.low[i] = gather(i, at)
	}
	for i := range g.high {
		g.high[i] = gather(i<<lowBits, at)
	}
	return g
}

func (g gatherer) of(idx int) int { return g.low[idx&(1<<lowBits-1)] | g.high[idx>>lowBits] }

// sumOut multiplies the factors that mention v and sums v out of the product.
func sumOut(fs []factor, v int) []factor {
	product := factor{table: []float64{1}}
	var rest []factor
	for _, f := range fs {
		if contains(f.vars, v) {
			product = multiply(product, f)
		} else {
			rest = append(rest, f)
		}
	}
	at := sort.SearchInts(product.vars, v)
	low := 1<<at - 1
	vars := append(append([]int(nil), product.vars[:at]...), product.vars[at+1:]...)
	out := factor{vars: vars, table: make([]float64, 1<<len(vars))}
	for idx := range out.table {
		full := idx&low | (idx&^low)<<1
		out.table[idx] = product.table[full] + product.table[full|1<<at]
	}
	return append(rest, out)
}

// cheapest picks the hidden variable whose product table is smallest; the first on a tie.
func cheapest(hidden []int, fs []factor) int {
	best, size := 0, 1<<30
	for k, v := range hidden {
		var vars []int
		for _, f := range fs {
			if contains(f.vars, v) {
				vars = union(vars, f.vars)
			}
		}
		if len(vars) < size {
			best, size = k, len(vars)
		}
	}
	return best
}

func positions(all, some []int) []int {
	out := make([]int, len(some))
	for i, v := range some {
		out[i] = sort.SearchInts(all, v)
	}
	return out
}

func gather(idx int, at []int) int {
	out := 0
	for b, p := range at {
		out |= idx >> p & 1 << b
	}
	return out
}

func union(a, b []int) []int {
	out := append(append([]int(nil), a...), b...)
	sort.Ints(out)
	return compactInts(out)
}

func compactInts(s []int) []int {
	out := s[:0]
	for i, v := range s {
		if i == 0 || v != s[i-1] {
			out = append(out, v)
		}
	}
	return out
}

func contains(s []int, v int) bool {
	for _, x := range s {
		if x == v {
			return true
		}
	}
	return false
}

// bruteForce is the twin of Joint for tests and small networks: it sums the full joint.
func (n *Network) bruteForce(query []string, ev Evidence) ([]float64, error) {
	q, like, err := n.resolve(query, ev)
	if err != nil || len(n.nodes) > 24 {
		return nil, fmt.Errorf("network: brute force: %v", err)
	}
	out := make([]float64, 1<<len(q))
	total := 0.0
	for world := 0; world < 1<<len(n.nodes); world++ {
		p := n.worldProbability(world, like)
		total += p
		out[gather(world, q)] += p
	}
	for i := range out {
		out[i] /= total
	}
	return out, nil
}

func (n *Network) worldProbability(world int, like []Likelihood) float64 {
	p := 1.0
	for i, node := range n.nodes {
		yes := node.cpt[gather(world, node.parents)]
		if bits.OnesCount(uint(world&(1<<i))) == 1 {
			p *= yes * like[i].Yes
		} else {
			p *= (1 - yes) * like[i].No
		}
	}
	return p
}
