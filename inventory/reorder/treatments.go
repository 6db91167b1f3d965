package reorder

import (
	"maps"

	"antidotary/inventory/cover"
)

// treatment is one way of treating a set of victims: what those at each site
// take of each product.
type treatment map[int]map[int]int

// treatments gives what each way of treating a set takes of each product from
// where all sites reach it, on a day with so much near some sites.
func treatments(bites []cover.Bite, set cover.Set, near []cover.Pool) []map[int]int {
	ways := []treatment{{}}
	for _, b := range set {
		var more []treatment
		for _, way := range ways {
			for _, c := range bites[b].Courses {
				more = append(more, way.with(bites[b].Site, c))
			}
		}
		ways = more
	}
	out := make([]map[int]int, len(ways))
	for i, way := range ways {
		out[i] = make(map[int]int, len(way))
		for product, bySite := range way {
			out[i][product] = beyond(bySite, near, product)
		}
	}
	return out
}

func (t treatment) with(site int, c cover.Course) treatment {
	out := maps.Clone(t)
	out[c.Product] = maps.Clone(t[c.Product])
	if out[c.Product] == nil {
		out[c.Product] = make(map[int]int, 1)
	}
	out[c.Product][site] += c.Vials
	return out
}

// beyond gives the vials of a product that must be where all sites reach them,
// when those at each site take so many. For each group of sites it is what its
// victims take beyond what any of these sites reaches nearby; the group that
// needs most says it, by Hall's theorem in its deficiency form, as in package
// cover.
func beyond(bySite map[int]int, near []cover.Pool, product int) (vials int) {
	var all cover.Sites
	for site := range bySite {
		all |= cover.Of(site)
	}
	for some := all; some != 0; some = (some - 1) & all {
		n := 0
		for site, takes := range bySite {
			if some>>site&1 == 1 {
				n += takes
			}
		}
		for _, pool := range near {
			if pool.Product == product && pool.Reached&some != 0 {
				n -= pool.Vials
			}
		}
		vials = max(vials, n)
	}
	return vials
}
