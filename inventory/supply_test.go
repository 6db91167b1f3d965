package inventory_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestLead: each way of knowing and not knowing.
func TestLead(t *testing.T) {
	for _, c := range []struct {
		name           string
		supply         inventory.Supply
		inForce, known bool
		days           int
	}{
		{"nothing is known", inventory.Supply{}, true, false, 0},
		{"the lead alone", inventory.Supply{LeadDays: 14}, false, true, 14},
		{"with customs and checking", inventory.Supply{LeadDays: 90, CustomsDays: 10, CheckDays: 2}, true, true, 102},
		{"the paper is in force", inventory.Supply{LeadDays: 90, Paper: "import-licence", PaperDays: 60}, true, true, 90},
		{"no paper is in force", inventory.Supply{LeadDays: 90, Paper: "import-licence", PaperDays: 60, CustomsDays: 10, CheckDays: 2}, false, true, 162},
		{"a paper of no known class", inventory.Supply{LeadDays: 90, PaperDays: 60}, false, true, 150},
		{"how long the paper takes is not known", inventory.Supply{LeadDays: 90, Paper: "import-licence"}, false, false, 90},
		{"nor matters", inventory.Supply{LeadDays: 90, Paper: "import-licence"}, true, true, 90},
		{"the lead is not known", inventory.Supply{Paper: "import-licence", PaperDays: 60, CustomsDays: 10}, false, false, 70},
	} {
		if days, known := c.supply.Lead(c.inForce); days != c.days || known != c.known {
			t.Errorf("%s: %d, %t; want %d, %t", c.name, days, known, c.days, c.known)
		}
	}
}

func TestOfferedAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := inventory.Supply{ID: numbered(1), Product: numbered(2), Supplier: "Fictional Sera"}
		if rapid.Bool().Draw(t, "from known") {
			s.From = someDay(t, "from")
		}
		switch rapid.IntRange(0, 2).Draw(t, "until") {
		case 0:
			s.Until = day.Forever()
		case 1:
			s.Until = day.Until(max(s.From, someDay(t, "until")))
		}
		if err := s.Check(); err != nil {
			t.Fatalf("the records refuse it: %v\n%+v", err, s)
		}
		line := s.Offered()
		for on := origin - 2; on <= origin.Add(stretch+5); on++ {
			last, known := s.Until.Known()
			want := inventory.Yes
			switch {
			case on < s.From || known && on > last:
				want = inventory.No
			case s.Until.IsZero():
				want = inventory.Unknown
			}
			if got := line.At(on); got != want {
				t.Fatalf("%s: %s, want %s\n%+v", on, got, want, s)
			}
		}
	})
}

func TestSuppliesThatAreRefused(t *testing.T) {
	good := inventory.Supply{ID: numbered(1), Product: numbered(2), Supplier: "Fictional Sera", PackPrice: 120_000, Currency: "GBP", From: d("2026-01-02")}
	if err := good.Check(); err != nil {
		t.Fatal(err)
	}
	for want, spoil := range map[string]func(*inventory.Supply){
		"supplier: is empty":                   func(s *inventory.Supply) { s.Supplier = "" },
		"product: is not set":                  func(s *inventory.Supply) { s.Product = inventory.ID{} },
		`currency: "" is no currency`:          func(s *inventory.Supply) { s.Currency = "" },
		`currency: "gbp" is no currency`:       func(s *inventory.Supply) { s.Currency = "gbp" },
		"pack_price: must not be negative":     func(s *inventory.Supply) { s.PackPrice = -1 },
		"lead_days: must not be negative":      func(s *inventory.Supply) { s.LeadDays = -1 },
		`paper: "Import Licence" is not allow`: func(s *inventory.Supply) { s.Paper = "Import Licence" },
		"until: must not be before 2026-01-02": func(s *inventory.Supply) { s.Until = day.Until(d("2026-01-01")) },
	} {
		s := good
		spoil(&s)
		if err := s.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// TestMoney: minor units have the decimals that ISO 4217 gives the currency
// (from memory: GBP 2, JPY 0, KWD 3).
func TestMoney(t *testing.T) {
	for text, minor := range map[string]int{"2350.00 GBP": 235_000, "0.05 GBP": 5, "7 GBP": 700, "7.5 gbp": 750, "90000 JPY": 90_000, "1.250 KWD": 1_250} {
		got, code, err := inventory.ParseMoney(text)
		if err != nil || got != minor {
			t.Errorf("%s: %d %s, %v; want %d", text, got, code, err, minor)
			continue
		}
		if back, again, err := inventory.ParseMoney(inventory.ShowMoney(got, code)); back != got || again != code || err != nil {
			t.Errorf("%s shows as %s, which is %d %s, %v", text, inventory.ShowMoney(got, code), back, again, err)
		}
	}
	for _, bad := range []string{"", "12", "GBP", "12 POUNDS", "12.345 GBP", "1,200 GBP", "-5 GBP", "12.5 JPY", "12. GBP", "99999999999999999999 GBP"} {
		if minor, code, err := inventory.ParseMoney(bad); err == nil {
			t.Errorf("%q was read as %d %s", bad, minor, code)
		}
	}
}

// TestMinutes: at once at its own site, in minutes where that is recorded, and
// else not at all.
func TestMinutes(t *testing.T) {
	home, near, far := numbered(1), numbered(2), numbered(3)
	p := inventory.Place{ID: fridge, Site: home, Title: "fridge", Reach: []inventory.Reach{{Site: near, Minutes: 25}}}
	slow := p
	slow.Reach = append(slow.Reach[:1:1], inventory.Reach{Site: home, Minutes: 10})
	for _, c := range []struct {
		name    string
		place   inventory.Place
		site    inventory.ID
		minutes int
		known   bool
	}{
		{"its own site", p, home, 0, true}, {"a site that is recorded", p, near, 25, true}, {"another", p, far, 0, false},
		{"its own site, where it says otherwise", slow, home, 10, true}, {"no site", p, inventory.ID{}, 0, false}, {"no site of a place without one", inventory.Place{}, inventory.ID{}, 0, false},
	} {
		if got, known := c.place.Minutes(c.site); got != c.minutes || known != c.known {
			t.Errorf("%s: %d, %t; want %d, %t", c.name, got, known, c.minutes, c.known)
		}
	}
	for name, reach := range map[string][]inventory.Reach{"no site": {{Minutes: 5}}, "no minutes": {{Site: near}}, "twice": {{near, 5}, {near, 6}}} {
		bad := p
		bad.Reach = reach
		if err := bad.Check(); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

// TestOutsideOnly: unknown reads as a site with antivenom of its own.
func TestOutsideOnly(t *testing.T) {
	s := inventory.Site{Antivenom: []inventory.Dated[inventory.Stocking]{{From: d("2026-02-01"), Value: inventory.OutsideOnly}, {From: d("2026-03-01"), Value: inventory.OwnStock}, {From: d("2026-04-01")}}}
	for on, want := range map[string]bool{"2026-01-31": false, "2026-02-01": true, "2026-02-28": true, "2026-03-01": false, "2026-04-01": false} {
		if got := s.OutsideOnly().At(d(on)); got != want {
			t.Errorf("%s: %t, want %t", on, got, want)
		}
	}
}
