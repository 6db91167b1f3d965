package intake

import (
	"strings"
	"testing"

	"antidotary/inventory/day"
)

// The days in these tables are read off the texts; the rule for months is
// USP chapter 7 (secondary source), the rest is design of this project.

func TestDays(t *testing.T) {
	for _, c := range []struct {
		name, text string
		order      Order
		want       string // empty: refused
		says       string
	}{
		{"ISO needs no order", "2026-02-03", "", "2026-02-03", ""},
		{"ISO under another order", "2026-02-03", DMY, "2026-02-03", ""},
		{"ISO with the time of day", "2026-02-03 00:00:00", "", "2026-02-03", ""},
		{"two readings", "03/02/2026", "", "", `may be 2026-02-03 or 2026-03-02; declare --dates`},
		{"day first", "03/02/2026", DMY, "2026-02-03", ""},
		{"month first", "03/02/2026", MDY, "2026-03-02", ""},
		{"dots", "3.2.2026", DMY, "2026-02-03", ""},
		{"only one reading", "25/12/2026", "", "2026-12-25", ""},
		{"both readings are one day", "04/04/2026", "", "2026-04-04", ""},
		{"no fall back to another order", "25/12/2026", MDY, "", "does not fit the declared order mdy"},
		{"year first with slashes", "2026/03/02", "", "", "2026-02-03 or 2026-03-02"},
		{"year first, declared", "2026/03/02", YMD, "2026-03-02", ""},
		{"two digits of a year", "03/02/26", "", "", "or"},
		{"two digits, declared", "03/02/26", DMY, "2026-02-03", ""},
		{"two digits that may be of either century", "03/02/78", DMY, "", "full date"},
		{"a month by name", "3 Feb 2026", "", "2026-02-03", ""},
		{"a month by name, in full, with signs", "03-February-2026", "", "2026-02-03", ""},
		{"the name first", "Feb 3, 2026", "", "2026-02-03", ""},
		{"a name between two digits and two", "03-Feb-26", "", "", "2003-02-26 or 2026-02-03"},
		{"the same, declared", "03-Feb-26", DMY, "2026-02-03", ""},
		{"a day that does not exist", "2026-02-30", "", "", "exists"},
		{"29 February of a common year", "29/02/2026", DMY, "", "exists"},
		{"a year alone", "2019", "", "", "no full date"},
		{"a month alone", "02/2026", "", "", "no full date"},
		{"an estimate", "ca. 2019", "", "", "blank if it is unknown"},
		{"a serial number as text", "46056", "", "", "no full date"},
		{"before 1900", "1899-12-31", "", "", "1900"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, wrong := parseDay(c.text, c.order)
			if got.String() != c.want || (wrong == "") != (c.want != "") || !strings.Contains(wrong, c.says) {
				t.Errorf("%q by %q: %v, %q; want %q, says %q", c.text, c.order, got, wrong, c.want, c.says)
			}
		})
	}
}

func TestLabels(t *testing.T) {
	for _, c := range []struct {
		name, text string
		order      Order
		want       string
		month      bool
	}{
		{"as printed", "EXP 02/26", "", "2026-02-28", true},
		{"with a point", "Exp. 02/26", "", "2026-02-28", true},
		{"month and year", "02/2026", "", "2026-02-28", true},
		{"year and month", "2028-02", "", "2028-02-29", true},
		{"a name", "Feb 2026", "", "2026-02-28", true},
		{"a name and two digits", "Feb-26", "", "2026-02-28", true},
		{"two digits that can only be the month first", "11/26", "", "2026-11-30", true},
		{"two digits both ways", "05/06", "", "", false},
		{"two digits, declared", "05/06", DMY, "2006-05-31", true},
		{"two digits, declared year first", "05/06", YMD, "2005-06-30", true},
		{"a full date", "EXP 2027-02-15", "", "2027-02-15", false},
		{"a full date, day first", "15.02.2027", "", "2027-02-15", false},
		{"a full date both ways", "03/02/2027", "", "", false},
		{"a month that does not exist", "13/2026", "", "", false},
		{"never", "never", "", "", false},
		{"a day before a month", "26-Feb", DMY, "", false},
		{"what a workbook shows of a date without its year", "Feb-26 (no year is shown)", DMY, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, month, wrong := parseLabel(c.text, c.order)
			if got.String() != c.want || month != c.month || (wrong == "") != (c.want != "") {
				t.Errorf("%q by %q: %v, month only %v, %q; want %q, %v", c.text, c.order, got, month, wrong, c.want, c.month)
			}
		})
	}
}

// TestAmbiguityIsNeverResolved: without a declared order, a date of digits
// whose day and month differ and are both at most twelve is always refused.
func TestAmbiguityIsNeverResolved(t *testing.T) {
	for month := 1; month <= 12; month++ {
		for dom := 1; dom <= 12; dom++ {
			on := day.MustParse("2026-01-01").AddMonths(month - 1).Add(dom - 1)
			y, m, d := on.Date()
			text := plain(int(m)) + "/" + plain(d) + "/" + plain(y)
			if _, wrong := parseDay(text, ""); (wrong == "") != (int(m) == d) {
				t.Errorf("%s: %q", text, wrong)
			}
			if got, wrong := parseDay(text, MDY); got != on {
				t.Errorf("%s month first: %s, %q", text, got, wrong)
			}
		}
	}
}
