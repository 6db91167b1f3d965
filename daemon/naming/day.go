package naming

import (
	"fmt"
	"strings"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Today gives the day it is at a site; of the zero ID, at the first site that
// is recorded.
func (n *Names) Today(site inventory.ID) day.Day { return day.In(n.Now, n.zone(site)) }

// zone gives the zone of a site; of the zero ID, of the first that is
// recorded.
func (n *Names) zone(site inventory.ID) *time.Location {
	zone := "UTC"
	if s, ok := n.Sites.Get(site); ok {
		zone = s.Zone
	} else {
		for s := range n.Sites.All() {
			zone = s.Zone
			break
		}
	}
	at, err := time.LoadLocation(zone)
	if err != nil { // a zone that was checked when it was recorded
		return time.UTC
	}
	return at
}

// Happened reads the day on which something happened at a site: not in the
// future. No text is today.
func (n *Names) Happened(text string, site inventory.ID) (day.Day, error) {
	d, err := n.Day(text, site)
	if today := n.Today(site); err == nil && d > today {
		return 0, fmt.Errorf("%s is in the future: today is %s", d, today)
	}
	return d, err
}

// Day reads a day at a site: YYYY-MM-DD, today, yesterday or tomorrow. No text
// is today.
func (n *Names) Day(text string, site inventory.ID) (day.Day, error) {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "", "today":
		return n.Today(site), nil
	case "yesterday":
		return n.Today(site) - 1, nil
	case "tomorrow":
		return n.Today(site) + 1, nil
	}
	d, err := day.Parse(strings.TrimSpace(text))
	if err != nil {
		return 0, fmt.Errorf("%q is not a day: write YYYY-MM-DD, today or yesterday", text)
	}
	return d, nil
}

// End reads a last good day: YYYY-MM-DD, YYYY-MM for the last day of that
// month, never, or unknown. monthOnly says that it was a month.
func End(text string, never bool) (end day.End, monthOnly bool, err error) {
	allowed := "write YYYY-MM-DD, YYYY-MM for the end of a month, or unknown"
	if never {
		allowed += ", or never"
	}
	switch word := strings.ToLower(strings.TrimSpace(text)); {
	case word == "":
		return day.End{}, false, fmt.Errorf("the last good day is not given: %s", allowed)
	case word == "unknown":
		return day.End{}, false, nil
	case word == "never" && never:
		return day.Forever(), false, nil
	case len(word) == len("2026-01"):
		first, err := day.Parse(word + "-01")
		if err != nil {
			return day.End{}, false, fmt.Errorf("%q is not a month: %s", text, allowed)
		}
		return day.Until(first.EndOfMonth()), true, nil
	}
	last, err := day.Parse(strings.TrimSpace(text))
	if err != nil {
		return day.End{}, false, fmt.Errorf("%q is not a day: %s", text, allowed)
	}
	return day.Until(last), false, nil
}
