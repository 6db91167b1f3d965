package cover

// patients is who is treated with one product: the site and the vials of each.
type patients struct {
	n     int
	site  [MostVictims]int
	vials [MostVictims]int
}

func (p *patients) add(site, vials int) {
	p.site[p.n], p.vials[p.n] = site, vials
	p.n++
}

// missing gives the vials of a product that are missing for some of its
// patients, chosen by bit.
//
// What cannot be handed out is found without handing out anything: for each
// group of sites the patients there can get no more than these sites reach,
// and by Hall's theorem in its deficiency form (the theorem of maximum flow
// and minimum cut) the group that falls short most says how much is missing.
func (s *stock) missing(product int, p *patients, of uint) int {
	all, vials := p.asked(of, ^Sites(0))
	if all == 0 {
		return 0
	}
	worst := max(0, vials-s.reach(product, all))
	if all.count() == 1 {
		return worst
	}
	for some := all; some != 0; some = (some - 1) & all {
		_, vials := p.asked(of, some)
		worst = max(worst, vials-s.reach(product, some))
	}
	return worst
}

// asked gives the sites, and the vials that are needed, of those patients
// that were bitten at certain sites.
func (p *patients) asked(of uint, at Sites) (sites Sites, vials int) {
	for i := range p.n {
		if of>>i&1 == 1 && at>>p.site[i]&1 == 1 {
			sites |= 1 << p.site[i]
			vials += p.vials[i]
		}
	}
	return sites, vials
}

// short gives the shortage of one product's patients. Whoever goes without
// may still get what is left, so the vials are those of all together.
func (s *stock) short(product int, p *patients) Shortage {
	if p.n == 0 {
		return Shortage{}
	}
	all := uint(1)<<p.n - 1
	vials := s.missing(product, p, all)
	if vials == 0 {
		return Shortage{}
	}
	served := 0
	for some := all; some != 0; some = (some - 1) & all {
		if n := Sites(some).count(); n > served && s.missing(product, p, some) == 0 {
			served = n
		}
	}
	return Shortage{People: p.n - served, Vials: vials}
}

// giving is the search for the best way to treat one set of victims.
type giving struct {
	stock    *stock
	bites    []Bite
	set      Set
	products [MostVictims]int // given to each victim so far
	best     Shortage
	given    [MostVictims]int
	found    bool
}

// treat finds the way to treat a set of victims that leaves the least
// shortage, and the product that each is given.
func (s *stock) treat(bites []Bite, set Set) (Shortage, []int) {
	g := giving{stock: s, bites: bites, set: set}
	g.try(0, 0, Shortage{})
	return g.best, append([]int(nil), g.given[:len(set)]...)
}

// try chooses the product of the i-th victim, when those before fall short by
// so much; what only makes it worse than the best so far is not followed. One
// bitten by the same kind as the one before does not go back to a course that
// that one passed over.
func (g *giving) try(i, first int, short Shortage) {
	if g.found && !g.best.Above(short) {
		return
	}
	if i == len(g.set) {
		g.best, g.given, g.found = short, g.products, true
		return
	}
	courses := g.bites[g.set[i]].Courses
	for c := first; c < len(courses); c++ {
		product := courses[c].Product
		before := g.patients(product, i)
		g.products[i] = product
		after := g.patients(product, i+1)
		next := 0
		if i+1 < len(g.set) && g.set[i+1] == g.set[i] {
			next = c
		}
		g.try(i+1, next, short.less(g.stock.short(product, &before)).plus(g.stock.short(product, &after)))
	}
}

// patients gives those of the first n victims who are given a product.
func (g *giving) patients(product, n int) (p patients) {
	for i := range n {
		if g.products[i] == product {
			b := &g.bites[g.set[i]]
			p.add(b.Site, b.vials(product))
		}
	}
	return p
}

// vials gives the vials of a product that the bite needs; 0 where it does not
// treat it.
func (b *Bite) vials(product int) int {
	for _, c := range b.Courses {
		if c.Product == product {
			return c.Vials
		}
	}
	return 0
}
