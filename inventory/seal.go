package inventory

import "antidotary/inventory/day"

// Seal is a numbered seal on the box or door of a place. It is never
// corrected: one that is found to be another is kept as found, in the count or
// the check that found it, until somebody records what happened. Who set,
// checked or broke it, and who watched, is in an activity of that day.
type Seal struct {
	Number string  `json:"number"`
	From   day.Day `json:"from"`
	Broken day.Day `json:"broken,omitzero"` // unset: whole, as far as anybody knows
	Why    string  `json:"why,omitempty"`   // it was broken
}

// Sealed gives the seal that a place should have on a day; nil for none.
func (p Place) Sealed(on day.Day) *Seal {
	for i := len(p.Seals) - 1; i >= 0; i-- {
		if s := &p.Seals[i]; s.From <= on && (s.Broken.IsZero() || on < s.Broken) {
			return s
		}
	}
	return nil
}

// checkSeals refuses two seals at once: the second box is another place.
func (p Place) checkSeals() error {
	for i, s := range p.Seals {
		if err := required("seals.number", s.Number); err != nil {
			return err
		}
		if s.From.IsZero() || !s.Broken.IsZero() && s.Broken < s.From {
			return &FieldError{Field: "seals", Problem: "must have a first day, and not be broken before it"}
		}
		if i > 0 && (p.Seals[i-1].Broken.IsZero() || s.From < p.Seals[i-1].Broken) {
			return &FieldError{Field: "seals", Problem: "must follow one another: seal " + p.Seals[i-1].Number + " is whole when " + s.Number + " is set"}
		}
		if !s.Broken.IsZero() {
			if err := required("seals.why", s.Why); err != nil {
				return err
			}
		}
	}
	return nil
}
