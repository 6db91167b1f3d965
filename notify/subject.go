package notify

import (
	"fmt"
	"strings"

	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// subject says how much there is to do, what of it is late, and by when the
// next must be done.
func (l *letter) subject() string {
	todo, late, atOnce, next := 0, 0, 0, day.Last
	for _, list := range [][]entry{l.Changes, l.Due} {
		for _, e := range list {
			switch {
			case e.Step == nil:
				continue
			case e.Step.By.IsZero():
				atOnce++
			case e.Step.By < l.Day:
				late++
			default:
				next = min(next, e.Step.By)
			}
			todo++
		}
	}
	if todo == 0 {
		return l.House + ": " + l.nothingToDo()
	}
	parts := []string{fmt.Sprintf("%d to act on", todo)}
	if late > 0 {
		parts = append(parts, fmt.Sprintf("%d overdue", late))
	}
	if atOnce > 0 {
		parts = append(parts, fmt.Sprintf("%d at once", atOnce))
	}
	if next != day.Last {
		parts = append(parts, "next by "+words.Day(next))
	}
	return l.House + ": " + strings.Join(parts, ", ")
}

// nothingToDo never sounds as if all were well while something is open.
func (l *letter) nothingToDo() string {
	open := l.More
	for _, g := range l.Standing {
		open += g.Count
	}
	var parts []string
	if n := len(l.Changes) + len(l.Due); n > 0 {
		parts = append(parts, fmt.Sprintf("%d new", n))
	}
	if n := len(l.Ended); n > 0 {
		parts = append(parts, fmt.Sprintf("%d ended", n))
	}
	if open > 0 {
		parts = append(parts, fmt.Sprintf("%d still open", open))
	}
	return strings.Join(parts, ", ")
}
