package reorder_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory/reorder"
)

// TestNoOrderIsForNothing: without any one of its orders, somebody of a plan
// would go untreated; with all of them, nobody that an order can help does;
// each order is made in time, and no budget is exceeded.
func TestNoOrderIsForNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		p := randomProblem(r)
		switch r.IntN(3) {
		case 0:
			p = randomStaggered(r)
		case 1:
			p = randomSeveral(r)
		}
		plan := p.Make()
		spent := make([]int64, len(p.Budgets))
		var cost int64
		for i, o := range plan.Orders {
			why := p.Without(plan, i)
			if why.On.IsZero() || why.On < o.Arrives {
				t.Fatalf("order %d is for nothing: %+v\n%+v\n%+v", i, why, plan, p)
			}
			if anew := p.Without(&reorder.Plan{Orders: plan.Orders, Gaps: plan.Gaps}, i); !reflect.DeepEqual(anew, why) {
				t.Fatalf("without order %d the plan says %+v, searched for anew %+v\n%+v\n%+v", i, why, anew, plan, p)
			}
			offer := p.Offers[o.Offer]
			if o.OrderBy < p.From || o.OrderBy.Add(offer.Lead) > o.Arrives || offer.Lead > 0 && !p.Calendar.IsWorking(o.OrderBy) || o.Packs < offer.Least || o.Ends != o.Arrives.Add(offer.Life) {
				t.Fatalf("order %+v of %+v is not possible", o, offer)
			}
			for n := len(p.Budgets) - 1; n >= 0; n-- {
				if p.Budgets[n].From <= o.OrderBy {
					spent[n] += o.Cost
					break
				}
			}
			cost += o.Cost
		}
		for n, b := range p.Budgets {
			if spent[n] > b.Most {
				t.Fatalf("budget %d: %d of %d\n%+v", n, spent[n], b.Most, plan)
			}
		}
		if cost != plan.Cost {
			t.Fatalf("cost %d, the orders cost %d", plan.Cost, cost)
		}
	})
}

// TestCutShort: a search that is cut short still gives a plan that treats
// everybody, at no less than its bound, and does not call it proven unless it
// costs what the cheapest costs.
func TestCutShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		p := randomProblem(r)
		switch r.IntN(3) {
		case 0:
			p = randomStaggered(r)
		case 1:
			p = randomSeveral(r)
		}
		best := p.Make()
		p.Search = 1
		if r.IntN(2) == 0 {
			p.Search, p.States = 0, 1
		}
		cut := p.Make()
		switch {
		case cut.Found && !best.Found:
			t.Fatalf("cut short there is a plan, in full none\n%+v", cut)
		case cut.Proven && !cut.Found && best.Found:
			t.Fatalf("cut short it is proven that there is no plan, in full there is %+v", best)
		case !cut.Found:
			return
		case cut.Over < best.Over || cut.LeastOver > best.Over || cut.Proven && (cut.Over != best.Over || cut.Cost != best.Cost):
			t.Fatalf("cut short %+v, in full %+v", cut, best)
		case cut.Over == best.Over && cut.Cost < best.Cost || cut.LeastOver == best.Over && cut.Bound > best.Cost:
			t.Fatalf("cut short %+v, in full %+v", cut, best)
		}
		for i := range cut.Orders {
			_ = p.Without(cut, i)
		}
		if lapse := lapses(p, cut); !lapse.On.IsZero() {
			t.Fatalf("cut short the plan leaves %+v", lapse)
		}
	})
}

// lapses gives what a plan leaves untreated within itself: as if it had one
// more order, of nothing, that is left out.
func lapses(p *reorder.Problem, plan *reorder.Plan) reorder.Lapse {
	more := *plan
	more.Orders = append([]reorder.Order{{Packs: 0, Arrives: p.Until, Ends: p.Until}}, plan.Orders...)
	if len(p.Offers) == 0 {
		return reorder.Lapse{}
	}
	return p.Without(&more, 0)
}
