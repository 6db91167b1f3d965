package label

import (
	"fmt"
	"strings"

	"antidotary/inventory/day"
)

// The years in which a code can be read: of any of them the years near it
// have days.
const (
	firstYear = 1950
	lastYear  = 9948
)

func checkYear(year int) error {
	if year < firstYear || year > lastYear {
		return fmt.Errorf("the year %d: %d to %d is allowed", year, firstYear, lastYear)
	}
	return nil
}

// century gives the year that two digits mean: 49 years back to 50 ahead of
// the current one (GS1 General Specifications, 7.12).
func century(yy, current int) int {
	year := current - current%100 + yy
	switch ahead := yy - current%100; {
	case ahead >= 51:
		return year - 100
	case ahead <= -50:
		return year + 100
	}
	return year
}

// date reads YYMMDD. Where no day is allowed, day 00 is the last of the month,
// and monthOnly says so (GS1 General Specifications; the European Union's
// guidance on medicines takes 210331 and 210300 as one expiry).
func date(text string, current int, noDay bool) (d day.Day, monthOnly bool, err error) {
	if len(text) != 6 || strings.Trim(text, digits) != "" {
		return 0, false, fmt.Errorf("%q is no date: six digits YYMMDD are needed", text)
	}
	written := fmt.Sprintf("%04d-%s", century(number(text[:2]), current), text[2:4])
	if text[4:] != "00" {
		written += "-" + text[4:]
	} else if !noDay {
		return 0, false, fmt.Errorf("%s has no day, and needs one", text)
	}
	d, monthOnly, err = day.ParseLabelEnd(written)
	if err != nil {
		return 0, false, fmt.Errorf("%s is no date: there is no %s", text, written)
	}
	return d, monthOnly, nil
}
