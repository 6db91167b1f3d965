package inventory

import "antidotary/inventory/day"

// Dated is an attribute's value from a day on. Whatever the answer for a past
// day depends on (jurisdiction, roles, vials per course) is kept as a list of
// these, so that yesterday's answer does not change when today's facts do.
type Dated[T any] struct {
	From  day.Day `json:"from,omitzero"` // unset: since ever
	Value T       `json:"value"`
}

// LineOf gives the line of a dated attribute; before the first entry it has
// the given value.
func LineOf[T comparable](before T, list []Dated[T]) day.Line[T] {
	changes := make([]day.Change[T], 0, len(list))
	for _, v := range list {
		if v.From.IsZero() {
			before = v.Value
			continue
		}
		changes = append(changes, day.Change[T]{On: v.From, To: v.Value})
	}
	return day.Steps(before, changes...)
}

// Always is the list of an attribute that never changed.
func Always[T any](v T) []Dated[T] { return []Dated[T]{{Value: v}} }
