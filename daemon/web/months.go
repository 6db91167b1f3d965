package web

import (
	"fmt"
	"strings"

	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Months is what would happen if nobody did anything, month by month.
type Months struct {
	From, Until day.Day // both included
	Rows        []Month
	FirstLapse  day.Day // first day on which anything leaves in order; unset: none does
}

// Month counts duties, each day of the question in the month of its own. One
// duty may count in several months: it may lapse, and before that have a last
// day to act.
type Month struct {
	First, Last day.Day // of the month within the question
	Act         int     // last days on which acting is still in time
	Out         int     // turns from in order, or from cannot tell, to out of order
	Unknown     int     // turns to cannot tell
}

// Label gives the month's name; a month of which only the rest is counted
// says so.
func (m *Month) Label() string {
	year, month, dom := m.First.Date()
	text := fmt.Sprintf("%s %d", month.String()[:3], year)
	if dom > 1 {
		text += fmt.Sprintf(" from %d", dom)
	}
	return text
}

// span names the first month and the last.
func (m *Months) span() string {
	name := func(d day.Day) string {
		year, month, _ := d.Date()
		return fmt.Sprintf("%s %d", month.String()[:3], year)
	}
	return name(m.From) + " to " + name(m.Until)
}

// Total adds the months up.
func (m *Months) Total() (t Month) {
	for _, row := range m.Rows {
		t.Act, t.Out, t.Unknown = t.Act+row.Act, t.Out+row.Out, t.Unknown+row.Unknown
	}
	return t
}

// series are the three rows of the picture and the columns of the table.
var series = []struct {
	Title string
	of    func(*Month) int
}{
	{"Last days to act", func(m *Month) int { return m.Act }},
	{"Would go out of order", func(m *Month) int { return m.Out }},
	{"Could no longer be told", func(m *Month) int { return m.Unknown }},
}

// Alternative says in words what the picture shows.
func (m *Months) Alternative() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Three rows of bars, one bar a month, %s to %s, if nobody does anything.", words.Day(m.From), words.Day(m.Until))
	for _, s := range series {
		total, most := 0, 0
		for i := range m.Rows {
			n := s.of(&m.Rows[i])
			total += n
			if n > s.of(&m.Rows[most]) {
				most = i
			}
		}
		fmt.Fprintf(&b, " %s: %d in all", s.Title, total)
		if total > 0 {
			fmt.Fprintf(&b, ", most in %s (%d)", m.Rows[most].Label(), s.of(&m.Rows[most]))
		}
		b.WriteString(".")
	}
	b.WriteString(" The table below has every number.")
	return b.String()
}
