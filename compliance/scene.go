package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// Scene says which bites a scenario takes together, and what counts against
// them. It is a value, so that equal scenes are worked out once.
type Scene struct {
	Victims int
	Within  Within
	Twice   bool // the same animal may bite two people
	Persons int  // people at a site at most; 0: no bound
	bases   string
	// Approved: of the house's own vials only those count that it may use; see
	// allowed.
	Approved bool
}

// stock names a product at a site by what counts in the scene.
func (s Scene) stock(product, site inventory.ID) stockKey {
	return stockKey{product, site, s.Within, s.Approved}
}

// Staged is a scene at a site, with the sites that share its stock, ready to
// be asked for any day.
type Staged struct {
	Scene
	Sites    []inventory.ID  // the site itself, then those that share a place with it
	Bites    []inventory.Ref // holdings, by the scenario's bites
	Products []inventory.ID  // by the scenario's products
	counts   []day.Line[int]
	courses  [][]courseLine
	pools    []poolLine
	days     []day.Day // on which anything changes
	known    cover.Memory
}

type courseLine struct {
	product int
	vials   day.Line[inventory.Vials]
}

type poolLine struct {
	product int
	reached cover.Sites
	vials   day.Line[inventory.Quantity]
}

// Stage sets a scene at a site. Species that nothing treats have no place in
// it.
func (v *View) Stage(scene Scene, bases []inventory.Basis, site inventory.ID) *Staged {
	return v.StageAll(scene, bases, v.sharing(scene, site))
}

// StageAll sets a scene at some sites, of which at least one is given, and no
// others.
func (v *View) StageAll(scene Scene, bases []inventory.Basis, sites []inventory.ID) *Staged {
	s := &Staged{Scene: scene, Sites: sites}
	for _, site := range s.Sites {
		for _, species := range v.speciesAt[site] {
			s.bite(v, inventory.Holding(species, site), bases)
		}
	}
	for i, product := range s.Products {
		s.stock(v, i, product)
	}
	s.days = s.turns()
	return s
}

// sharing gives the sites whose bites would draw on the same vials: those that
// reach a place that the site reaches, and so on.
func (v *View) sharing(scene Scene, site inventory.ID) []inventory.ID {
	sites := []inventory.ID{site}
	if scene.Within == OwnPlaces || scene.Victims < 2 {
		return sites
	}
	for i := 0; i < len(sites); i++ {
		for p := range v.Places.All() {
			if minutes, known := p.Minutes(sites[i]); !known || minutes > int(scene.Within) {
				continue
			}
			for _, other := range v.reachedFrom(p, scene.Within) {
				if !slices.Contains(sites, other) && len(sites) < cover.MostSites {
					sites = append(sites, other)
				}
			}
		}
	}
	return sites
}

// reachedFrom gives the sites to which a place's vials can be fetched in time.
func (v *View) reachedFrom(p *inventory.Place, within Within) (sites []inventory.ID) {
	if minutes, known := p.Minutes(p.Site); known && minutes <= int(within) {
		sites = append(sites, p.Site)
	}
	for _, r := range p.Reach {
		if r.Site != p.Site && r.Minutes <= int(within) {
			sites = append(sites, r.Site)
		}
	}
	return sites
}

// bite adds a holding that something treats.
func (s *Staged) bite(v *View, holding inventory.Ref, bases []inventory.Basis) {
	species, ok := v.Species.Get(holding.ID)
	if !ok || species.Venomous == inventory.No {
		return
	}
	var courses []courseLine
	for _, g := range useful(v.grounds(holding), bases) {
		i := slices.Index(s.Products, g.Product)
		if i < 0 {
			i = len(s.Products)
			s.Products = append(s.Products, g.Product)
		}
		courses = append(courses, courseLine{i, g.Vials})
	}
	if len(courses) == 0 {
		return
	}
	s.Bites = append(s.Bites, holding)
	s.courses = append(s.courses, courses)
	s.counts = append(s.counts, v.counts[holding])
}

// stock adds the pools of a product: the places that the same sites reach are
// one, a partner serves the site of its agreement.
func (s *Staged) stock(v *View, i int, product inventory.ID) {
	if len(s.Sites) == 1 {
		line := day.Map(v.atHand(s.Scene.stock(product, s.Sites[0])), atHand.all)
		s.pools = append(s.pools, poolLine{i, cover.Of(0), line})
		return
	}
	byReach := make(map[cover.Sites][]day.Line[inventory.Quantity])
	for _, lot := range v.lotsAmong(product, v.sitesNearAny(s.Sites)) {
		reached := make(map[cover.Sites]bool)
		for _, m := range lot.Movements {
			reached[s.reach(v, m.Place)] = true
		}
		for mask := range reached {
			if mask != 0 {
				vials := lot.Usable(func(place inventory.ID) bool { return s.reach(v, place) == mask })
				if s.Approved { // at each site that reaches them, the cautious reading
					vials = ifAllowed(vials, v.allowedAt(product, s.among(mask)))
				}
				byReach[mask] = append(byReach[mask], vials)
			}
		}
	}
	for at, site := range s.Sites {
		byReach[cover.Of(at)] = append(byReach[cover.Of(at)], v.partnerVials(s.Scene.stock(product, site)))
	}
	if v.Ask.Plans {
		s.coming(v, product, byReach)
	}
	masks := make([]cover.Sites, 0, len(byReach))
	for mask := range byReach {
		masks = append(masks, mask)
	}
	slices.Sort(masks)
	for _, mask := range masks {
		s.pools = append(s.pools, poolLine{i, mask, inventory.Sum(byReach[mask])})
	}
}

// lotsAmong gives the lots of a product that ever were at some sites.
func (v *View) lotsAmong(product inventory.ID, sites []inventory.ID) (all []*inventory.Lot) {
	for _, site := range sites {
		all = append(all, v.lots[productSite{product, site}]...)
	}
	slices.SortFunc(all, func(a, b *inventory.Lot) int { return slices.Compare(a.ID[:], b.ID[:]) })
	return slices.Compact(all)
}

// reach gives the sites of the scene to which a place's vials can be fetched
// in time.
func (s *Staged) reach(v *View, place inventory.ID) (out cover.Sites) {
	p, ok := v.Places.Get(place)
	if !ok {
		return 0
	}
	for at, site := range s.Sites {
		if minutes, known := p.Minutes(site); known && minutes <= int(s.Within) {
			out |= cover.Of(at)
		}
	}
	return out
}

// among gives the sites of a set.
func (s *Staged) among(set cover.Sites) (sites []inventory.ID) {
	for at, site := range s.Sites {
		if set&cover.Of(at) != 0 {
			sites = append(sites, site)
		}
	}
	return sites
}

// turns gives the days on which stock, courses or animals change.
func (s *Staged) turns() []day.Day {
	var days []day.Day
	for _, line := range s.counts {
		for on := range line.Changes() {
			days = append(days, on)
		}
	}
	for _, courses := range s.courses {
		for _, c := range courses {
			for on := range c.vials.Changes() {
				days = append(days, on)
			}
		}
	}
	for _, p := range s.pools {
		for on := range p.vials.Changes() {
			days = append(days, on)
		}
	}
	return sorted(days)
}

// Days gives the days of a stretch on which the answer may change, its first
// day included: [from, until).
func (s *Staged) Days(from, until day.Day) []day.Day {
	days := []day.Day{from}
	for _, on := range s.days {
		if on > from && on < until {
			days = append(days, on)
		}
	}
	return days
}

// On gives the scenario of a day, with the vials that are there for sure, or
// with the most that there may be; and the places of its bites among Bites. A
// bite whose course nobody knows has no place in it.
func (s *Staged) On(on day.Day, most bool) (cover.Scenario, []int) {
	out := cover.Scenario{Victims: s.Victims}
	if s.Persons > 0 {
		for range s.Sites {
			out.Persons = append(out.Persons, s.Persons)
		}
	}
	var bites []int
	for i, holding := range s.Bites {
		n := s.counts[i].At(on)
		if n == 0 {
			continue
		}
		b := cover.Bite{Site: slices.Index(s.Sites, holding.At), Most: n}
		if s.Twice {
			b.Most = 2 * n
		}
		for _, c := range s.courses[i] {
			if full := c.vials.At(on).Full; full > 0 {
				b.Courses = append(b.Courses, cover.Course{Product: c.product, Vials: full})
			}
		}
		if len(b.Courses) > 0 {
			out.Bites, bites = append(out.Bites, b), append(bites, i)
		}
	}
	for _, p := range s.pools {
		n := p.vials.At(on).Sure
		if most {
			n = p.vials.At(on).Maybe
		}
		if n > 0 {
			out.Pools = append(out.Pools, cover.Pool{Product: p.product, Vials: n, Reached: p.reached})
		}
	}
	return out, bites
}
