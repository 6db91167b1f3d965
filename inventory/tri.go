package inventory

import "fmt"

// Tri is a fact that may be unknown. Unknown is the zero value, so that a
// field nobody filled in never reads as a yes or a no.
type Tri uint8

// The values of a Tri.
const (
	Unknown Tri = iota
	No
	Yes
)

// String gives "unknown", "no" or "yes".
func (t Tri) String() string { return [...]string{"unknown", "no", "yes"}[t] }

// MarshalText writes the value as String does.
func (t Tri) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads "unknown", "no" or "yes"; empty text is unknown.
func (t *Tri) UnmarshalText(text []byte) error {
	switch string(text) {
	case "", "unknown":
		*t = Unknown
	case "no":
		*t = No
	case "yes":
		*t = Yes
	default:
		return fmt.Errorf("%q is not allowed: write yes, no or unknown", text)
	}
	return nil
}

// Bool gives the Tri of something known.
func Bool(b bool) Tri {
	if b {
		return Yes
	}
	return No
}

// Or is yes where either is, no where both are, else unknown.
func (t Tri) Or(o Tri) Tri {
	switch {
	case t == Yes || o == Yes:
		return Yes
	case t == No && o == No:
		return No
	default:
		return Unknown
	}
}

// And is no where either is, yes where both are, else unknown.
func (t Tri) And(o Tri) Tri {
	switch {
	case t == No || o == No:
		return No
	case t == Yes && o == Yes:
		return Yes
	default:
		return Unknown
	}
}

// Not is no of yes, yes of no, and unknown of unknown.
func (t Tri) Not() Tri { return [...]Tri{Unknown: Unknown, No: Yes, Yes: No}[t] }
