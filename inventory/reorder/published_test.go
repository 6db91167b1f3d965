package reorder_test

import (
	"testing"

	"antidotary/inventory/cover"
	"antidotary/inventory/day"
	"antidotary/inventory/reorder"
)

var d = day.MustParse

// lotSizing states a lot-sizing problem with demand as one of levels: nothing
// is given out, so the level needed in a month is the sum of demand so far, and
// what a vial costs to keep until the end is in its price: the earlier it
// comes, the dearer. What keeping costs in any case, whenever the vials come
// last, is taken off afterwards.
func lotSizing(demand []int, fee []int64, hold int64) (p *reorder.Problem, off int64) {
	from := d("2026-06-01")
	p = &reorder.Problem{From: from, Until: from.Add(len(demand)), Calendar: weekdays(), Stock: []day.Line[int]{day.Constant(0)}}
	offer := reorder.Offer{Pack: 1, Life: 10_000}
	level := 0
	for month, n := range demand {
		on := from.Add(month)
		level += n
		p.Periods = append(p.Periods, reorder.Period{From: on, Victims: 1, Bites: []cover.Bite{{Courses: []cover.Course{{Vials: level}}, Most: 1}}})
		left := int64(len(demand) - month)
		offer.Change = append(offer.Change, reorder.Price{From: on, Price: hold * left, Fee: fee[month]})
		off += int64(n) * hold * left
	}
	p.Offers = []reorder.Offer{offer}
	return p, off
}

// weekdays is the ordinary calendar. Orders have no lead in these examples, and
// arrive on days that need not be working days.
func weekdays() day.Calendar { return day.WeekendsOnly() }

// TestPublishedLotSizing compares with published examples.
func TestPublishedLotSizing(t *testing.T) {
	for _, c := range []struct {
		name   string
		demand []int
		fee    []int64
		hold   int64
		cost   int64
		orders map[int]int // month -> vials
		source string
	}{
		{"LS-1", []int{69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56}, []int64{85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114}, 1, 864,
			map[int]int{0: 98, 2: 97, 4: 121, 7: 112, 9: 67, 10: 135},
			"the twelve-month example of 1958 (Wagner and Whitin, Management Science 5), data from memory, optimum computed by hand from its recursion"},
		{"LS-2", []int{90, 120, 80, 70}, []int64{500, 500, 500, 500}, 2, 1380, map[int]int{0: 210, 2: 150},
			"Example 3.9 of a supply-chain theory textbook, as in the documentation of an open inventory-optimisation library (R)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, off := lotSizing(c.demand, c.fee, c.hold)
			if err := p.Check(); err != nil {
				t.Fatal(err)
			}
			plan := p.Make()
			if !plan.Proven || plan.Cost-off != c.cost {
				t.Errorf("cost %d (proven %t), want %d: %s\n%+v", plan.Cost-off, plan.Proven, c.cost, c.source, plan.Orders)
			}
			for _, o := range plan.Orders {
				if month := int(o.Arrives - p.From); c.orders[month] != o.Packs {
					t.Errorf("month %d: %d vials, want %d: %s", month+1, o.Packs, c.orders[month], c.source)
				}
			}
			if len(plan.Orders) != len(c.orders) {
				t.Errorf("%d orders, want %d", len(plan.Orders), len(c.orders))
			}
		})
	}
}

// TestCoveringCase is the project's own covering case (computed; glpsol gives
// the same): one victim at a time, 20 vials of the second product and 5 of the
// third are the cheapest, though the first is the first product's own species.
func TestCoveringCase(t *testing.T) {
	from := d("2026-06-01")
	bite := func(courses ...cover.Course) cover.Bite { return cover.Bite{Courses: courses, Most: 1} }
	p := &reorder.Problem{
		From: from, Until: from.Add(30), Calendar: weekdays(),
		Stock: []day.Line[int]{day.Constant(0), day.Constant(0), day.Constant(0)},
		Periods: []reorder.Period{{From: from, Victims: 1, Bites: []cover.Bite{
			bite(cover.Course{Product: 0, Vials: 18}, cover.Course{Product: 1, Vials: 20}), // Crotalus atrox
			bite(cover.Course{Product: 1, Vials: 20}),                                      // Bothrops asper
			bite(cover.Course{Product: 2, Vials: 5}),                                       // Micrurus fulvius
		}}},
		Offers: []reorder.Offer{{Product: 0, Pack: 1, Price: 30, Life: 900}, {Product: 1, Pack: 1, Price: 13, Life: 900}, {Product: 2, Pack: 1, Price: 20, Life: 900}},
	}
	plan := p.Make()
	if !plan.Proven || plan.Cost != 360 {
		t.Errorf("cost %d (proven %t), want 360\n%+v", plan.Cost, plan.Proven, plan.Orders)
	}
}

// TestE6 is the worked example E6 (common practice, no source): need 20 of P;
// ten end on 2026-03-31, so the first short day is 2026-04-01; lead 240, checks
// 14 and margin 30 make 284 days. The day by which to order is Saturday
// 2025-06-21, which moves earlier to Friday the 20th.
func TestE6(t *testing.T) {
	stock := day.Steps(20, day.Change[int]{On: d("2026-04-01"), To: 10}, day.Change[int]{On: d("2027-09-01"), To: 0})
	p := &reorder.Problem{
		From: d("2025-06-02"), Until: d("2027-06-01"), Calendar: weekdays(), Stock: []day.Line[int]{stock},
		Periods: []reorder.Period{{From: d("2025-06-02"), Victims: 1, Bites: []cover.Bite{{Courses: []cover.Course{{Vials: 20}}, Most: 1}}}},
		Offers:  []reorder.Offer{{Pack: 1, Price: 1, Lead: 284, Life: 700}},
	}
	plan := p.Make()
	if len(plan.Orders) != 1 || plan.Orders[0].Packs != 10 || plan.Orders[0].OrderBy != d("2025-06-20") || plan.Orders[0].Arrives != d("2026-04-01") || len(plan.Gaps) != 0 {
		t.Errorf("%+v, want ten vials ordered by 2025-06-20", plan)
	}
	if why := p.Without(plan, 0); why.On != d("2026-04-01") {
		t.Errorf("without the order %+v, want a lapse on 2026-04-01", why)
	}
	if next, by := p.After(plan, 730); next.On != d("2027-09-01") || by != d("2026-11-20") { // 284 days before: Sat 2026-11-21
		t.Errorf("after the plan %+v, order by %s", next, by)
	}
	p.From, p.Periods[0].From = d("2025-12-31"), d("2025-12-31") // a reminder of 90 days: six months late
	plan = p.Make()
	if len(plan.Gaps) != 1 || plan.Gaps[0].From != d("2026-04-01") || plan.Gaps[0].Until != d("2026-10-11") || !plan.Gaps[0].Offered {
		t.Errorf("%+v, want a gap from 2026-04-01 until what is ordered on 2025-12-31 is there", plan.Gaps)
	}
}
