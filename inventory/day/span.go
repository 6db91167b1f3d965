package day

import (
	"fmt"
	"strconv"
	"strings"
)

// Span is a length of time in calendar units, as law writes it. The parts are
// kept apart because a month is not a number of days.
type Span struct {
	Years, Months, Weeks, Days int
}

// maxCount bounds each part of a span that is read from text; more is a
// typing error.
const maxCount = 9999

// ParseSpan reads a span such as "12 months", "30 days" or "1 year 2 weeks":
// each unit at most once, larger before smaller, singular after 1, single
// spaces, whole numbers from 1 to 9999. Only "0 days" is an empty span.
func ParseSpan(s string) (Span, error) {
	var span Span
	if s == "0 days" {
		return span, nil
	}
	refuse := func(why string) (Span, error) {
		return Span{}, fmt.Errorf("%q is not a span of time: %s; write for example \"12 months\", \"30 days\" or \"1 year 2 weeks\"", s, why)
	}
	words := strings.Split(s, " ")
	if len(words)%2 != 0 {
		return refuse("numbers and units must alternate, with single spaces")
	}
	units := span.parts()
	for ; len(words) > 0; words = words[2:] {
		n, err := strconv.Atoi(words[0])
		if err != nil || n < 1 || n > maxCount || strconv.Itoa(n) != words[0] {
			return refuse(fmt.Sprintf("%q is not a whole number from 1 to %d", words[0], maxCount))
		}
		for len(units) > 0 && words[1] != counted(n, units[0].name) {
			units = units[1:]
		}
		if len(units) == 0 {
			return refuse(fmt.Sprintf("%q does not fit there; the units are years, months, weeks and days, in this order, each once, singular after 1", words[1]))
		}
		*units[0].count = n
		units = units[1:]
	}
	return span, nil
}

// MustParseSpan is ParseSpan for spans written in code; it panics on a wrong
// one.
func MustParseSpan(s string) Span {
	span, err := ParseSpan(s)
	if err != nil {
		panic(err)
	}
	return span
}

// IsZero says that the span is empty.
func (s Span) IsZero() bool { return s == Span{} }

// String gives the form that ParseSpan reads.
func (s Span) String() string {
	var words []string
	for _, p := range s.parts() {
		if n := *p.count; n != 0 {
			words = append(words, strconv.Itoa(n), counted(n, p.name))
		}
	}
	if len(words) == 0 {
		return "0 days"
	}
	return strings.Join(words, " ")
}

// MarshalText writes the form that ParseSpan reads.
func (s Span) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what ParseSpan reads.
func (s *Span) UnmarshalText(text []byte) error {
	parsed, err := ParseSpan(string(text))
	if err != nil {
		return err
	}
	*s = parsed
	return nil
}

// AddTo gives the day at the end of the span after d: years and months in one
// step from d, clamped to the month's end, then weeks and days. A result
// beyond Last is Last, one before First is First. An unset day stays unset.
func (s Span) AddTo(d Day) Day { return s.shift(d, 1) }

// SubtractFrom gives the day at the beginning of the span before d, in the
// same order and with the same bounds as AddTo.
func (s Span) SubtractFrom(d Day) Day { return s.shift(d, -1) }

func (s Span) shift(d Day, sign int) Day {
	if d.IsZero() {
		return 0
	}
	return d.AddMonths(sign * s.inMonths()).Add(sign * s.inDays()).bounded()
}

func (s Span) inMonths() int { return 12*s.Years + s.Months }
func (s Span) inDays() int   { return 7*s.Weeks + s.Days }

type spanPart struct {
	name  string
	count *int
}

// parts lists the units from large to small.
func (s *Span) parts() []spanPart {
	return []spanPart{{"year", &s.Years}, {"month", &s.Months}, {"week", &s.Weeks}, {"day", &s.Days}}
}

// counted gives a unit's name after a number.
func counted(n int, unit string) string {
	if n == 1 {
		return unit
	}
	return unit + "s"
}

// bounded keeps a computed day within what can be stored.
func (d Day) bounded() Day { return min(max(d, First), Last) }
