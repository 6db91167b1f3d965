package deed

import (
	"cmp"
	"fmt"
	"slices"

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

// PersonAway records that somebody is not at work from a day to a last day;
// where that is unset, it is not known when the person is back. Said again
// with the same first day it tells the last one. Why is not asked.
func PersonAway(id inventory.ID, away compliance.Absence) Deed {
	return alter(WordsPersonAway, person(id), func(_ *compliance.Snapshot, p *compliance.Person) error {
		if err := before(away.From, "the person joined", p.Joined); err != nil {
			return err
		}
		p.Away = slices.Clone(p.Away)
		for i := range p.Away {
			switch known := &p.Away[i]; {
			case known.From == away.From && known.Last.IsZero() && !away.Last.IsZero():
				known.Last = away.Last
				return nil
			case known.Last.IsZero() && known.From < away.From:
				return fmt.Errorf("is away since %s, and not known to be back: record the last day first, with --from %s --last", known.From, known.From)
			case known.From <= away.From && away.From <= known.Last || known.From == away.From:
				return fmt.Errorf("is recorded as away from %s already: undo that entry to correct it", known.From)
			}
		}
		p.Away = append(p.Away, away)
		slices.SortFunc(p.Away, func(a, b compliance.Absence) int { return cmp.Compare(a.From, b.From) })
		return nil
	})
}
