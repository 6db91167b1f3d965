package inventory

import (
	"cmp"
	"slices"

	"antidotary/inventory/day"
)

// Ground is what all sources together say of one product against one species.
type Ground struct {
	Product, Species ID
	// Excluded says that a source states that the product does not work. It
	// beats every other ground; Bases are shown beside it.
	Excluded bool
	// Bases are the other grounds that a source gives, each once, strongest
	// first.
	Bases []Basis
	// Vials are the figures to plan with: the largest that any source gives on
	// each day. 0 is unknown to all.
	Vials day.Line[Vials]
	// Rows are what was read, for showing: in the order of source and locality.
	Rows []*Coverage
}

// Planning joins coverage rows, of whatever products and species, into one
// ground for each product and species. Every row given is taken to hold.
// Grounds come in the order of product and species.
func Planning(rows []*Coverage) []Ground {
	return joined(rows, func(*Coverage) Tri { return Yes })
}

// PlanningFor joins the rows that hold, or may hold, for an animal whose line
// comes from a region; empty: unknown. What may hold for it excludes, and
// raises the figures, but is no ground on which the product is taken to work.
func PlanningFor(rows []*Coverage, region string) []Ground {
	return joined(rows, func(c *Coverage) Tri { return c.HoldsFor(region) })
}

func joined(rows []*Coverage, holds func(*Coverage) Tri) (out []Ground) {
	rows = slices.DeleteFunc(slices.Clone(rows), func(c *Coverage) bool { return holds(c) == No })
	slices.SortFunc(rows, func(a, b *Coverage) int {
		return cmp.Or(slices.Compare(a.Product[:], b.Product[:]), slices.Compare(a.Species[:], b.Species[:]),
			cmp.Compare(a.Source, b.Source), cmp.Compare(a.Locality, b.Locality), slices.Compare(a.ID[:], b.ID[:]))
	})
	for len(rows) > 0 {
		first := rows[0]
		n := 1
		for n < len(rows) && rows[n].Product == first.Product && rows[n].Species == first.Species {
			n++
		}
		out = append(out, ground(rows[:n:n], holds))
		rows = rows[n:]
	}
	return out
}

// ground joins the rows of one product and species.
func ground(rows []*Coverage, holds func(*Coverage) Tri) Ground {
	g := Ground{Product: rows[0].Product, Species: rows[0].Species, Rows: rows}
	for _, c := range rows {
		line := LineOf(Vials{}, c.Vials)
		g.Vials = day.Combine(g.Vials, line, Vials.Larger)
		g.Excluded = g.Excluded || c.Basis == Excluded
	}
	g.Vials = day.Map(g.Vials, Vials.consistent)
	for _, basis := range []Basis{Indicated, Immunogen, Paraspecific} {
		if slices.ContainsFunc(rows, func(c *Coverage) bool { return c.Basis == basis && holds(c) == Yes }) {
			g.Bases = append(g.Bases, basis)
		}
	}
	return g
}

// Larger takes the larger of each figure; an unknown one, 0, is the smaller.
func (v Vials) Larger(o Vials) Vials {
	return Vials{max(v.Initial, o.Initial), max(v.Full, o.Full), max(v.Worst, o.Worst)}
}

// consistent raises what is known so that a full course is no less than an
// initial dose, and the worst case no less than a full course: figures of
// several sources need not agree.
func (v Vials) consistent() Vials {
	if v.Full > 0 {
		v.Full = max(v.Full, v.Initial)
	}
	if v.Worst > 0 {
		v.Worst = max(v.Worst, v.Full, v.Initial)
	}
	return v
}
