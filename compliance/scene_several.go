package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// sitesNearAny gives the sites with a place that says how far one of some
// sites is, and these themselves.
func (v *View) sitesNearAny(sites []inventory.ID) (near []inventory.ID) {
	for _, site := range sites {
		for _, other := range v.sitesNear(site) {
			if !slices.Contains(near, other) {
				near = append(near, other)
			}
		}
	}
	return near
}

// coming adds what is ordered, planned, or lent and due back, by the sites that
// reach where it will be. Planned vials are in no place yet: they count for
// their own site only. Lent ones count for the sites that reach every place in
// which the lot ever was.
func (s *Staged) coming(v *View, product inventory.ID, byReach map[cover.Sites][]day.Line[inventory.Quantity]) {
	add := func(mask cover.Sites, vials day.Line[int]) {
		if s.Approved {
			vials = countIfAllowed(vials, v.allowedAt(product, s.among(mask)))
		}
		if mask != 0 && !vials.Always(0) {
			byReach[mask] = append(byReach[mask], day.Map(vials, func(n int) inventory.Quantity { return inventory.Quantity{Sure: n, Maybe: n} }))
		}
	}
	for _, o := range v.orders[product] {
		add(s.reach(v, o.Place), o.Planned(v.DayOfNow(v.placeSite[o.Place])))
	}
	for at, site := range s.Sites {
		for _, p := range v.vialPlans[productSite{product, site}] {
			add(cover.Of(at), plannedVials(p))
			if _, known := p.Until.Known(); !known {
				vials := doubtfulVials(p)
				if s.Approved {
					vials = ifAllowed(vials, v.allowedAt(product, s.among(cover.Of(at))))
				}
				byReach[cover.Of(at)] = append(byReach[cover.Of(at)], vials)
			}
		}
	}
	for _, lot := range v.lotsAmong(product, v.sitesNearAny(s.Sites)) {
		mask := s.All()
		for _, m := range lot.Movements {
			mask &= s.reach(v, m.Place)
		}
		if len(lot.Movements) > 0 {
			add(mask, lot.DueBack(v.DayOfNow(v.placeSite[lot.Movements[0].Place])))
		}
	}
}

// All gives the set of all sites of the scene.
func (s *Staged) All() cover.Sites {
	var all cover.Sites
	for at := range s.Sites {
		all |= cover.Of(at)
	}
	return all
}

// Shared gives the places whose vials can be fetched to all sites of the scene
// in time. A scene that counts the sites' own places only has none for
// several sites.
func (s *Staged) Shared(v *View) (places []*inventory.Place) {
	if s.Within == OwnPlaces {
		return nil
	}
	for p := range v.Places.All() {
		if s.reach(v, p.ID) == s.All() {
			places = append(places, p)
		}
	}
	slices.SortFunc(places, func(a, b *inventory.Place) int { return slices.Compare(a.ID[:], b.ID[:]) })
	return places
}

// Others gives the sites outside the scene whose bites draw on vials that its
// sites reach.
func (s *Staged) Others(v *View) (others []inventory.ID) {
	scene := s.Scene
	scene.Victims = max(2, scene.Victims) // even where one victim is planned for, the vials are the same
	for _, site := range s.Sites {
		for _, other := range v.sharing(scene, site) {
			if !slices.Contains(s.Sites, other) && !slices.Contains(others, other) {
				others = append(others, other)
			}
		}
	}
	return others
}
