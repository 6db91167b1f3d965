package reorder

import (
	"cmp"
	"container/heap"
	"encoding/binary"
	"slices"

	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// Gap is a set of victims that cannot be treated on some days whatever is
// ordered now.
type Gap struct {
	From, Until day.Day // [From, Until)
	Set         cover.Set
	Period      int // whose bites the set means
	// Offered says that the gap ends because what is ordered now is there then.
	Offered bool
}

// Plan is what to order. It keeps the clashes that were searched for, and so
// serves one goroutine.
type Plan struct {
	Orders []Order
	Cost   int64
	// Over is by how many vials the orders go beyond the bounds of Stagger,
	// summed over products and years.
	Over int
	// Proven says that no plan goes less beyond them, and of those that go no
	// further none costs less. Otherwise every plan goes LeastOver beyond them
	// at least, and those that go no further cost Bound at least.
	Proven    bool
	LeastOver int
	Bound     int64
	Gaps      []Gap
	// Found is false where no plan keeps within the budgets; then there are no
	// orders.
	Found bool
	Tried int // sets of levels
	known *cover.Memory
	rough bool // not every number of packs was tried
}

// Make finds the cheapest plan. The problem must pass Check.
//
// Staggering and budgets are looked at only if the cheapest plan without them
// does not keep within them: otherwise it is the cheapest with them too.
func (p *Problem) Make() *Plan {
	if !p.staggers() {
		return p.make()
	}
	free := *p
	free.Stagger = nil
	plain := free.make()
	plain.Over = p.over(plain.Orders)
	if plain.Proven && plain.Over == 0 {
		return plain
	}
	plan := p.make()
	if plan.rough {
		plan.LeastOver, plan.Bound = 0, plain.Bound // staggered or not, no plan costs less
	}
	if plain.Found && (!plan.Found || plan.Over > plain.Over) {
		plain.LeastOver, plain.Bound, plain.known = plan.LeastOver, plan.Bound, plan.known
		plan = plain
	}
	plan.Proven = plan.settled()
	return plan
}

// settled says whether no plan can be better, as far as was searched.
func (p *Plan) settled() bool {
	if !p.Found {
		return p.Proven && !p.rough
	}
	return p.Over == p.LeastOver && p.Cost == p.Bound
}

func (p *Problem) make() *Plan {
	if len(p.Budgets) > 0 {
		free := *p
		free.Budgets = nil
		if plan := free.make(); plan.Proven && p.affords(p.spending(plan.Orders)) {
			return plan
		}
	}
	s := newSearch(p)
	s.gaps()
	return s.run()
}

// spending gives what orders take of each budget.
func (p *Problem) spending(orders []Order) []int64 {
	spent := make([]int64, len(p.Budgets))
	for _, o := range orders {
		if n := p.budget(o.OrderBy); n >= 0 {
			spent[n] += o.Cost
		}
	}
	return spent
}

// levels is one set of least levels: by product, on each day of change.
type levels [][]int

// node is a set of levels with the least that it costs.
type node struct {
	levels levels
	over   int // vials beyond the bounds of Stagger
	cost   int64
	bills  []*bill // of each product
	depth  int
}

// search is the search over levels, in the order of cost.
type search struct {
	*Problem
	changes []day.Day // on which stock, bites or what was ordered may change
	stock   [][]int   // by product, from each of these days to the next
	offered [][]bool  // likewise: some order can be there
	left    []map[string]bool
	sizes   map[string][]*bill
	seen    map[string]bool
	open    nodes
	plan    Plan
	limit   int
	trying  map[int]trying // by product
}

func newSearch(p *Problem) *search {
	s := &search{Problem: p, plan: Plan{known: new(cover.Memory)}, sizes: make(map[string][]*bill), seen: make(map[string]bool), trying: make(map[int]trying), limit: cmp.Or(p.Search, 20_000)}
	s.changes = p.turns(p.changes())
	for product, line := range p.Stock {
		s.stock = append(s.stock, make([]int, len(s.changes)))
		s.offered = append(s.offered, make([]bool, len(s.changes)))
		for i, on := range s.changes {
			s.stock[product][i] = line.At(on)
			s.offered[product][i] = slices.ContainsFunc(p.Offers, func(o Offer) bool { return o.Product == product && p.soonest(&o) <= on })
		}
	}
	s.left = make([]map[string]bool, len(s.changes))
	return s
}

// gaps finds the sets that cannot be treated on a day even if every order
// that can be there were there in any number, and leaves them out.
func (s *search) gaps() {
	const plenty = 1 << 20
	for i, on := range s.changes {
		most := make([]int, len(s.Stock))
		for product := range most {
			most[product] = s.stock[product][i]
			if s.offered[product][i] {
				most[product] = plenty
			}
		}
		period := s.period(on)
		scenario := s.Periods[period].scenario(most, s.near(on))
		s.left[i] = make(map[string]bool)
		for _, clash := range s.plan.known.AllClashes(&scenario) {
			s.left[i][setKey(clash.Set)] = true
			s.gap(i, period, clash.Set)
		}
	}
}

// gap adds a day's gap, to the one before where it is the same.
func (s *search) gap(i, period int, set cover.Set) {
	until := s.end(i)
	for n := range s.plan.Gaps {
		if g := &s.plan.Gaps[n]; g.Until == s.changes[i] && g.Period == period && slices.Equal(g.Set, set) {
			g.Until = until
			return
		}
	}
	s.plan.Gaps = append(s.plan.Gaps, Gap{From: s.changes[i], Until: until, Set: set, Period: period})
}

// comesLater says whether some order helps a set after its gap, so that the
// gap's end is no change of its bites.
func (s *search) comesLater(g *Gap) bool {
	for _, b := range g.Set {
		for _, c := range s.Periods[g.Period].Bites[b].Courses {
			if slices.ContainsFunc(s.Offers, func(o Offer) bool { return o.Product == c.Product && s.soonest(&o) == g.Until }) {
				return true
			}
		}
	}
	return false
}

func (s *search) end(i int) day.Day {
	if i+1 < len(s.changes) {
		return s.changes[i+1]
	}
	return s.Until
}

func setKey(set cover.Set) string {
	var out []byte
	for _, b := range set {
		out = binary.AppendVarint(out, int64(b))
	}
	return string(out)
}

// run takes the cheapest levels that are open until a plan leaves nobody
// untreated.
func (s *search) run() *Plan {
	for i := range s.plan.Gaps {
		g := &s.plan.Gaps[i]
		g.Offered = s.comesLater(g)
	}
	first := make(levels, len(s.Stock))
	for product := range first {
		first[product] = make([]int, len(s.changes))
	}
	s.push(first, 0)
	for len(s.open) > 0 && s.plan.Tried < s.limit {
		n := heap.Pop(&s.open).(*node)
		s.plan.Tried++
		s.plan.LeastOver, s.plan.Bound = n.over, n.cost
		lacks := s.untreated(n)
		if len(lacks) == 0 {
			s.take(n)
			return &s.plan
		}
		s.branch(n, lacks)
	}
	if len(s.open) > 0 {
		s.dive()
	} else {
		s.plan.Proven = !s.plan.rough // that there is none
	}
	return &s.plan
}

// take makes a node the plan.
func (s *search) take(n *node) {
	p := &s.plan
	p.Orders, p.Over, p.Cost, p.Found = s.orders(n), n.over, n.cost, true
	p.Proven = !p.rough && p.settled()
}

// dive finishes the plan from the cheapest levels that are open, taking the
// cheapest way at each step, when the search has come to its limit.
func (s *search) dive() {
	n := heap.Pop(&s.open).(*node)
	s.plan.LeastOver, s.plan.Bound = n.over, n.cost
	for {
		lacks := s.untreated(n)
		if len(lacks) == 0 {
			s.take(n)
			return
		}
		s.open, s.seen = nil, make(map[string]bool)
		s.branch(n, lacks)
		if len(s.open) == 0 {
			return
		}
		n = heap.Pop(&s.open).(*node)
	}
}

// branch opens a node for each way of treating a set on a day; sets that have
// one way only are provided for together.
func (s *search) branch(n *node, lacks []lack) {
	if len(lacks) > 1 {
		next := n.levels
		for _, l := range lacks {
			next = next.raised(l.at, l.ways[0])
		}
		s.push(next, n.depth+1)
		return
	}
	for _, need := range lacks[0].ways {
		s.push(n.levels.raised(lacks[0].at, need), n.depth+1)
	}
}

// raised gives the levels with at least so much of each product on a day.
func (l levels) raised(at int, need map[int]int) levels {
	next := slices.Clone(l)
	for product, vials := range need {
		if vials > next[product][at] {
			next[product] = slices.Clone(next[product])
			next[product][at] = vials
		}
	}
	return next
}

// push prices a set of levels and opens it, unless it was open before or
// cannot be paid.
func (s *search) push(l levels, depth int) {
	key := l.key()
	if s.seen[key] {
		return
	}
	s.seen[key] = true
	ways := make([][]*bill, len(l))
	for product, need := range l {
		if ways[product] = s.sized(product, need); len(ways[product]) == 0 {
			return
		}
	}
	if all, ok := s.together(ways); ok {
		heap.Push(&s.open, &node{levels: l, over: all.over, cost: all.total, bills: all.chosen, depth: depth})
	}
}

func (l levels) key() string {
	var out []byte
	for _, need := range l {
		for _, n := range need {
			out = binary.AppendVarint(out, int64(n))
		}
	}
	return string(out)
}

// sized prices one product's levels, once.
func (s *search) sized(product int, need []int) []*bill {
	beyond := make([]int, len(need))
	for i, n := range need {
		beyond[i] = max(0, n-s.stock[product][i])
	}
	key := levels{{product}, beyond}.key()
	ways, known := s.sizes[key]
	if !known {
		ways = s.size(product, beyond)
		s.sizes[key] = ways
	}
	return ways
}

// sum is a way for each of some products.
type sum struct {
	bill
	chosen []*bill
}

// together chooses a way for each product so that the budgets hold and the
// sum is least.
func (s *search) together(ways [][]*bill) (*sum, bool) {
	sums := []sum{{bill: bill{spent: make([]int64, len(s.Budgets))}}}
	for _, of := range ways {
		var next []sum
		for _, a := range sums {
			for _, b := range of {
				c := sum{bill: bill{over: a.over + b.over, total: a.total + b.total, spent: slices.Clone(a.spent)}, chosen: append(slices.Clone(a.chosen), b)}
				for i := range c.spent {
					c.spent[i] += b.spent[i]
				}
				if s.affords(c.spent) {
					next = append(next, c)
				}
			}
		}
		slices.SortStableFunc(next, func(a, b sum) int { return a.compare(&b.bill) })
		sums = sums[:0:0]
		for _, c := range next {
			if !slices.ContainsFunc(sums, func(o sum) bool { return o.within(&c.bill) }) {
				sums = append(sums, c)
			}
		}
	}
	if len(sums) == 0 {
		return nil, false
	}
	return &sums[0], true
}

// orders gives the orders of a node, the first to be made first.
func (s *search) orders(n *node) (out []Order) {
	for _, b := range n.bills {
		out = append(out, b.all()...)
	}
	slices.SortStableFunc(out, func(a, b Order) int {
		return cmp.Or(cmp.Compare(a.OrderBy, b.OrderBy), cmp.Compare(a.Arrives, b.Arrives), cmp.Compare(a.Offer, b.Offer))
	})
	return out
}

// nodes is a heap, the cheapest first; of equal ones the deepest, which is
// nearest to a plan.
type nodes []*node

func (n nodes) Len() int { return len(n) }
func (n nodes) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(n[i].over, n[j].over), cmp.Compare(n[i].cost, n[j].cost), cmp.Compare(n[j].depth, n[i].depth)) < 0
}
func (n nodes) Swap(i, j int) { n[i], n[j] = n[j], n[i] }
func (n *nodes) Push(x any)   { *n = append(*n, x.(*node)) }
func (n *nodes) Pop() any {
	last := len(*n) - 1
	x := (*n)[last]
	*n = (*n)[:last]
	return x
}
