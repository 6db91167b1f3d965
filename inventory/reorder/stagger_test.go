package reorder_test

import (
	"fmt"
	"math/rand/v2"
	"os/exec"
	"slices"
	"testing"

	"antidotary/inventory/cover"
	"antidotary/inventory/day"
	"antidotary/inventory/reorder"
)

// randomStaggered is a problem across a new year, in which what may lapse in a
// year is bounded.
func randomStaggered(r *rand.Rand) *reorder.Problem {
	p := randomFrom(d("2026-08-20"), r)
	for range p.Stock {
		p.Stagger = append(p.Stagger, r.IntN(16))
	}
	return p
}

// lapsesIn gives the vials in stock whose last good day is in a year.
func lapsesIn(line day.Line[int], from day.Day, year int) (n int) {
	before := line.At(from)
	for on := from + 1; on < from.Add(1000); on++ {
		if y, _, _ := (on - 1).Date(); y == year {
			n += max(0, before-line.At(on))
		}
		before = line.At(on)
	}
	return n
}

func (p *program) lapsing(product, year int) int {
	n := lapsesIn(p.Stock[product], p.From, year)
	for _, near := range p.Near {
		if near.Product == product {
			n += lapsesIn(near.Vials, p.From, year)
		}
	}
	return n
}

// stagger writes by how many vials the orders go beyond the bounds; what is in
// stock goes beyond them in any case.
func (p *program) stagger() {
	for product, most := range p.Stagger {
		for year := 2026; year <= 2027 && most > 0; year++ {
			out := ""
			for k, o := range p.Offers {
				for i, on := range p.days {
					if y, _, _ := (on.Add(o.Life) - 1).Date(); o.Product == product && y == year && on >= p.soonest(o) {
						out += fmt.Sprintf(" - %d x_%d_%d", o.Pack, k, i)
					}
				}
			}
			over := fmt.Sprintf(" + e_%d_%d", product, year)
			p.over += over
			fmt.Fprintf(&p.rows, " 0 none%s%s >= %d\n", over, out, -max(0, most-p.lapsing(product, year)))
		}
	}
}

// TestStaggeredPlanIsGlpsolsOptimum compares with GLPK 5.0 (glpsol) on 300
// random problems: first how far a plan must go beyond the bounds, then what
// the cheapest of those costs that go no further.
func TestStaggeredPlanIsGlpsolsOptimum(t *testing.T) {
	if _, err := exec.LookPath("glpsol"); err != nil {
		t.Skip("glpsol is not installed: install glpk-utils")
	}
	dir := t.TempDir()
	compared, dearer, beyond := 0, 0, 0
	for seed := uint64(0); compared < 300; seed++ {
		r := rand.New(rand.NewPCG(seed, 4))
		p := randomStaggered(r)
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		free := *p
		free.Stagger = nil
		if unbound := free.Make(); len(unbound.Orders) == 0 || len(p.Lapsing(unbound.Orders)) == 0 && seed%4 > 0 {
			continue // mostly those that staggering changes
		}
		plan := p.Make()
		mip := program{Problem: p, gaps: plan.Gaps, most: -1}
		text := mip.write(rand.New(rand.NewPCG(seed, 5)))
		if len(mip.days)*len(p.Offers) > 60 { // glpsol may take minutes
			continue
		}
		compared++
		over, ok := 0.0, true
		if mip.over != "" {
			over, ok = solve(t, dir, text)
			mip = program{Problem: p, gaps: plan.Gaps, most: int(over)}
			text = mip.write(rand.New(rand.NewPCG(seed, 5)))
		}
		cost := 0.0
		if ok {
			cost, ok = solve(t, dir, text)
		}
		if !plan.Proven || plan.Found != ok || ok && (float64(plan.Over) != over || float64(plan.Cost) != cost) {
			t.Fatalf("seed %d: %+v, glpsol says %g vials over and %g (%t)\n%+v", seed, plan, over, cost, ok, p)
		}
		if ok && plan.Cost > free.Make().Cost {
			dearer++
		}
		if plan.Over > 0 {
			beyond++
		}
	}
	t.Logf("of 300 problems %d cost more than without staggering, %d go beyond the bounds", dearer, beyond)
	if dearer < 20 || beyond < 20 || beyond > 280 {
		t.Errorf("too few of one sort to compare")
	}
}

// TestAThirdEachYear is worked out by hand: 12 vials of one product are needed,
// and none is there. Vials are good for 3 years, a pack is 4 vials for 400 and
// an order 10. Unstaggered, all 12 come at once and lapse at once. In thirds, 4
// may lapse in a year: on the first day 12 must be there in any case, and they
// all lapse in 2029, 8 more than may.
func TestAThirdEachYear(t *testing.T) {
	from := d("2026-06-01")
	p := &reorder.Problem{From: from, Until: d("2028-06-01"), Calendar: weekdays(), Stock: []day.Line[int]{day.Constant(0)},
		Periods: []reorder.Period{{From: from, Victims: 1, Bites: []cover.Bite{{Courses: []cover.Course{{Vials: 12}}, Most: 2}}}},
		Offers:  []reorder.Offer{{Pack: 4, Price: 400, Fee: 10, Life: 3 * 365}}}
	p.StaggerBy(3)
	plan := p.Make()
	if !slices.Equal(p.Stagger, []int{4}) || plan.Cost != 1210 || plan.Over != 8 || !plan.Proven {
		t.Errorf("%v: %+v, want 12 vials for 1210, 8 more than may lapse in 2029", p.Stagger, plan)
	}
	if got := p.Lapsing(plan.Orders); !slices.Equal(got, []reorder.Lapsing{{Product: 0, Year: 2029, Vials: 12, Ordered: 12, Most: 4}}) {
		t.Errorf("beyond the bound: %+v", got)
	}

	// With stock of 12 that lapses by thirds at the middle of 2026, 2027 and 2028,
	// each third is bought when one lapses: 4 vials lapse in 2029 and 4 in 2030,
	// with or without staggering.
	p.Stock[0] = day.Steps(12, day.Change[int]{On: d("2026-07-01"), To: 8}, day.Change[int]{On: d("2027-07-01"), To: 4}, day.Change[int]{On: d("2028-07-01"), To: 0})
	plan = p.Make()
	if plan.Cost != 820 || plan.Over != 0 || !plan.Proven || len(plan.Orders) != 2 || plan.Orders[1].Arrives != d("2027-07-01") {
		t.Errorf("%+v, want 4 vials on 2026-07-01 and 4 on 2027-07-01 for 820", plan)
	}
	p.Offers[0].Fee = 0
	p.Offers[0].Change = []reorder.Price{{From: d("2027-01-01"), Price: 500}} // dearer later: now both would come at once
	plan = p.Make()
	if p.Stagger = nil; plan.Over != 0 || plan.Cost != 900 || p.Make().Cost != 800 {
		t.Errorf("%+v, want 900 with staggering and 800 without", plan)
	}
}
