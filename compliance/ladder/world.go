package ladder

import "antidotary/inventory"

// World is a way of reading what is not known.
type World uint8

// Worst reads everything unknown as it would be at its worst for whoever
// wants to open a door; Best as it would be at its best.
const (
	Worst World = iota
	Best
)

// reading reads facts in one world, and remembers whether anything unknown was
// read: where nothing was, both worlds are the same.
type reading struct {
	World
	doubted bool
}

// read gives what something unknown counts as.
func (r *reading) unknown(is bool) bool {
	if !r.doubted {
		r.doubted = true
	}
	return is
}

// benefit says whether something that helps counts as so.
func (r *reading) benefit(t inventory.Tri) bool {
	if t == inventory.Unknown {
		return r.unknown(r.World == Best)
	}
	return t == inventory.Yes
}

// adverse says whether something that harms counts as so.
func (r *reading) adverse(t inventory.Tri) bool {
	if t == inventory.Unknown {
		return r.unknown(r.World == Worst)
	}
	return t == inventory.Yes
}

// needed gives the stage that a place asks for.
func (r *reading) needed(at Place) int {
	if at.Least != at.Most && r.unknown(r.World == Best) {
		return at.Least
	}
	return at.Most
}
