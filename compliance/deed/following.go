package deed

import (
	"antidotary/compliance"
	"antidotary/inventory"
)

// following puts a record that must follow from the records as they are when
// it is made.
type following[T inventory.Record] struct {
	rec     T
	follows func(*compliance.Snapshot) error
}

// Touches names the record.
func (f following[T]) Touches() []inventory.Ref { return []inventory.Ref{f.rec.Ref()} }

// Apply refuses what does not follow, and puts the record.
func (f following[T]) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	after, err := compliance.Record(f.rec).Apply(s)
	if err != nil {
		return nil, err
	}
	if err := f.follows(s); err != nil {
		return nil, &compliance.Refusal{Subject: f.rec.Ref(), Name: f.rec.Name(), Err: err}
	}
	return after, nil
}
