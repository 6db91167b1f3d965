package reorder_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"antidotary/inventory/cover"
	"antidotary/inventory/day"
	"antidotary/inventory/reorder"
)

// facility is a house with so many species, products a quarter of that, stock
// that ends bit by bit within two years, one or two suppliers for each
// product, and budgets by year of which one binds where asked.
func facility(species, months, victims int, budgets bool) *reorder.Problem {
	r := rand.New(rand.NewPCG(5, 9))
	from := d("2026-12-01")
	p := &reorder.Problem{From: from, Until: from.AddMonths(months), Calendar: day.WeekendsOnly()}
	products := max(2, species/4)
	largest := make([]int, products)
	period := reorder.Period{From: from, Victims: victims}
	for range species {
		var courses []cover.Course
		for _, product := range r.Perm(products)[:1+r.IntN(2)] {
			c := cover.Course{Product: product, Vials: 2 * (1 + r.IntN(10))}
			largest[product] = max(largest[product], c.Vials)
			courses = append(courses, c)
		}
		period.Bites = append(period.Bites, cover.Bite{Courses: courses, Most: 1 + r.IntN(3)})
	}
	p.Periods = []reorder.Period{period}
	for product := range products {
		left := victims*largest[product] + r.IntN(6)
		falls := []day.Change[int]{}
		for on := from.Add(30 + r.IntN(200)); left > 0 && on < p.Until; on = on.Add(60 + r.IntN(240)) {
			next := max(0, left-1-r.IntN(12))
			falls = append(falls, day.Change[int]{On: on, To: next})
			left = next
		}
		p.Stock = append(p.Stock, day.Steps(victims*largest[product], falls...))
		for range 1 + r.IntN(2) {
			p.Offers = append(p.Offers, reorder.Offer{Product: product, Pack: 1 + r.IntN(5), Least: r.IntN(3), Price: int64(4000 + r.IntN(200000)), Fee: int64(r.IntN(80000)), Lead: 20 + r.IntN(250), Life: 365 + r.IntN(730)})
		}
	}
	if budgets {
		p.Budgets = binding(p)
	}
	return p
}

// binding gives budgets by year of which the first binds: nine tenths of what
// the cheapest plan would take of it.
func binding(p *reorder.Problem) (budgets []reorder.Budget) {
	for year := p.From; year < p.Until; year = year.AddMonths(12) {
		budgets = append(budgets, reorder.Budget{From: year, Most: 1 << 50})
	}
	var first int64
	for _, o := range p.Make().Orders {
		if o.OrderBy < p.From.AddMonths(12) {
			first += o.Cost
		}
	}
	budgets[0].Most = first * 9 / 10
	return budgets
}

// BenchmarkStaggered plans for one facility in thirds.
func BenchmarkStaggered(b *testing.B) {
	for _, victims := range []int{1, 2} {
		for _, species := range []int{8, 20, 40, 60} {
			p := facility(species, 24, victims, false)
			p.StaggerBy(3)
			b.Run(fmt.Sprintf("victims=%d/species=%d", victims, species), func(b *testing.B) { benchmark(b, p) })
		}
	}
}

func benchmark(b *testing.B, p *reorder.Problem) {
	var plan *reorder.Plan
	for b.Loop() {
		plan = p.Make()
	}
	b.ReportMetric(float64(plan.Tried), "levels-tried")
	b.ReportMetric(float64(len(plan.Orders)), "orders")
	proven := 0.0
	if plan.Proven {
		proven = 1
	}
	b.ReportMetric(proven, "proven")
}

// BenchmarkPlan plans for one facility.
func BenchmarkPlan(b *testing.B) {
	for _, victims := range []int{1, 2} {
		for _, budgets := range []bool{false, true} {
			for _, species := range []int{8, 20, 40, 60} {
				p := facility(species, 24, victims, budgets)
				b.Run(fmt.Sprintf("victims=%d/budgets=%t/species=%d", victims, budgets, species), func(b *testing.B) { benchmark(b, p) })
			}
		}
	}
}

// BenchmarkWhy asks of each order what would lapse without it: with the clashes
// that the plan keeps, and with each order's searched for alone.
func BenchmarkWhy(b *testing.B) {
	for _, victims := range []int{2, 3} {
		p := facility(60, 24, victims, false)
		plan := p.Make()
		alone := &reorder.Plan{Orders: plan.Orders, Gaps: plan.Gaps}
		for _, of := range []struct {
			name string
			plan *reorder.Plan
		}{{"alone", alone}, {"kept", plan}} {
			b.Run(fmt.Sprintf("victims=%d/%s", victims, of.name), func(b *testing.B) {
				for b.Loop() {
					for i := range of.plan.Orders {
						p.Without(of.plan, i)
					}
				}
				b.ReportMetric(float64(len(of.plan.Orders)), "orders")
			})
		}
	}
}
