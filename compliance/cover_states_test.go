package compliance

import (
	"reflect"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestWhatCountsAsCover tries each thing that is not antivenom in hand, and
// what is to be done about it. Ten vials make a course of P against the cobra;
// the day is 15 June 2026. The readings are DESIGN section 4 of this project,
// common practice, no source.
func TestWhatCountsAsCover(t *testing.T) {
	const on = "2026-06-15"
	lot := func(s *shelf, change func(*inventory.Lot)) {
		l := inventory.Lot{ID: inventory.NewID(), Product: s.product("P").ID, Number: "L", Labelled: day.Until(d("2030-01-31")),
			Movements: []inventory.Movement{{On: d("2020-01-01"), Place: s.place.ID, Vials: 10, Reason: inventory.Received, Condition: inventory.Checked}}}
		change(&l)
		s.put(Record(l))
	}
	order := func(s *shelf, expected string, stages ...inventory.Stage) {
		s.put(Record(inventory.Order{ID: inventory.NewID(), Number: "O", Product: s.product("P").ID, Place: s.place.ID, Vials: 10, Expected: d(expected), Life: 700,
			Stages: append([]inventory.Stage{{What: inventory.StageOrdered, On: d("2026-01-01")}}, stages...)}))
	}
	agreement := func(s *shelf, minutes int, access, confirmed string) {
		s.put(Record(inventory.Agreement{ID: inventory.NewID(), Number: "A", Partner: "Invented Hospital", Site: s.site.ID, Product: s.product("P").ID, Minutes: minutes,
			Access: access, Signed: d("2025-01-01"), Until: day.Until(d("2027-12-31")), FreshDays: 90, Confirmations: []inventory.Confirmation{{On: d(confirmed), Vials: 10}}}))
	}
	elsewhere := func(s *shelf, minutes int) inventory.Place {
		other, _ := s.otherSite("Elsewhere")
		p := inventory.Place{ID: inventory.NewID(), Site: other.ID, Title: "far fridge"}
		if minutes > 0 {
			p.Reach = []inventory.Reach{{Site: s.site.ID, Minutes: minutes}}
		}
		s.put(Record(p))
		return p
	}
	for _, c := range []struct {
		name  string
		stock func(*shelf)
		want  Standing
		state Code
		do    Code
		by    string
	}{
		{"in date, checked, here", func(s *shelf) { lot(s, func(*inventory.Lot) {}) }, InOrder, Covered, OrderAntivenom, "2029-04-23"},
		{"nothing", func(*shelf) {}, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"expired", func(s *shelf) { lot(s, func(l *inventory.Lot) { l.Labelled = day.Until(d("2026-06-14")) }) }, OutOfOrder, NoneInStock, ReplaceAntivenom, "2025-09-04"},
		{"end unknown", func(s *shelf) { lot(s, func(l *inventory.Lot) { l.Labelled = day.End{} }) }, CannotTell, StockUnknown, CompleteRecord, ""},
		{"held", func(s *shelf) {
			lot(s, func(l *inventory.Lot) { l.Holds = []inventory.Hold{{From: d("2026-06-01"), Why: "recall"}} })
		}, OutOfOrder, NoneInStock, ReplaceAntivenom, "2025-08-21"},
		{"lent", func(s *shelf) {
			lot(s, func(l *inventory.Lot) {
				l.Movements = append(l.Movements, inventory.Movement{On: d("2026-06-01"), Place: s.place.ID, Vials: -1, Reason: inventory.LentOut, Condition: inventory.Checked})
			})
		}, OutOfOrder, Short, ReplaceAntivenom, "2025-08-21"},
		{"lent and due back", func(s *shelf) {
			lot(s, func(l *inventory.Lot) {
				l.Loans = []inventory.Loan{{Number: 1, Borrower: "Invented Hospital", Due: d("2026-07-01")}}
				l.Movements = append(l.Movements, inventory.Movement{On: d("2026-06-01"), Place: s.place.ID, Vials: -1, Reason: inventory.LentOut, Loan: 1, Condition: inventory.Checked})
			})
		}, OutOfOrder, Short, ChaseOrder, "2026-07-01"},
		{"lent, and overdue", func(s *shelf) {
			lot(s, func(l *inventory.Lot) {
				l.Loans = []inventory.Loan{{Number: 1, Borrower: "Invented Hospital", Due: d("2026-06-14")}}
				l.Movements = append(l.Movements, inventory.Movement{On: d("2026-06-01"), Place: s.place.ID, Vials: -1, Reason: inventory.LentOut, Loan: 1, Condition: inventory.Checked})
			})
		}, OutOfOrder, Short, ReplaceAntivenom, "2025-08-21"},
		{"promised", func(s *shelf) {
			lot(s, func(l *inventory.Lot) {
				l.Promises = []inventory.Promise{{Number: 1, From: d("2026-06-01"), Place: s.place.ID, Vials: 1, To: "Invented Hospital"}}
			})
		}, OutOfOrder, Short, ReplaceAntivenom, "2025-08-21"},
		{"held in this place alone", func(s *shelf) {
			lot(s, func(l *inventory.Lot) {
				l.Holds = []inventory.Hold{{From: d("2026-06-01"), Why: "warm fridge", Place: s.place.ID}}
			})
		}, OutOfOrder, NoneInStock, ReplaceAntivenom, "2025-08-21"},
		{"not checked yet", func(s *shelf) {
			lot(s, func(l *inventory.Lot) { l.Movements[0].Condition = inventory.Unchecked })
		}, CannotTell, StockUnchecked, CheckVials, ""},
		{"not checked yet, and the end unknown", func(s *shelf) {
			lot(s, func(l *inventory.Lot) { l.Movements[0].Condition, l.Labelled = inventory.Unchecked, day.End{} })
		}, CannotTell, StockUnknown, CompleteRecord, ""},
		{"not checked yet, and too few", func(s *shelf) {
			lot(s, func(l *inventory.Lot) { l.Movements[0].Condition, l.Movements[0].Vials = inventory.Unchecked, 9 })
		}, OutOfOrder, Short, ReplaceAntivenom, ""},
		{"one not checked yet, nine checked", func(s *shelf) {
			lot(s, func(l *inventory.Lot) {
				l.Movements[0].Vials = 9
				l.Movements = append(l.Movements, inventory.Movement{On: d("2026-06-01"), Place: s.place.ID, Vials: 1, Reason: inventory.Received, Condition: inventory.Unchecked})
			})
		}, CannotTell, StockUnchecked, CheckVials, ""},
		{"condition not recorded", func(s *shelf) { lot(s, func(l *inventory.Lot) { l.Movements[0].Condition = "" }) }, CannotTell, StockUnknown, CompleteRecord, ""},
		{"unfit", func(s *shelf) { lot(s, func(l *inventory.Lot) { l.Movements[0].Condition = inventory.Unfit }) }, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"kept for a last resort", func(s *shelf) { lot(s, func(l *inventory.Lot) { l.Movements[0].Condition = inventory.Reserve }) }, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"on its way, expected", func(s *shelf) { order(s, "2026-07-01") }, OutOfOrder, NoneInStock, ChaseOrder, "2026-07-01"},
		{"at customs", func(s *shelf) {
			order(s, "2026-07-01", inventory.Stage{What: inventory.StageCustoms, On: d("2026-06-10")})
		}, OutOfOrder, NoneInStock, ChaseOrder, "2026-07-01"},
		{"overdue", func(s *shelf) { order(s, "2026-06-14") }, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"cancelled", func(s *shelf) {
			order(s, "2026-07-01", inventory.Stage{What: inventory.StageCancelled, On: d("2026-06-10")})
		}, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"ordered before it ends", func(s *shelf) {
			lot(s, func(l *inventory.Lot) { l.Labelled = day.Until(d("2026-08-31")) })
			order(s, "2026-08-01")
		}, InOrder, Covered, ChaseOrder, "2026-08-31"},
		{"at another site, nobody knows how far", func(s *shelf) {
			p := elsewhere(s, 0)
			lot(s, func(l *inventory.Lot) { l.Movements[0].Place = p.ID })
		}, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"at another site, too far", func(s *shelf) {
			p := elsewhere(s, 61)
			lot(s, func(l *inventory.Lot) { l.Movements[0].Place = p.ID })
		}, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"at another site, within reach", func(s *shelf) {
			p := elsewhere(s, 60)
			lot(s, func(l *inventory.Lot) { l.Movements[0].Place = p.ID })
		}, InOrder, Covered, OrderAntivenom, "2029-04-23"},
		{"a partner, confirmed", func(s *shelf) { agreement(s, 30, inventory.AnyTime, "2026-06-01") }, InOrder, Covered, ConfirmAgreement, "2026-08-30"},
		{"a partner, stale", func(s *shelf) { agreement(s, 30, inventory.AnyTime, "2026-03-01") }, CannotTell, PartnerUnknown, ConfirmAgreement, ""},
		{"a partner, not at any time", func(s *shelf) { agreement(s, 30, "mon-fri 08:00-18:00", "2026-06-01") }, CannotTell, PartnerUnknown, ConfirmAgreement, ""},
		{"a partner, too far", func(s *shelf) { agreement(s, 61, inventory.AnyTime, "2026-06-01") }, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"a partner, nobody knows how far", func(s *shelf) { agreement(s, 0, inventory.AnyTime, "2026-06-01") }, OutOfOrder, NoneInStock, ReplaceAntivenom, ""},
		{"may hold none itself, no partner", func(s *shelf) {
			s.site.Antivenom = inventory.Always(inventory.OutsideOnly)
			s.put(Record(s.site))
		}, OutOfOrder, NoneInStock, SignAgreement, ""},
		{"may hold none itself, a partner two hours away", func(s *shelf) {
			s.site.Antivenom = inventory.Always(inventory.OutsideOnly)
			s.put(Record(s.site))
			agreement(s, 120, inventory.AnyTime, "2026-06-01")
		}, InOrder, Covered, ConfirmAgreement, "2026-08-30"},
		{"every offer has ended", func(s *shelf) {
			s.put(Record(inventory.Supply{ID: inventory.NewID(), Product: s.product("P").ID, Supplier: "Invented Supplies", Until: day.Until(d("2026-01-31"))}))
		}, OutOfOrder, Unobtainable, ApproveOrMove, ""},
		{"another source excludes it", func(s *shelf) {
			lot(s, func(*inventory.Lot) {})
			s.put(Record(inventory.Coverage{ID: inventory.NewID(), Product: s.product("P").ID, Species: s.batchSpecies, Basis: inventory.Excluded, Source: "another", Certainty: inventory.Read}))
		}, OutOfOrder, StatedIneffective, ReplaceAntivenom, ""},
		{"another source plans more", func(s *shelf) {
			lot(s, func(*inventory.Lot) {})
			s.put(Record(inventory.Coverage{ID: inventory.NewID(), Product: s.product("P").ID, Species: s.batchSpecies, Basis: inventory.Indicated,
				Vials: inventory.Always(inventory.Vials{Full: 11}), Source: "another", Certainty: inventory.Read}))
		}, OutOfOrder, Short, ReplaceAntivenom, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newShelf(t)
			sp := s.species("Naja kaouthia", "Elapidae")
			s.batchSpecies = sp.ID
			s.arrives(sp, "2024-01-01")
			s.covers("P", sp, inventory.Indicated, 0, 10)
			c.stock(s)
			b := book(t, "law", "us", rule("test.r", "cover", "holding", "cover", "{victims: 1, bases: [indicated, immunogen], order_lead: 284 days, within_minutes: 60}"))
			got := lineOf(t, b, s.snapshot(), "cover", inventory.Holding(sp.ID, s.site.ID)).At(d(on))
			by := ""
			if !got.Step.By.IsZero() {
				by = got.Step.By.String()
			}
			if got.Standing != c.want || got.State != c.state || got.Step.Do != c.do || by != c.by {
				t.Errorf("%s, %s: %s by %q; want %s, %s: %s by %q", got.Standing, got.State, got.Step.Do, by, c.want, c.state, c.do, c.by)
			}
		})
	}
}

// TestWhySaysWhatIsSpokenFor: what is promised or lent is told with its
// number, and no longer once it is over.
func TestWhySaysWhatIsSpokenFor(t *testing.T) {
	s := newShelf(t)
	sp := s.species("Naja kaouthia", "Elapidae")
	s.arrives(sp, "2024-01-01")
	s.covers("P", sp, inventory.Indicated, 0, 10)
	s.put(Record(inventory.Lot{ID: inventory.NewID(), Product: s.product("P").ID, Number: "L", Labelled: day.Until(d("2030-01-31")),
		Promises: []inventory.Promise{{Number: 1, From: d("2026-06-01"), Until: d("2026-06-30"), Place: s.place.ID, Vials: 2, To: "Invented Ward"}},
		Loans:    []inventory.Loan{{Number: 1, Borrower: "Invented Hospital", Due: d("2026-07-31")}},
		Movements: []inventory.Movement{
			{On: d("2020-01-01"), Place: s.place.ID, Vials: 10, Reason: inventory.Received, Condition: inventory.Checked},
			{On: d("2026-06-01"), Place: s.place.ID, Vials: -3, Reason: inventory.LentOut, Loan: 1, Condition: inventory.Checked},
			{On: d("2026-07-15"), Place: s.place.ID, Vials: 3, Reason: inventory.Returned, Loan: 1, Condition: inventory.Unchecked},
		}}))
	r := Evaluate(book(t, "law", "us", rule("test.r", "cover", "holding", "cover", coverRule)), s.snapshot(), Ask{Now: noon})
	j := r.Of(Key{Requirement: "cover", Subject: inventory.Holding(sp.ID, s.site.ID)})
	for on, want := range map[string][]Reason{
		"2026-06-15": {Because("promised", "lot", "L", "number", "1", "vials", "2", "to", "Invented Ward"),
			Because("lent", "lot", "L", "number", "1", "vials", "3", "to", "Invented Hospital", "day", "2026-07-31")},
		"2026-07-10": {Because("lent", "lot", "L", "number", "1", "vials", "3", "to", "Invented Hospital", "day", "2026-07-31")},
		"2026-07-20": nil,
	} {
		var got []Reason
		for _, reason := range r.Why(j, d(on)) {
			if reason.Code == "promised" || reason.Code == "lent" {
				got = append(got, reason)
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %v, want %v", on, got, want)
		}
	}
}
