package cover

import (
	"fmt"
	"math/bits"
)

// MostVictims is how many victims a scenario may plan for. The search grows
// with every further one; nobody plans for more.
const MostVictims = 5

// MostSites is how many sites one scenario may take together.
const MostSites = 64

// Course is one way of treating a bite: so many vials of one product.
type Course struct{ Product, Vials int }

// Bite is a kind of bite that may happen: by a species at a site.
type Bite struct {
	Site    int
	Courses []Course // any one is enough; at least one
	// Most is how many people it may happen to at once: the animals there,
	// or twice as many where the same animal may bite twice.
	Most int
}

// Sites is a set of sites.
type Sites uint64

// Of gives the set of some sites.
func Of(sites ...int) Sites {
	var s Sites
	for _, site := range sites {
		s |= 1 << site
	}
	return s
}

// Pool is vials of one product that the same sites reach in time.
type Pool struct {
	Product, Vials int
	Reached        Sites
}

// Scenario is what may happen at once, and what there is against it.
type Scenario struct {
	Victims int // as many people as are bitten at once
	// Persons bounds the victims at each site by the people who are there;
	// nil, and a site beyond its end, have no bound.
	Persons []int
	Bites   []Bite
	Pools   []Pool
}

// Check says what is wrong with a scenario.
func (s *Scenario) Check() error {
	if s.Victims < 1 || s.Victims > MostVictims {
		return fmt.Errorf("%d victims are not allowed: plan for 1 to %d", s.Victims, MostVictims)
	}
	for i, b := range s.Bites {
		switch {
		case b.Site < 0 || b.Site >= MostSites:
			return fmt.Errorf("bite %d is at site %d: allowed are 0 to %d", i, b.Site, MostSites-1)
		case len(b.Courses) == 0:
			return fmt.Errorf("bite %d has no course: what nothing treats is reported apart", i)
		case b.Most < 1:
			return fmt.Errorf("bite %d can happen to %d people: at least 1", i, b.Most)
		}
		for _, c := range b.Courses {
			if c.Vials < 1 || c.Product < 0 {
				return fmt.Errorf("bite %d has a course of %d vials of product %d: at least 1 vial", i, c.Vials, c.Product)
			}
		}
	}
	for i, p := range s.Pools {
		if p.Vials < 0 || p.Product < 0 {
			return fmt.Errorf("pool %d has %d vials of product %d: neither may be negative", i, p.Vials, p.Product)
		}
	}
	return nil
}

// Set is some victims: the indexes of their bites, ascending; a bite that
// happens to two people is in it twice.
type Set []int

// Shortage is how far the antivenom falls short of a set of victims.
type Shortage struct {
	People int // without a full course, when as many as possible get one
	Vials  int // missing, when they are given so that fewest are
}

// None says that everybody can be treated.
func (s Shortage) None() bool { return s == Shortage{} }

// Above says that the shortage is worse than another: more people, or as many
// and more vials.
func (s Shortage) Above(o Shortage) bool {
	return s.People > o.People || s.People == o.People && s.Vials > o.Vials
}

func (s Shortage) plus(o Shortage) Shortage { return Shortage{s.People + o.People, s.Vials + o.Vials} }

func (s Shortage) less(o Shortage) Shortage { return Shortage{s.People - o.People, s.Vials - o.Vials} }

// stock finds the vials that sites reach.
type stock struct {
	pools   [][]Pool // by product
	alone   [][]int  // by product, then by site: what that site reaches
	several map[several]int
}

type several struct {
	product int
	sites   Sites
}

func (s *Scenario) stock() stock {
	products, sites := s.sizes()
	out := stock{pools: make([][]Pool, products), alone: make([][]int, products), several: make(map[several]int)}
	for _, p := range s.Pools {
		out.pools[p.Product] = append(out.pools[p.Product], p)
	}
	for product := range out.alone {
		out.alone[product] = make([]int, sites)
		for site := range sites {
			out.alone[product][site] = out.sum(product, 1<<site)
		}
	}
	return out
}

// sizes gives how many products and sites there are.
func (s *Scenario) sizes() (products, sites int) {
	for _, p := range s.Pools {
		products = max(products, p.Product+1)
	}
	for _, b := range s.Bites {
		sites = max(sites, b.Site+1)
		for _, c := range b.Courses {
			products = max(products, c.Product+1)
		}
	}
	return products, sites
}

// reach gives the vials of a product that any of the sites reaches.
func (s *stock) reach(product int, sites Sites) int {
	if sites&(sites-1) == 0 {
		return s.alone[product][bits.TrailingZeros64(uint64(sites))]
	}
	key := several{product, sites}
	n, known := s.several[key]
	if !known {
		n = s.sum(product, sites)
		s.several[key] = n
	}
	return n
}

func (s *stock) sum(product int, sites Sites) (n int) {
	for _, p := range s.pools[product] {
		if p.Reached&sites != 0 {
			n += p.Vials
		}
	}
	return n
}

// count gives the number of sites of a set.
func (s Sites) count() int { return bits.OnesCount64(uint64(s)) }
