package deed

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// PersonJoined records somebody who works in the house.
func PersonJoined(p compliance.Person) Deed { return put(WordsPersonJoined, p) }

// PersonLeft records the first day on which somebody is no longer here; it may
// be known before.
func PersonLeft(id inventory.ID, from day.Day) Deed {
	ref := inventory.Ref{Kind: inventory.KindPerson, ID: id}
	return alter(WordsPersonLeft, ref, func(_ *compliance.Snapshot, p *compliance.Person) error {
		if !p.Leaves.IsZero() {
			return fmt.Errorf("is recorded as leaving on %s: undo that entry to correct it", p.Leaves)
		}
		p.Leaves = from
		return before(from, "the person joined", p.Joined)
	})
}
