package compliance

import (
	"fmt"
	"regexp"

	"antidotary/inventory"
)

var word = regexp.MustCompile(`^[a-z0-9]+([-.][a-z0-9]+)*$`)

// CheckClass refuses a word that records and rules could never agree on:
// classes of paper, kinds of activity, requirements and rule ids are
// lower-case words joined by hyphens or dots.
func CheckClass(field, v string) error {
	if word.MatchString(v) && len(v) <= 80 {
		return nil
	}
	return &inventory.FieldError{Field: field, Problem: fmt.Sprintf(
		"%q is not allowed: write lower-case words joined by - or ., such as keeper-licence", v)}
}
