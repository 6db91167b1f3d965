package demo

import (
	"strings"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Every product has an offer that a plan can be made with, all in one
// currency, by a supplier who is said to be invented.
func TestEveryProductIsOffered(t *testing.T) {
	book := shipped(t)
	today := day.MustParse(*asked)
	v := evaluate(t, book, House(today, book.Holidays), today, 12).View
	offered := make(map[inventory.ID]bool)
	for s := range v.Supplies.All() {
		if !strings.HasSuffix(s.Supplier, "(fictional)") || s.Source != "invented" || s.Currency != "GBP" {
			t.Errorf("%s offers in %q by %q", s.Supplier, s.Currency, s.Source)
		}
		if _, known := s.Lead(false); known && s.PackSize > 0 && s.PackPrice > 0 && s.Life > 0 && s.Offered().At(today) == inventory.Yes {
			offered[s.Product] = true
		}
	}
	for p := range v.Products.All() {
		if !offered[p.ID] {
			t.Errorf("%s: nobody offers it with pack, price, lead and life", p.Type)
		}
	}
}

// One order comes in time and one is overdue; one partner has confirmed what
// is there and of the other nobody knows. Nothing of it reaches Tamarind
// Station, where there is no vial.
func TestOrdersAndAgreementsOnEveryDay(t *testing.T) {
	book := shipped(t)
	for today := range days(t) {
		v := evaluate(t, book, House(today, book.Holidays), today, 12).View
		want := map[string]int{"DEMO-O1": 4, "DEMO-O2": 0}
		for o := range v.Orders.All() {
			if got := o.Planned(today).At(today.Add(331)); o.Closed() || got != want[o.Number] {
				t.Errorf("on %s: %s brings %d, want %d", today, o.Number, got, want[o.Number])
			}
			delete(want, o.Number)
		}
		usable := map[string]inventory.Quantity{"DEMO-A1": {Sure: 5, Maybe: 5}, "DEMO-A2": {Maybe: 2}}
		for a := range v.Agreements.All() {
			if got := a.Usable(true).At(today); got != usable[a.Number] || a.Minutes == 0 || a.Site == siteID(tamarind) {
				t.Errorf("on %s: %s gives %+v, want %+v", today, a.Number, got, usable[a.Number])
			}
			delete(usable, a.Number)
		}
		if len(want)+len(usable) > 0 {
			t.Fatalf("on %s: not recorded: %v %v", today, want, usable)
		}
	}
}
