package compliance

import (
	"slices"

	"antidotary/inventory/day"
)

// sorted gives the days ascending, each once, without unset ones.
func sorted(days []day.Day) []day.Day {
	slices.Sort(days)
	days = slices.Compact(days)
	return slices.DeleteFunc(days, func(d day.Day) bool { return d < day.First })
}
