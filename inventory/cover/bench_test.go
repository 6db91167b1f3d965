package cover_test

import (
	"fmt"
	"math/rand/v2"
	"os/exec"
	"testing"

	"antidotary/inventory/cover"
)

// network is a scenario of the largest size that is planned for: so many
// species, products and places at so many sites, some products plentiful, some
// scarce, some gone. A species is at one or two sites and treated by one to
// three products.
func network(species, products, sites, places, victims int) *cover.Scenario {
	r := rand.New(rand.NewPCG(11, 5))
	s := &cover.Scenario{Victims: victims}
	largest := make([]int, products)
	for range species {
		courses := make([]cover.Course, 0, 3)
		for _, p := range r.Perm(products)[:1+r.IntN(3)] {
			c := cover.Course{Product: p, Vials: 2 * (1 + r.IntN(10))}
			largest[p] = max(largest[p], c.Vials)
			courses = append(courses, c)
		}
		for _, site := range r.Perm(sites)[:min(sites, 1+r.IntN(2))] {
			s.Bites = append(s.Bites, cover.Bite{Site: site, Courses: courses, Most: 2 * (1 + r.IntN(3))})
		}
	}
	for p := range products {
		stock := largest[p] * r.IntN(victims+2) // none, scarce, plentiful
		for stock > 0 {
			n := min(stock, 1+r.IntN(1+largest[p]))
			at := r.IntN(places) % sites
			s.Pools = append(s.Pools, cover.Pool{Product: p, Vials: n, Reached: cover.Of(at, r.IntN(sites))})
			stock -= n
		}
	}
	return s
}

// BenchmarkWorst searches the worst set and the clashes of a scenario of 400
// species, 120 products and 50 places, at one site and at five, for two and
// three victims; and has glpsol treat some of the same sets, one at a time,
// which is all that it can do: it has no program for the search over sets.
func BenchmarkWorst(b *testing.B) {
	for _, sites := range []int{1, 5} {
		for _, victims := range []int{2, 3} {
			for _, species := range []int{50, 100, 200, 400} {
				s := network(species, species*3/10, sites, 50, victims)
				if err := s.Check(); err != nil {
					b.Fatal(err)
				}
				at := fmt.Sprintf("sites=%d/victims=%d/species=%d", sites, victims, species)
				b.Run("worst/"+at, func(b *testing.B) {
					for b.Loop() {
						if s.Worst().Shortage.None() {
							b.Fatal("nothing is short")
						}
					}
				})
				b.Run("clashes/"+at, func(b *testing.B) {
					for b.Loop() {
						s.Clashes()
					}
				})
			}
		}
	}
	b.Run("one-set/ours", func(b *testing.B) { treatEach(b, func(s *cover.Scenario, set cover.Set) { s.Short(set) }) })
	if _, err := exec.LookPath("glpsol"); err != nil {
		b.Log("glpsol is not installed: install glpk-utils")
		return
	}
	dir := b.TempDir()
	b.Run("one-set/glpsol", func(b *testing.B) {
		treatEach(b, func(s *cover.Scenario, set cover.Set) {
			p := program{s: s}
			p.add(set)
			p.solve(b, dir)
		})
	})
}

// treatEach treats random sets of three victims of the largest scenario.
func treatEach(b *testing.B, treat func(*cover.Scenario, cover.Set)) {
	s := network(400, 120, 5, 50, 3)
	r := rand.New(rand.NewPCG(3, 3))
	for b.Loop() {
		first := r.IntN(len(s.Bites) - 2)
		treat(s, cover.Set{first, first + 1, first + 2})
	}
}
