package compliance

import (
	"slices"
	"strings"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// grounds gives what is recorded of each product against a holding's species.
// Where rows are for animals of some localities only, they are asked for each
// region that the animals there come from, and the cautious reading is taken:
// what treats all of them, with the largest figures, and nothing that a source
// excludes for one of them.
func (v *View) grounds(holding inventory.Ref) []inventory.Ground {
	rows := v.coverage[holding.ID]
	local := slices.ContainsFunc(rows, func(c *inventory.Coverage) bool { return c.Locality != "" })
	if !local {
		return inventory.Planning(rows)
	}
	var all []inventory.Ground
	for i, region := range v.regions(holding) {
		of := inventory.PlanningFor(rows, region)
		if i == 0 {
			all = of
			continue
		}
		all = commonGrounds(all, of)
	}
	return all
}

// regions gives the regions that the animals of a holding come from, each
// once; the empty one where that is not known of one, or of all.
func (v *View) regions(holding inventory.Ref) (out []string) {
	for i := range v.stays {
		a := &v.stays[i]
		if a.Species == holding.ID && a.everAt(holding.At) && !slices.Contains(out, a.Origin.Region) {
			out = append(out, a.Origin.Region)
		}
	}
	if len(out) == 0 {
		return []string{""}
	}
	slices.Sort(out)
	return out
}

func (s *stay) everAt(site inventory.ID) bool {
	if s.sites.First() == site {
		return true
	}
	_, _, ok := s.sites.Next(day.First-1, func(at inventory.ID) bool { return at == site })
	return ok
}

// commonGrounds joins what holds for animals of two regions.
func commonGrounds(a, b []inventory.Ground) (out []inventory.Ground) {
	for _, g := range a {
		i := slices.IndexFunc(b, func(o inventory.Ground) bool { return o.Product == g.Product })
		if i < 0 { // it treats the others not at all, as far as is recorded
			g.Bases = nil
			out = append(out, g)
			continue
		}
		o := b[i]
		g.Excluded = g.Excluded || o.Excluded
		g.Bases = slices.DeleteFunc(slices.Clone(g.Bases), func(basis inventory.Basis) bool { return !slices.Contains(o.Bases, basis) })
		g.Vials = day.Combine(g.Vials, o.Vials, inventory.Vials.Larger)
		for _, row := range o.Rows {
			if !slices.Contains(g.Rows, row) {
				g.Rows = append(slices.Clone(g.Rows), row)
			}
		}
		out = append(out, g)
	}
	for _, o := range b {
		if !slices.ContainsFunc(a, func(g inventory.Ground) bool { return g.Product == o.Product }) {
			o.Bases = nil
			out = append(out, o)
		}
	}
	return out
}

// useful gives the grounds that a rule accepts: on one of its bases, and
// excluded by no source.
func useful(grounds []inventory.Ground, bases []inventory.Basis) (out []inventory.Ground) {
	for _, g := range grounds {
		if !g.Excluded && slices.ContainsFunc(g.Bases, func(b inventory.Basis) bool { return slices.Contains(bases, b) }) {
			out = append(out, g)
		}
	}
	return out
}

// sources names where the figures of a ground come from.
func sources(g inventory.Ground) string {
	var out []string
	for _, row := range g.Rows {
		if !slices.Contains(out, row.Source) {
			out = append(out, row.Source)
		}
	}
	return strings.Join(out, "; ")
}
