package intake

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"antidotary/inventory/day"
)

var (
	clockForm = regexp.MustCompile(`(?i)^(\d{1,2}):(\d{2})(?::(\d{2}))?(?: ?([ap])\.?m\.?)?$`)
	dayClock  = regexp.MustCompile(`(?i)^([^:]*[^: ])[ T](\d{1,2}:\d{2}(?::\d{2})?(?: ?[ap]\.?m\.?)?)$`)
)

const clockAllowed = "a time by the clock of the site is required, such as 14:30 or 2:30 pm, or an instant such as 2026-10-31T20:00-04:00, or blank if it is unknown"

// moment reads an instant in UTC and whole seconds: with its distance from UTC,
// or by the clock of a zone with its day, or the time alone, on a day that is
// given; an unset day allows no time alone. A time that a change of the clock
// leaves out, or that comes twice, is refused.
func moment(text string, on day.Day, order Order, zone *time.Location) (time.Time, string) {
	s := tidy(text)
	for _, form := range []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00"} {
		if t, err := time.Parse(form, s); err == nil {
			return t.UTC().Truncate(time.Second), ""
		}
	}
	clock := s
	if p := dayClock.FindStringSubmatch(s); p != nil {
		d, wrong := parseDay(p[1], order)
		if wrong != "" {
			return time.Time{}, wrong
		}
		on, clock = d, p[2]
	}
	since, wrong := timeOfClock(clock)
	switch {
	case wrong != "":
		return time.Time{}, fmt.Sprintf("%q is no time; %s", text, wrong)
	case on.IsZero():
		return time.Time{}, fmt.Sprintf("%q does not say on which day; a day is required with it", text)
	}
	wall := day.StartOf(on, time.UTC).Add(since)
	switch at := day.Shown(wall, zone); len(at) {
	case 0:
		return time.Time{}, fmt.Sprintf("%q is left out on %s by the change of the clock in %s; write the instant with its distance from UTC", text, on, zone)
	case 1:
		return at[0].UTC(), ""
	default:
		return time.Time{}, fmt.Sprintf("%q comes twice on %s by the change of the clock in %s; write which one, %s or %s", text, on, zone, at[0].Format(time.RFC3339), at[1].Format(time.RFC3339))
	}
}

// timeOfClock reads a time of day. An hour of one digit without am or pm may
// be either half of the day.
func timeOfClock(s string) (time.Duration, string) {
	p := clockForm.FindStringSubmatch(s)
	if p == nil {
		return 0, clockAllowed
	}
	hour, _ := strconv.Atoi(p[1]) // at most two digits each
	minute, _ := strconv.Atoi(p[2])
	second, _ := strconv.Atoi(p[3]) // none: 0
	half := strings.ToLower(p[4])
	switch {
	case half != "" && (hour < 1 || hour > 12), hour > 23, minute > 59, second > 59:
		return 0, clockAllowed
	case half == "" && len(p[1]) == 1 && hour > 0:
		return 0, fmt.Sprintf("it may be %02d:%02d or %02d:%02d; write one of these, or add am or pm", hour, minute, hour+12, minute)
	case half == "a":
		hour %= 12
	case half == "p":
		hour = hour%12 + 12
	}
	return time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute + time.Duration(second)*time.Second, ""
}
