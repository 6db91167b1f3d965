package compliance

import (
	"errors"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestAbsences: they follow one another, an unset end goes on, and the last
// day of one is a day away.
func TestAbsences(t *testing.T) {
	of := func(away ...Absence) Person {
		return Person{ID: inventory.NewID(), Called: "Somebody Invented", Away: away}
	}
	for name, c := range map[string]struct {
		person Person
		field  string
	}{
		"one, not over":                 {of(Absence{From: d("2026-03-01")}), ""},
		"one day, then the next":        {of(Absence{d("2026-03-01"), d("2026-03-01")}, Absence{From: d("2026-03-02")}), ""},
		"no first day":                  {of(Absence{Last: d("2026-03-01")}), "away"},
		"over before it begins":         {of(Absence{d("2026-03-02"), d("2026-03-01")}), "away"},
		"two on one day":                {of(Absence{d("2026-03-01"), d("2026-03-02")}, Absence{From: d("2026-03-02")}), "away"},
		"another while one is not over": {of(Absence{From: d("2026-03-01")}, Absence{From: d("2026-04-01")}), "away"},
		"born before joining":           {Person{ID: inventory.NewID(), Called: "S", Born: d("2000-02-29"), Joined: d("2026-01-01")}, ""},
		"born on the day of joining":    {Person{ID: inventory.NewID(), Called: "S", Born: d("2026-01-01"), Joined: d("2026-01-01")}, "born"},
	} {
		var wrong *inventory.FieldError
		switch err := c.person.Check(); {
		case c.field == "" && err != nil:
			t.Errorf("%s: %v", name, err)
		case c.field != "" && (!errors.As(err, &wrong) || wrong.Field != c.field):
			t.Errorf("%s: %v; want a refusal about %s", name, err, c.field)
		}
	}
	p := of(Absence{d("2026-03-01"), d("2026-03-03")}, Absence{From: d("2026-05-01")})
	for on, away := range map[day.Day]bool{d("2026-02-28"): false, d("2026-03-01"): true, d("2026-03-03"): true, d("2026-03-04"): false, d("2026-05-01"): true, d("2031-01-01"): true} {
		if p.AwayOn(on) != away {
			t.Errorf("away on %s: %t", on, !away)
		}
	}
}
