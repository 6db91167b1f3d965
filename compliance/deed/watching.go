package deed

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// WatchingPostponed declares that a subject is not watched yet.
func WatchingPostponed(n compliance.NotWatched) Deed { return put(WordsWatchingPostponed, n) }

// WatchingBegun ends declarations that something is not watched yet: watched
// from a day on. A declaration that began that very day counts to its end.
func WatchingBegun(declared []inventory.ID, from day.Day) Deed {
	d := of(WordsWatchingBegun)
	for _, id := range declared {
		ref := inventory.Ref{Kind: inventory.KindNotWatched, ID: id}
		d.Batch = append(d.Batch, compliance.Alter[compliance.NotWatched]{Of: ref, How: func(_ *compliance.Snapshot, n *compliance.NotWatched) error {
			if n.Last < from {
				return fmt.Errorf("it is watched again since %s", n.Last+1)
			}
			n.Last = max(n.From, from-1)
			return nil
		}})
	}
	return d
}
