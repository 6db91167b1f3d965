package compliance

import (
	"slices"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

const siteRule = "{victims: 2, bases: [indicated, immunogen], order_lead: 284 days}"

// twoSpecies holds a cobra that takes ten vials of P and an adder that takes
// six, one animal each.
func twoSpecies(t testing.TB) (s *shelf, cobra, adder inventory.Species) {
	s = newShelf(t)
	cobra, adder = s.species("Naja kaouthia", "Elapidae"), s.species("Vipera berus", "Viperidae")
	s.covers("P", cobra, inventory.Indicated, 0, 10)
	s.covers("P", adder, inventory.Indicated, 0, 6)
	s.arrives(cobra, "2024-01-01")
	s.arrives(adder, "2024-01-01")
	return s, cobra, adder
}

func (s *shelf) coming(number string, vials int, expected string) {
	s.put(Record(inventory.Order{ID: inventory.NewID(), Number: number, Product: s.product("P").ID, Place: s.place.ID, Vials: vials, Expected: d(expected), Life: 700,
		Stages: []inventory.Stage{{What: inventory.StageOrdered, On: d("2026-01-01")}}}))
}

func (s *shelf) unchecked(number string, vials int, end day.End) {
	s.put(Record(inventory.Lot{ID: inventory.NewID(), Product: s.product("P").ID, Number: number, Labelled: end,
		Movements: []inventory.Movement{{On: d("2026-06-01"), Place: s.place.ID, Vials: vials, Reason: inventory.Received, Condition: inventory.Unchecked}}}))
}

// TestSiteSaysWhatIsShortTogether: two cobras bite two people, or one twice:
// twenty vials are needed. The day is 15 June 2026; the sums are worked out by
// hand. The animals came on 1 January 2024: what was short then had to be
// ordered 284 days before, on Thursday, 23 March 2023. The ten of the last but
// one case are missed from Thursday, 1 July 2027 on, less 284 days: 20 September 2026, a
// Sunday, so by the Friday before.
func TestSiteSaysWhatIsShortTogether(t *testing.T) {
	far := day.Until(d("2035-01-31"))
	for _, c := range []struct {
		name  string
		stock func(*shelf)
		want  Standing
		state Code
		do    Code
		by    string
	}{
		{"twenty are enough for any two", func(s *shelf) { s.lot("P", "L", 20, far) }, InOrder, CoveredTogether, "", ""},
		{"nineteen are not", func(s *shelf) { s.lot("P", "L", 19, far) }, OutOfOrder, ShortTogether, ReplaceAntivenom, "2023-03-23"},
		{"one more is coming", func(s *shelf) { s.lot("P", "L", 19, far); s.coming("O", 1, "2026-07-01") }, OutOfOrder, ShortTogether, ChaseOrder, "2026-07-01"},
		{"one is coming where two are missing", func(s *shelf) { s.lot("P", "L", 18, far); s.coming("O", 1, "2026-07-01") }, OutOfOrder, ShortTogether, ReplaceAntivenom, "2023-03-23"},
		{"nobody knows when the twentieth ends", func(s *shelf) { s.lot("P", "L", 19, far); s.lot("P", "M", 1, day.End{}) }, CannotTell, StockUnknown, CompleteRecord, ""},
		{"nobody has looked at the twentieth yet", func(s *shelf) { s.lot("P", "L", 19, far); s.unchecked("M", 1, far) }, CannotTell, StockUnchecked, CheckVials, ""},
		{"two are missing, and one of those that came is not looked at", func(s *shelf) { s.lot("P", "L", 18, far); s.unchecked("M", 1, far) }, OutOfOrder, ShortTogether, ReplaceAntivenom, "2023-03-23"},
		{"one that nobody has looked at, and one whose end nobody knows", func(s *shelf) { s.lot("P", "L", 18, far); s.unchecked("M", 1, far); s.lot("P", "N", 1, day.End{}) }, CannotTell, StockUnknown, CompleteRecord, ""},
		{"nine: the cobra is short alone, two adders together", func(s *shelf) { s.lot("P", "L", 9, far) }, OutOfOrder, ShortTogether, ReplaceAntivenom, "2023-03-23"},
		{"five: both are short alone, and another rule says so", func(s *shelf) { s.lot("P", "L", 5, far) }, NotApplicable, "", "", ""},
		{"of a third species nobody knows what covers it", func(s *shelf) {
			s.lot("P", "L", 20, far)
			s.arrives(s.species("Daboia siamensis", "Viperidae"), "2024-01-01")
		}, CannotTell, CoverageUnknown, CompleteRecord, ""},
		{"with whatever is doubtful two are short: the cobra and the adder", func(s *shelf) { s.lot("P", "L", 9, far); s.lot("P", "M", 3, day.End{}) }, OutOfOrder, ShortTogether, ReplaceAntivenom, "2023-03-23"},
		{"ten end: twenty until then, and ten after", func(s *shelf) { s.lot("P", "L", 10, far); s.lot("P", "M", 10, day.Until(d("2027-06-30"))) }, InOrder, CoveredTogether, OrderAntivenom, "2026-09-18"},
		{"all end: afterwards one victim has none, which another rule tells", func(s *shelf) { s.lot("P", "L", 20, day.Until(d("2027-06-30"))) }, InOrder, CoveredTogether, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, _, _ := twoSpecies(t)
			c.stock(s)
			b := book(t, "law", "us", rule("test.r", "cover.together", "site", "cover", siteRule))
			got := lineOf(t, b, s.snapshot(), "cover.together", s.site.Ref()).At(d("2026-06-15"))
			by := ""
			if !got.Step.By.IsZero() {
				by = got.Step.By.String()
			}
			if got.Standing != c.want || got.State != c.state || got.Step.Do != c.do || by != c.by {
				t.Errorf("%s, %s: %s by %q; want %s, %s: %s by %q", got.Standing, got.State, got.Step.Do, by, c.want, c.state, c.do, c.by)
			}
			if needsStock := got.Step.Do != "" && got.Step.Do != CompleteRecord; needsStock && got.Step.Instance != s.site.Ref() {
				t.Errorf("the step is about %s, not about the site", got.Step.Instance)
			}
		})
	}
}

// TestSiteSaysWhy: the worst set of victims, what would close it, what is there
// and what is coming, and which species the rule for one victim tells of.
func TestSiteSaysWhy(t *testing.T) {
	s, _, _ := twoSpecies(t)
	other := s.species("Daboia siamensis", "Viperidae")
	s.arrives(other, "2024-01-01")
	s.lot("P", "L", 12, day.Until(d("2035-01-31")))
	s.coming("O-7", 3, "2026-07-01")
	r := Evaluate(book(t, "law", "us", rule("test.r", "cover.together", "site", "cover", siteRule)), s.snapshot(), Ask{Now: noon})
	j := r.Of(Key{Requirement: "cover.together", Subject: s.site.Ref()})
	if got := j.Law.At(d("2026-06-15")); got.State != ShortTogether {
		t.Fatalf("%s, want %s although nobody knows what covers the third species", got.State, ShortTogether)
	}
	got := r.Why(j, d("2026-06-15"))
	for _, want := range []Reason{
		Because("clash", "victims", "Naja kaouthia + Naja kaouthia", "people", "1", "vials", "8"),
		Because("closing", "products", "8 of P"),
		Because("course-of", "species", "Naja kaouthia", "product", "P", "full", "10", "sure", "12", "maybe", "12", "source", "test"),
		Because("order-coming", "order", "O-7", "vials", "3", "stage", "ordered", "day", "2026-07-01"),
		Because("left-to-one", "species", "Daboia siamensis"),
	} {
		if !slices.ContainsFunc(got, func(r Reason) bool { return r.Code == want.Code && slices.Equal(r.Args, want.Args) }) {
			t.Errorf("%v is not among %v", want, got)
		}
	}
}

// TestSiteRuleIsRefused: what a rule on cover cannot ask of a site.
func TestSiteRuleIsRefused(t *testing.T) {
	for params, want := range map[string]string{
		"{victims: 1, bases: [indicated], order_lead: 9 months}":                    "victims: 1 is not allowed with subject site; allowed: 2 to 5",
		"{victims: 2, bases: [indicated], order_lead: 9 months, beyond_one: false}": "beyond_one: false is not allowed with subject site",
	} {
		mistaken(t, "law", rule("mine.r", "cover.together", "site", "cover", params), want)
	}
	book(t, "law", "us", rule("test.r", "cover.together", "site", "cover", "{victims: 2, bases: [indicated], order_lead: 9 months, beyond_one: true}"))
}
