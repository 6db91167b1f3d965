package inventory

import (
	"fmt"
	"regexp"
	"strings"
)

// FieldError says which field of a record is wrong, and what is allowed.
type FieldError struct {
	Field   string
	Problem string
}

func (e *FieldError) Error() string { return e.Field + ": " + e.Problem }

func notAllowed[T ~string](v T, allowed []T) string {
	var words []string
	for _, a := range allowed {
		if a != "" {
			words = append(words, string(a))
		}
	}
	return fmt.Sprintf("%q is not allowed: write one of %s", string(v), strings.Join(words, ", "))
}

// required refuses an empty text and one with control characters, which would
// break mails and tables.
func required(field, v string) error {
	if strings.TrimSpace(v) == "" {
		return &FieldError{Field: field, Problem: "is empty: write something"}
	}
	return Plain(field, v)
}

// Plain refuses control characters (tab and newline too) in one line of text.
func Plain(field, v string) error {
	for _, r := range v {
		if r < ' ' || r == 0x7f {
			return &FieldError{Field: field, Problem: fmt.Sprintf("has the control character %U: plain text on one line is allowed", r)}
		}
	}
	return nil
}

var word = regexp.MustCompile(`^[a-z0-9]+([-.][a-z0-9]+)*$`)

// CheckWord refuses a word that records and rules could never agree on:
// classes of paper, kinds of activity, requirements and rule ids are
// lower-case words joined by hyphens or dots.
func CheckWord(field, v string) error {
	if word.MatchString(v) && len(v) <= 80 {
		return nil
	}
	return &FieldError{Field: field, Problem: fmt.Sprintf(
		"%q is not allowed: write lower-case words joined by - or ., such as keeper-licence", v)}
}

func optionalWord(field, v string) error {
	if v == "" {
		return nil
	}
	return CheckWord(field, v)
}

// notNegative refuses numbers below nothing; 0 is unknown.
func notNegative(field string, n int) error {
	if n >= 0 {
		return nil
	}
	return &FieldError{Field: field, Problem: "must not be negative; 0 is unknown"}
}

// RequiredText is required for other packages' records.
func RequiredText(field, v string) error { return required(field, v) }

// OneOf refuses a word that is not in a list.
func OneOf[T ~string](field string, v T, allowed ...T) error { return oneOf(field, v, allowed...) }

func given(field string, id ID) error {
	if id == (ID{}) {
		return &FieldError{Field: field, Problem: "is not set: give the record's identifier"}
	}
	return nil
}

// Given refuses an identifier that is not set.
func Given(field string, id ID) error { return given(field, id) }
