package naming

import (
	"fmt"
	"strings"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

const localForm = "2006-01-02 15:04"

// Instant reads when something happened, not in the future: 2026-10-31 20:00
// by the clock of a site, or with its distance from UTC,
// 2026-10-31T20:00-04:00. A time that a change of the clock leaves out, or that
// comes twice, is refused without that distance. It comes in UTC and whole
// seconds.
func (n *Names) Instant(text string, site inventory.ID) (time.Time, error) {
	t, err := n.instant(strings.TrimSpace(text), n.zone(site))
	if err != nil {
		return time.Time{}, err
	}
	if t.After(n.Now) {
		return time.Time{}, fmt.Errorf("%s is in the future", text)
	}
	return t.UTC().Truncate(time.Second), nil
}

// DayOf gives the day of an instant at a site.
func (n *Names) DayOf(t time.Time, site inventory.ID) day.Day { return day.In(t, n.zone(site)) }

func (n *Names) instant(text string, zone *time.Location) (time.Time, error) {
	for _, form := range []string{time.RFC3339, "2006-01-02T15:04Z07:00"} {
		if t, err := time.Parse(form, text); err == nil {
			return t, nil
		}
	}
	wall, err := time.Parse(localForm, text)
	if err != nil {
		return wall, fmt.Errorf("%q is no instant: write 2026-10-31 20:00, or 2026-10-31T20:00-04:00 with the distance from UTC", text)
	}
	switch at := day.Shown(wall, zone); len(at) {
	case 0:
		return wall, fmt.Errorf("%s is left out by the change of the clock in %s: write it with its distance from UTC", text, zone)
	case 1:
		return at[0], nil
	default:
		return wall, fmt.Errorf("%s comes twice by the change of the clock in %s: write it with its distance from UTC", text, zone)
	}
}
