package deed_test

import (
	"slices"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// step is one deed of a story; want is part of why it is refused, empty where
// it is taken.
type step struct {
	name string
	does deed.Deed
	want string
}

// told makes the deeds one after another.
func told(t *testing.T, s *compliance.Snapshot, steps []step) *compliance.Snapshot {
	t.Helper()
	for _, step := range steps {
		before := text(t, s)
		after, err := step.does.Apply(s)
		if text(t, s) != before {
			t.Fatalf("%s altered the records as they were", step.name)
		}
		switch {
		case step.want == "" && err != nil:
			t.Fatalf("%s: %v", step.name, err)
		case step.want == "":
			s = after
		case err == nil || !strings.Contains(err.Error(), step.want):
			t.Errorf("%s: %v, want %q", step.name, err, step.want)
		}
	}
	return s
}

// TestAnOrderUntilItIsReceived: it takes from the offer what it leaves open,
// goes its way, is in no lot before it is received, and is then closed.
func TestAnOrderUntilItIsReceived(t *testing.T) {
	h := newHouse(t)
	other := inventory.Product{ID: inventory.NewID(), Type: "ovine Fab against vipers"}
	offer := inventory.Supply{ID: inventory.NewID(), Product: h.product.ID, Supplier: "Fictional Sera", LeadDays: 90, PaperDays: 30, Paper: "import-licence", CheckDays: 2, Life: 400}
	id := inventory.NewID()
	o := inventory.Order{ID: id, Number: "O-1", Product: h.product.ID, Place: h.places[0].ID, Supply: offer.ID, Vials: 20,
		Stages: []inventory.Stage{{What: inventory.StageOrdered, On: d("2026-03-01")}}}
	wrong := o
	wrong.ID, wrong.Product = inventory.NewID(), other.ID
	vials := deed.Vials{Place: h.places[0].ID, Count: 8, On: d("2026-06-20")}
	second := inventory.Lot{ID: inventory.NewID(), Product: h.product.ID, Number: "L2", Labelled: day.Until(d("2028-01-31"))}
	s, err := compliance.Record(other).Apply(h.snapshot)
	if err != nil {
		t.Fatal(err)
	}
	s = told(t, s, []step{
		{"an offer", deed.SupplyOffered(offer), ""},
		{"ordered by the offer of another product", deed.OrderPlaced(wrong), "the offer of Fictional Sera is of equine"},
		{"ordered", deed.OrderPlaced(o), ""},
		{"ordered under the same number", deed.OrderPlaced(inventory.Order{ID: inventory.NewID(), Number: "O-1", Product: h.product.ID, Place: h.places[0].ID, Vials: 1, Stages: o.Stages}), "already recorded"},
		{"shipped before it was ordered", deed.OrderShipped(id, deed.Reached{On: d("2026-02-28")}), "before 2026-03-01, the day on which it was last recorded as ordered"},
		{"shipped", deed.OrderShipped(id, deed.Reached{On: d("2026-05-01")}), ""},
		{"shipped twice", deed.OrderShipped(id, deed.Reached{On: d("2026-05-02")}), "must not go from shipped to"},
	})
	placed, _ := s.Orders.Get(id)
	if placed.Expected != d("2026-03-01").Add(90+30+2) || placed.Life != 400 {
		t.Errorf("expected %s, in date for %d days", placed.Expected, placed.Life)
	}
	s = told(t, s, []step{
		{"held at customs, and told when it will be there", deed.OrderAtCustoms(id, deed.Reached{On: d("2026-06-01"), Expected: d("2026-06-25"), Labelled: day.Until(d("2028-01-31"))}), ""},
		{"arrived", deed.OrderArrived(id, deed.Reached{On: d("2026-06-18")}), ""},
	})
	if l, _ := s.Lots.Get(h.lot.ID); deed.VialsAt(l, h.places[0].ID, d("2026-06-30")) != 10 {
		t.Error("what arrived unchecked counts in hand")
	}
	s = told(t, s, []step{
		{"received of another product", deed.LotReceived(second, vials).OfOrder(id, other.ID, d("2026-06-20")), "not of what was received"},
		{"received", deed.LotReceived(second, vials).OfOrder(id, h.product.ID, d("2026-06-20")), ""},
		{"a second lot of that day", deed.LotReceived(h.lot, vials).OfOrder(id, h.product.ID, d("2026-06-20")), ""},
		{"more on another day", deed.LotReceived(h.lot, vials).OfOrder(id, h.product.ID, d("2026-06-21")), "it is closed: it was received on 2026-06-20"},
		{"cancelled", deed.OrderCancelled(id, d("2026-06-21"), "late"), "it is closed"},
		{"of an order that nobody placed", deed.LotReceived(h.lot, vials).OfOrder(inventory.NewID(), h.product.ID, d("2026-06-21")), "is not recorded"},
	})
	closed, _ := s.Orders.Get(id)
	if got := closed.Stage(); !closed.Closed() || got.What != inventory.StageReceived || len(closed.Stages) != 5 {
		t.Errorf("stages %+v", closed.Stages)
	}
	if l, _ := s.Lots.Get(second.ID); deed.VialsAt(l, h.places[0].ID, d("2026-06-30")) != 8 {
		t.Error("what was received is not in its lot")
	}
}

func TestACancelledOrder(t *testing.T) {
	h := newHouse(t)
	o := inventory.Order{ID: inventory.NewID(), Number: "O-1", Product: h.product.ID, Place: h.places[0].ID, From: "Fictional Sera", Vials: 20, Note: "by mail",
		Stages: []inventory.Stage{{What: inventory.StageOrdered, On: d("2026-03-01")}}}
	s := told(t, h.snapshot, []step{
		{"ordered", deed.OrderPlaced(o), ""},
		{"cancelled for no reason", deed.OrderCancelled(o.ID, d("2026-03-02"), ""), "say why"},
		{"cancelled", deed.OrderCancelled(o.ID, d("2026-03-02"), "no licence"), ""},
		{"shipped", deed.OrderShipped(o.ID, deed.Reached{On: d("2026-03-03")}), "it is closed: it was cancelled on 2026-03-02"},
	})
	if got, _ := s.Orders.Get(o.ID); got.Note != "by mail; no licence" || !got.Planned(d("2026-03-01")).Always(0) {
		t.Errorf("%+v", got)
	}
}

// TestAnAgreementFromSignatureToEnd: told late or not, confirmations stand in
// the order of their days.
func TestAnAgreementFromSignatureToEnd(t *testing.T) {
	h := newHouse(t)
	a := inventory.Agreement{ID: inventory.NewID(), Number: "M-1", Partner: "Fictional Infirmary", Site: h.site.ID, Product: h.product.ID, Access: inventory.AnyTime,
		Signed: d("2026-03-01"), Until: day.Until(d("2026-12-31")), FreshDays: 30}
	said := func(on string, vials int) deed.Deed {
		return deed.AgreementConfirmed(a.ID, inventory.Confirmation{On: d(on), By: h.keeper.ID, Vials: vials})
	}
	s := told(t, h.snapshot, []step{
		{"signed", deed.AgreementSigned(a), ""},
		{"confirmed before it was signed", said("2026-02-28", 9), "before 2026-03-01, the day on which it was signed"},
		{"confirmed", said("2026-05-01", 9), ""},
		{"an earlier word, told late", said("2026-04-01", 7), ""},
		{"another word on that day", said("2026-05-01", 6), ""},
		{"confirmed after its end", said("2027-01-01", 9), "its last day was 2026-12-31"},
		{"less than none", said("2026-05-02", -1), "less than no vials"},
		{"ended", deed.AgreementEnded(a.ID, d("2026-06-01")), ""},
		{"ended twice", deed.AgreementEnded(a.ID, d("2026-06-02")), "it ended on 2026-06-01"},
		{"confirmed when it had ended", said("2026-06-01", 9), "it ended on 2026-06-01"},
	})
	got, _ := s.Agreements.Get(a.ID)
	var vials []int
	for _, c := range got.Confirmations {
		vials = append(vials, c.Vials)
	}
	if !slices.Equal(vials, []int{7, 9, 6}) {
		t.Errorf("confirmations %v", vials)
	}
	for on, want := range map[string]inventory.Quantity{"2026-05-31": {Sure: 6, Maybe: 6}, "2026-06-01": {}} {
		if q := got.Usable(true).At(d(on)); q != want {
			t.Errorf("%s: %+v, want %+v", on, q, want)
		}
	}
}

// TestPlacesReachSites, once each, in the minutes that were said last.
func TestPlacesReachSites(t *testing.T) {
	h := newHouse(t)
	far := inventory.Site{ID: inventory.NewID(), Organisation: h.org.ID, Title: "Fern House", Zone: "Europe/London"}
	s, err := compliance.Record(far).Apply(h.snapshot)
	if err != nil {
		t.Fatal(err)
	}
	p := h.places[0].ID
	s = told(t, s, []step{
		{"in no time", deed.PlaceReaches(p, far.ID, 0), "at least 1"},
		{"in 40 minutes", deed.PlaceReaches(p, far.ID, 40), ""},
		{"its own site in 5", deed.PlaceReaches(p, h.site.ID, 5), ""},
		{"in 30 after all", deed.PlaceReaches(p, far.ID, 30), ""},
		{"a site that is not recorded", deed.PlaceReaches(p, inventory.NewID(), 30), "no site"},
	})
	got, _ := s.Places.Get(p)
	for site, want := range map[inventory.ID]int{far.ID: 30, h.site.ID: 5} {
		if n, ok := got.Minutes(site); n != want || !ok || len(got.Reach) != 2 {
			t.Errorf("%d minutes, want %d: %+v", n, want, got.Reach)
		}
	}
}

// TestWhatASourceSays is added to what it said before, and leaves other
// sources alone.
func TestWhatASourceSays(t *testing.T) {
	h := newHouse(t)
	row := func(id inventory.ID, source string, basis inventory.Basis) inventory.Coverage {
		return inventory.Coverage{ID: id, Product: h.product.ID, Species: h.cobra.ID, Basis: basis, Source: source, Certainty: inventory.Memory}
	}
	a, b := inventory.NewID(), inventory.NewID()
	s := told(t, h.snapshot, []step{
		{"a label", deed.CoverageRecorded(row(a, "a label", inventory.Indicated), inventory.Vials{Initial: 2, Full: 4}, 0), ""},
		{"the label, from a day on", deed.CoverageRecorded(row(a, "a label", inventory.Indicated), inventory.Vials{Initial: 3, Full: 6}, d("2026-05-01")), ""},
		{"that day again, corrected", deed.CoverageRecorded(row(a, "a label", inventory.Indicated), inventory.Vials{Initial: 3, Full: 8}, d("2026-05-01")), ""},
		{"a study", deed.CoverageRecorded(row(b, "a study", inventory.Excluded), inventory.Vials{}, 0), ""},
		{"the study's row of another source", deed.CoverageRecorded(row(b, "a label", inventory.Indicated), inventory.Vials{}, 0), "row of another"},
		{"a second row of the study", deed.CoverageRecorded(row(inventory.NewID(), "a study", inventory.Indicated), inventory.Vials{}, 0), "already recorded"},
		{"on no ground", deed.CoverageRecorded(row(inventory.NewID(), "hearsay", ""), inventory.Vials{}, 0), "basis"},
	})
	var rows []*inventory.Coverage
	for c := range s.Coverage.All() {
		rows = append(rows, c)
	}
	g := inventory.Planning(rows)
	if len(g) != 1 || !g[0].Excluded || len(g[0].Rows) != 2 {
		t.Fatalf("%+v", g)
	}
	for on, full := range map[string]int{"2026-04-30": 4, "2026-05-01": 8} {
		if got := g[0].Vials.At(d(on)).Full; got != full {
			t.Errorf("%s: %d, want %d", on, got, full)
		}
	}
}
