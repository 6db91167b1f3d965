package compliance

import (
	"slices"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// Fallen lists the grants that hold by the records before a change and do not
// by those after it: a correction of what was long ago takes back what was
// built on it. What a person decided, a set-back or a suspension, takes no
// grant back in this sense.
func Fallen(before, after *View) (fallen []ladder.MadeAct) {
	for site := range before.Sites.All() {
		was, is := before.Standings(site.ID), after.Standings(site.ID)
		if was == nil || is == nil {
			continue
		}
		for _, act := range was.Fallen(is) {
			if !slices.ContainsFunc(fallen, func(a ladder.MadeAct) bool { return a.ID == act.ID }) {
				fallen = append(fallen, act)
			}
		}
	}
	return fallen
}

// MovesLadder says whether a record is one from which standings on a ladder
// follow.
func MovesLadder(ref inventory.Ref) bool {
	switch ref.Kind {
	case inventory.KindSession, inventory.KindAuthorisation, inventory.KindCredit, inventory.KindPlacement,
		inventory.KindActivity, inventory.KindPerson:
		return true
	}
	return false
}
