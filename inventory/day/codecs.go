package day

import (
	"database/sql/driver"
	"fmt"
	"regexp"
	"time"
)

// MarshalText writes YYYY-MM-DD, or nothing for an unset day. JSON and YAML
// use it. A computed day outside First..Last is written as well, but cannot
// be read back.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what Parse reads, and empty text as an unset day.
func (d *Day) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = 0
		return nil
	}
	parsed, err := Parse(string(text))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}

// Value gives a database the text YYYY-MM-DD, or NULL for an unset day. It
// refuses days outside First..Last, which would sort wrongly as text.
func (d Day) Value() (driver.Value, error) {
	switch {
	case d.IsZero():
		return nil, nil
	case d < First || d > Last:
		return nil, fmt.Errorf("the day %s cannot be stored: years 1900 to 9999 are allowed", d)
	}
	return d.String(), nil
}

// Scan reads a database's text, its date (an instant at midnight UTC) or NULL,
// which is an unset day.
func (d *Day) Scan(src any) error {
	text, err := scanned(src)
	if err != nil {
		return fmt.Errorf("read a day from the database: %w", err)
	}
	if err := d.UnmarshalText([]byte(text)); err != nil {
		return fmt.Errorf("read a day from the database: %w", err)
	}
	return nil
}

// ParseEnd reads an end as YYYY-MM-DD (the last good day), "never" or
// "unknown". Empty text is unknown too.
func ParseEnd(s string) (End, error) {
	switch s {
	case "", "unknown":
		return End{}, nil
	case "never":
		return Forever(), nil
	}
	last, err := Parse(s)
	if err != nil {
		return End{}, fmt.Errorf("%w; or write \"never\" or \"unknown\"", err)
	}
	return Until(last), nil
}

// MarshalText writes YYYY-MM-DD, "never" or "unknown".
func (e End) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// UnmarshalText reads what ParseEnd reads.
func (e *End) UnmarshalText(text []byte) error {
	parsed, err := ParseEnd(string(text))
	if err != nil {
		return err
	}
	*e = parsed
	return nil
}

// Value gives a database the text YYYY-MM-DD, "never" or "unknown".
func (e End) Value() (driver.Value, error) {
	if last, known := e.Known(); known {
		return last.Value()
	}
	return e.String(), nil
}

// Scan reads a database's text, its date (an instant at midnight UTC) or NULL,
// which is unknown.
func (e *End) Scan(src any) error {
	text, err := scanned(src)
	if err != nil {
		return fmt.Errorf("read an end from the database: %w", err)
	}
	if err := e.UnmarshalText([]byte(text)); err != nil {
		return fmt.Errorf("read an end from the database: %w", err)
	}
	return nil
}

// scanned turns what a driver hands over into text. Drivers that know a date
// type give an instant; any but midnight UTC would mean that a zone has crept
// in, and with it a date that is wrong by one.
func scanned(src any) (string, error) {
	switch v := src.(type) {
	case nil:
		return "", nil
	case string:
		return v, nil
	case []byte:
		return string(v), nil
	case time.Time:
		utc := v.UTC()
		if !utc.Equal(utc.Truncate(24 * time.Hour)) {
			return "", fmt.Errorf("%s is not midnight UTC: a date column is needed", v.Format(time.RFC3339Nano))
		}
		return utc.Format(time.DateOnly), nil
	default:
		return "", fmt.Errorf("%T is not text, a date or NULL", src)
	}
}

var (
	yearMonth = regexp.MustCompile(`^([0-9]{4})-([0-9]{2})$`)
	monthYear = regexp.MustCompile(`^([0-9]{2})/([0-9]{4})$`)
)

// ParseLabelEnd reads the expiry on a label: YYYY-MM-DD, or YYYY-MM or MM/YYYY
// without a day. Month and year alone mean the last day of that month (USP
// chapter 7, labelling; secondary source); monthOnly says that this was so,
// because a page should show what the label shows.
func ParseLabelEnd(s string) (last Day, monthOnly bool, err error) {
	text := s
	if m := yearMonth.FindStringSubmatch(s); m != nil {
		text, monthOnly = m[1]+"-"+m[2]+"-01", true
	} else if m := monthYear.FindStringSubmatch(s); m != nil {
		text, monthOnly = m[2]+"-"+m[1]+"-01", true
	}
	d, err := Parse(text)
	if err != nil {
		return 0, false, fmt.Errorf("%q is not an expiry date: write YYYY-MM-DD, or YYYY-MM or MM/YYYY if the label has no day, with years 1900 to 9999", s)
	}
	if monthOnly {
		d = d.EndOfMonth()
	}
	return d, monthOnly, nil
}
