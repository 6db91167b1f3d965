package inventory

import "slices"

// Certainty says how well a cited figure or rule was checked. It travels with
// the figure to every page and mail that shows it.
type Certainty string

// The degrees of certainty.
const (
	Read      Certainty = "R"  // read in the text of the source itself
	Secondary Certainty = "R2" // read in another text that quotes the source
	Memory    Certainty = "M"  // from memory: confirm before use
	Derived   Certainty = "D"  // computed from a figure that was read
)

// Check refuses a degree that does not exist.
func (c Certainty) Check() error {
	return oneOf("certainty", c, "", Read, Secondary, Memory, Derived)
}

// Words says the degree in words.
func (c Certainty) Words() string {
	switch c {
	case Read:
		return "read in the source"
	case Secondary:
		return "read in a secondary source"
	case Derived:
		return "derived from a source"
	case Memory:
		return "from memory, unconfirmed"
	default:
		return "unconfirmed"
	}
}

func oneOf[T ~string](field string, v T, allowed ...T) error {
	if slices.Contains(allowed, v) {
		return nil
	}
	return &FieldError{Field: field, Problem: notAllowed(v, allowed)}
}
