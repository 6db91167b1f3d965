package compliance

import (
	"strings"
	"testing"
)

// stockPack asks for ten vials within an hour; SUPPLY is what a case says of
// them.
const stockPack = `format: 1
pack: moss
title: Moss
layer: law
jurisdiction: xx/moss
rules:
  - id: moss.cover
    requirement: cover.moss
    title: Antivenom is within an hour
    consequence: It is unlawful.
    severity: serious
    owner: administrator
    subject: holding
    citation: {text: Moss by-law 12, read_on: 2026-01-01, certainty: R}
    kind: cover
    params: {victims: 1, bases: [indicated], order_lead: 100 days, within_minutes: 60, same_animal_twice: false}
tests:
  - name: ten vials
    source: by-law 12
    day: 2026-08-05
    facts:
      law: xx/moss
      species: [{name: Naja kaouthia, venomous: true}]
      animals: [{name: A, species: Naja kaouthia}]
SUPPLY
    expect:
      - {requirement: cover.moss, subject: species Naja kaouthia, standing: STANDING}
`

const (
	vialsAt    = "      vials: [{product: Invented antivenom, lot: L, count: 10, expires: 2028-01-01, species: [Naja kaouthia], full: 10, place: annex}]"
	product    = "      products: [{name: Invented antivenom, species: [Naja kaouthia], full: 10}]"
	aPromise   = product + "\n      agreements: [{number: C, product: Invented antivenom, minutes: 30, access: any-time, signed: 2026-01-01, until: 2026-12-31, fresh_days: 90, confirmed: 2026-07-01, vials: 10}]"
	anOrder    = product + "\n      orders: [{number: O, product: Invented antivenom, vials: 10, ordered: 2026-06-01, expected: 2026-08-01, expires: 2028-01-01}]"
	aPlace     = "      places: [{name: annex, at: elsewhere, minutes: 45}]\n"
	onlyPlaces = "      places: [{name: annex, minutes: 45}]\n"
)

// TestATestTellsOfReachOrdersAndAgreements: each of them as the records of a
// house would have it.
func TestATestTellsOfReachOrdersAndAgreements(t *testing.T) {
	for _, c := range []struct{ name, supply, from, to, standing string }{
		{"at another site within the hour", aPlace + vialsAt, "", "", "in order"},
		{"at another site, too far", aPlace + vialsAt, "minutes: 45", "minutes: 61", "out of order"},
		{"at another site, nobody knows how far", aPlace + vialsAt, ", minutes: 45", "", "out of order"},
		{"at the site, a walk away", onlyPlaces + vialsAt, "", "", "in order"},
		{"at the site, too far", onlyPlaces + vialsAt, "minutes: 45", "minutes: 61", "out of order"},
		{"promised, confirmed and in time", aPromise, "", "", "in order"},
		{"promised, too far", aPromise, "minutes: 30", "minutes: 90", "out of order"},
		{"promised by an agreement that is over", aPromise, "until: 2026-12-31", "until: 2026-08-04", "out of order"},
		{"promised, with notice given", aPromise, "fresh_days", "ended: 2026-08-05, fresh_days", "out of order"},
		{"promised, confirmed too long ago", aPromise, "confirmed: 2026-07-01", "confirmed: 2026-02-01", "cannot tell"},
		{"promised at some hours only", aPromise, "any-time", "mon-fri 08:00-18:00", "cannot tell"},
		{"promised, one vial too few", aPromise, "vials: 10", "vials: 9", "out of order"},
		{"ordered, which is not in hand", anOrder, "", "", "out of order"},
		{"ordered, and taken to come", anOrder, "day: 2026-08-05", "day: 2026-08-05\n    orders_come: true", "out of order"}, // overdue since 2026-08-01
		{"ordered for a later day, and taken to come", anOrder, "day: 2026-08-05", "day: 2026-08-01\n    orders_come: true", "in order"},
		{"ordered, taken to come, and cancelled", anOrder, "expires: 2028-01-01}", "expires: 2028-01-01, cancelled: 2026-07-01}", "out of order"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.NewReplacer("SUPPLY", c.supply, "STANDING", c.standing).Replace(stockPack)
			if c.from != "" && !strings.Contains(text, c.from) {
				t.Fatalf("%q is not in the case", c.from)
			}
			if strings.Contains(c.name, "cancelled") {
				text = strings.Replace(text, "day: 2026-08-05", "day: 2026-08-01\n    orders_come: true", 1)
			}
			if c.from != "" {
				text = strings.Replace(text, c.from, c.to, 1)
			}
			for _, r := range runCases(t, text) {
				if !r.Holds() {
					t.Errorf("%q %+v", r.Wrong, r.Answers)
				}
			}
		})
	}
}

// TestWrongSupplyIsRefused: each mistake is told with what is allowed.
func TestWrongSupplyIsRefused(t *testing.T) {
	for _, c := range []struct{ supply, from, to, says string }{
		{aPlace + vialsAt, "at: elsewhere", "at: away", "here"},
		{aPlace + vialsAt, "minutes: 45", "minutes: 0", "minutes"},
		{aPlace + vialsAt, "minutes: 45}", "minutes: 45}, {name: annex}", "given twice"},
		{aPlace + vialsAt, "minutes: 45", "minute: 45", "minute"},
		{aPromise, "product: Invented antivenom, minutes", "product: Other, minutes", `"Other" is not a product of this test`},
		{aPromise, "any-time", "weekdays", `"weekdays" is not allowed: write any-time`},
		{aPromise, "confirmed: 2026-07-01, ", "", "confirmed is missing"},
		{aPromise, "until: 2026-12-31", "until: 2025-12-31", "must not be before 2026-01-01"},
		{anOrder, "vials: 10, ", "vials: 10, place: nowhere, ", `no place "nowhere"`},
		{anOrder, "expected: 2026-08-01", "expected: 2026-05-01", "must not be before 2026-06-01"},
		{anOrder, "expires: 2028-01-01", "received: 2026-07-01, cancelled: 2026-07-02", "must end with received"},
		{anOrder, "species: [Naja kaouthia], full: 10}]\n", "species: [Naja naja], full: 10}]\n", `"Naja naja" is not among the species`},
	} {
		text := strings.NewReplacer("SUPPLY", c.supply, "STANDING", "in order").Replace(stockPack)
		wrong := strings.Replace(text, c.from, c.to, 1)
		if wrong == text {
			t.Fatalf("%q is not in the case", c.from)
		}
		if _, err := ReadPack("moss.yaml", []byte(wrong)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", c.to, err, c.says)
		}
	}
}
