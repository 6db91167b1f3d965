package inventory_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// usableUnder answers for one agreement and one day, straight from the
// definition.
func usableUnder(a inventory.Agreement, anyTimeOnly bool, on day.Day) inventory.Quantity {
	last, known := a.Until.Known()
	if on < a.Signed || known && on > last || !a.Ended.IsZero() && on >= a.Ended {
		return inventory.Quantity{} // outside the term
	}
	newest, said := inventory.Confirmation{}, false
	for _, c := range a.Confirmations {
		if c.On <= on {
			newest, said = c, true
		}
	}
	if !said {
		return inventory.Quantity{}
	}
	fresh := a.FreshDays > 0 && int(on-newest.On) <= a.FreshDays
	if !fresh || a.Until.IsZero() || anyTimeOnly && a.Access != inventory.AnyTime {
		return inventory.Quantity{Maybe: newest.Vials}
	}
	return inventory.Quantity{Sure: newest.Vials, Maybe: newest.Vials}
}

func someAgreement(t *rapid.T) inventory.Agreement {
	a := inventory.Agreement{ID: numbered(1), Number: "M-1", Partner: "Fictional Infirmary", Site: numbered(3), Product: numbered(2),
		Access: rapid.SampledFrom([]string{"", inventory.AnyTime, "mon-fri 08:00-18:00"}).Draw(t, "access"),
		Signed: someDay(t, "signed"), FreshDays: rapid.SampledFrom([]int{0, 1, 7, 30}).Draw(t, "fresh")}
	switch rapid.IntRange(0, 2).Draw(t, "until") {
	case 0:
		a.Until = day.Forever()
	case 1:
		a.Until = day.Until(a.Signed.Add(rapid.IntRange(0, 40).Draw(t, "term")))
	}
	if rapid.IntRange(0, 2).Draw(t, "ended?") == 0 {
		a.Ended = a.Signed.Add(rapid.IntRange(0, 40).Draw(t, "ended after"))
	}
	on := origin
	for range rapid.IntRange(0, 4).Draw(t, "confirmations") {
		on = on.Add(rapid.IntRange(0, 20).Draw(t, "after"))
		a.Confirmations = append(a.Confirmations, inventory.Confirmation{On: on, Vials: rapid.IntRange(0, 9).Draw(t, "vials")})
	}
	return a
}

func TestUsableUnderAgreesWithItsOracle(t *testing.T) {
	sure := 0
	rapid.Check(t, func(t *rapid.T) {
		a := someAgreement(t)
		if err := a.Check(); err != nil {
			t.Fatalf("the records refuse it: %v\n%+v", err, a)
		}
		for _, anyTimeOnly := range []bool{false, true} {
			line := a.Usable(anyTimeOnly)
			for on := origin - 2; on <= origin.Add(2*stretch); on++ {
				got, want := line.At(on), usableUnder(a, anyTimeOnly, on)
				if got != want {
					t.Fatalf("%s, any time only %t: %+v, want %+v\n%+v", on, anyTimeOnly, got, want, a)
				}
				if got.Sure > 0 {
					sure++
				}
			}
		}
	})
	if sure == 0 {
		t.Error("no vial was ever sure: nothing was learnt")
	}
}

// TestAStaleConfirmationIsNotSure, on the very day.
func TestAStaleConfirmationIsNotSure(t *testing.T) {
	a := inventory.Agreement{ID: numbered(1), Number: "M-1", Partner: "Fictional Infirmary", Site: numbered(3), Product: numbered(2), Access: inventory.AnyTime,
		Signed: d("2026-01-01"), Until: day.Until(d("2026-12-31")), FreshDays: 30, Confirmations: []inventory.Confirmation{{On: d("2026-02-01"), Vials: 12}}}
	for on, want := range map[string]inventory.Quantity{
		"2026-01-31": {},
		"2026-02-01": {Sure: 12, Maybe: 12},
		"2026-03-03": {Sure: 12, Maybe: 12}, // the thirtieth day after
		"2026-03-04": {Maybe: 12},
		"2026-12-31": {Maybe: 12},
		"2027-01-01": {},
	} {
		if got := a.Usable(true).At(d(on)); got != want {
			t.Errorf("%s: %+v, want %+v", on, got, want)
		}
	}
}

func TestAccessHours(t *testing.T) {
	for _, good := range []string{"", "any-time", "mon-fri 08:00-18:00", "sat 09:00-12:00", "mon-fri 08:00-18:00, sat 09:00-12:00", "mon-sun 00:00-24:00"} {
		if err := inventory.CheckAccess("access", good); err != nil {
			t.Errorf("%q: %v", good, err)
		}
	}
	for _, bad := range []string{"always", "24/7", "mon-fri", "fri-mon 08:00-18:00", "mon-fri 18:00-08:00", "mon-fri 08:00-24:01", "mon-fri 08:60-18:00", "xyz 08:00-18:00",
		"mon-fri 8:00-18:00", "mon-fri 08:00-18:00,sat 09:00-12:00", "mon-fri 08:00-18:00, ", "Mon-Fri 08:00-18:00", "any-time, sat 09:00-12:00"} {
		if err := inventory.CheckAccess("access", bad); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}

func TestAgreementsThatAreRefused(t *testing.T) {
	good := inventory.Agreement{ID: numbered(1), Number: "M-1", Partner: "Fictional Infirmary", Site: numbered(3), Product: numbered(2), Signed: d("2026-01-02")}
	if err := good.Check(); err != nil {
		t.Fatal(err)
	}
	for want, spoil := range map[string]func(*inventory.Agreement){
		"partner: is empty":                    func(a *inventory.Agreement) { a.Partner = "" },
		"number: is empty":                     func(a *inventory.Agreement) { a.Number = " " },
		"signed: is not set":                   func(a *inventory.Agreement) { a.Signed = 0 },
		"until: must not be before 2026-01-02": func(a *inventory.Agreement) { a.Until = day.Until(d("2026-01-01")) },
		"ended: must not be before 2026-01-02": func(a *inventory.Agreement) { a.Ended = d("2026-01-01") },
		"access: ":                             func(a *inventory.Agreement) { a.Access = "daily" },
		"fresh_days: must not be negative":     func(a *inventory.Agreement) { a.FreshDays = -1 },
		"confirmations: must have days":        func(a *inventory.Agreement) { a.Confirmations = []inventory.Confirmation{{}} },
		"confirmations: must not have less than": func(a *inventory.Agreement) {
			a.Confirmations = []inventory.Confirmation{{On: d("2026-02-01"), Vials: -1}}
		},
	} {
		a := good
		spoil(&a)
		if err := a.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
