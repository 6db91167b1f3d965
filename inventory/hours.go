package inventory

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// AnyTime is the access of a partner that hands vials out at any hour of any
// day.
const AnyTime = "any-time"

var weekdays = []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

var openHours = regexp.MustCompile(`^([a-z]{3})(?:-([a-z]{3}))? ([0-9]{2}:[0-9]{2})-([0-9]{2}:[0-9]{2})$`)

// CheckAccess refuses hours that cannot be read: any-time, or stretches of the
// week parted by commas, such as "mon-fri 08:00-18:00, sat 09:00-12:00". Empty
// is unknown.
func CheckAccess(field, text string) error {
	if text == "" || text == AnyTime {
		return nil
	}
	for stretch := range strings.SplitSeq(text, ", ") {
		if !isStretch(stretch) {
			return &FieldError{Field: field, Problem: fmt.Sprintf(
				"%q is not allowed: write %s, or days and hours such as mon-fri 08:00-18:00, several parted by a comma and a blank", text, AnyTime)}
		}
	}
	return nil
}

// isStretch reads days of a week and hours of a day, which end at 24:00 at the
// latest.
func isStretch(text string) bool {
	m := openHours.FindStringSubmatch(text)
	if m == nil {
		return false
	}
	first, last := slices.Index(weekdays, m[1]), slices.Index(weekdays, m[2])
	if m[2] == "" {
		last = first
	}
	return first >= 0 && last >= first && isHour(m[3]) && isHour(m[4]) && m[3] < m[4]
}

// isHour says that HH:MM is 00:00 to 24:00; as text they sort as they do in
// time.
func isHour(text string) bool { return text <= "24:00" && text[3:] < "60" }
