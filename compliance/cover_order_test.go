package compliance

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestOrderBy: the first short day less lead, import paper, customs, checking
// and margin, in calendar days, then earlier to a working day. Ten vials make a
// course and end on 31 March 2026, a Tuesday, as in the worked example E6
// (common practice, no source); the days are counted by hand from 2026-04-01.
func TestOrderBy(t *testing.T) {
	offer := func(change func(*inventory.Supply)) inventory.Supply {
		s := inventory.Supply{ID: inventory.NewID(), Supplier: "Invented Supplies", LeadDays: 240, CheckDays: 14, From: d("2020-01-01"), Until: day.Until(d("2030-12-31"))}
		change(&s)
		return s
	}
	for _, c := range []struct {
		name   string
		offers []inventory.Supply
		paper  day.End // of an import paper in force since 2020; zero: there is none
		lead   int     // the product's own
		want   string
	}{
		{"E6: 240 + 14 + margin 30 is Sat 2025-06-21", []inventory.Supply{offer(func(*inventory.Supply) {})}, day.End{}, 0, "2025-06-20"},
		{"with 10 days at customs: Wed 2025-06-11", []inventory.Supply{offer(func(s *inventory.Supply) { s.CustomsDays = 10 })}, day.End{}, 0, "2025-06-11"},
		{"with 60 days for an import paper: Tue 2025-04-22", []inventory.Supply{offer(func(s *inventory.Supply) { s.Paper, s.PaperDays = "import-paper", 60 })}, day.End{}, 0, "2025-04-22"},
		{"with the paper in force when they come", []inventory.Supply{offer(func(s *inventory.Supply) { s.Paper, s.PaperDays = "import-paper", 60 })}, day.Until(d("2026-03-31")), 0, "2025-06-20"},
		{"with a paper that ends a day too early", []inventory.Supply{offer(func(s *inventory.Supply) { s.Paper, s.PaperDays = "import-paper", 60 })}, day.Until(d("2026-03-30")), 0, "2025-04-22"},
		{"the days of the paper are not known: the product's own lead", []inventory.Supply{offer(func(s *inventory.Supply) { s.Paper = "import-paper" })}, day.End{}, 200, "2025-08-14"},
		{"the quicker of two", []inventory.Supply{offer(func(*inventory.Supply) {}), offer(func(s *inventory.Supply) { s.LeadDays = 30 })}, day.End{}, 0, "2026-01-16"},
		{"the quicker one is over by then", []inventory.Supply{offer(func(*inventory.Supply) {}), offer(func(s *inventory.Supply) { s.LeadDays, s.Until = 30, day.Until(d("2026-01-15")) })}, day.End{}, 0, "2025-06-20"},
		{"nobody knows: the rule's 284 days, without its margin", nil, day.End{}, 0, "2025-06-20"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newShelf(t)
			sp := s.species("Naja kaouthia", "Elapidae")
			s.arrives(sp, "2024-01-01")
			s.covers("P", sp, inventory.Indicated, 0, 10)
			s.lot("P", "L", 10, day.Until(d("2026-03-31")))
			product := s.product("P")
			product.LeadDays = c.lead
			s.put(Record(product))
			for i, o := range c.offers {
				o.Product, o.PackSize = product.ID, i+1
				s.put(Record(o))
			}
			if !c.paper.IsZero() {
				p := s.permit("IMP-1", c.paper)
				p.Class, p.From, p.Grants = "import-paper", d("2020-01-01"), nil
				s.put(Record(p))
			}
			b := book(t, "law", "us", rule("test.r", "cover", "holding", "cover", "{victims: 1, bases: [indicated], order_lead: 284 days, margin_days: 30}"))
			got := lineOf(t, b, s.snapshot(), "cover", inventory.Holding(sp.ID, s.site.ID)).At(d("2025-03-03"))
			if got.Step.Do != OrderAntivenom || got.Step.By.String() != c.want {
				t.Errorf("%s by %s, want order-antivenom by %s", got.Step.Do, got.Step.By, c.want)
			}
		})
	}
}
