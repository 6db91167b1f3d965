package compliance

import (
	"fmt"
	"strconv"
	"strings"

	"antidotary/inventory/day"
)

// grace is the time within which somebody must be told: a period, or a number
// of working days.
type grace struct {
	period  day.Period
	working int
}

// UnmarshalText reads immediately, 8 hours, 1 business day or 10 days.
func (g *grace) UnmarshalText(text []byte) error {
	s := string(text)
	number, unit, _ := strings.Cut(s, " ")
	n, err := strconv.Atoi(number)
	exact := err == nil && strconv.Itoa(n) == number
	one := strings.TrimSuffix(unit, "s")
	if n != 1 {
		one += "s"
	}
	if unit == one && exact && n > 0 && n < 10000 {
		switch strings.TrimSuffix(unit, "s") {
		case "hour":
			*g = grace{period: day.Period{Shape: day.Hours, Hours: n}}
			return nil
		case "business day":
			*g = grace{working: n}
			return nil
		}
	}
	if s == "immediately" {
		*g = grace{period: day.Period{Shape: day.Immediately}}
		return nil
	}
	span, err := day.ParseSpan(s)
	if err != nil || span.IsZero() {
		return fmt.Errorf("%q is no time to tell somebody within; write immediately, 8 hours, 1 business day or a span such as 10 days or 6 months", s)
	}
	*g = grace{period: day.Period{Shape: day.AfterEvent, Span: span}}
	return nil
}

// String gives the time as it is written in rules.
func (g grace) String() string {
	switch {
	case g.working == 1:
		return "1 business day"
	case g.working > 1:
		return strconv.Itoa(g.working) + " business days"
	case g.period.Shape == day.Hours && g.period.Hours == 1:
		return "1 hour"
	case g.period.Shape == day.Hours:
		return strconv.Itoa(g.period.Hours) + " hours"
	case g.period.Shape == day.Immediately:
		return "no time: immediately"
	default:
		return g.period.Span.String()
	}
}
