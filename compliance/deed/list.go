package deed

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// ListKept records that somebody keeps a list from now on, since when nothing
// is missing in it, and how long a confirmation lasts.
func ListKept(f compliance.Feed) Deed { return put(WordsListKept, f) }

// ListConfirmed records that somebody looked through a list, and that it is
// complete to that day.
func ListConfirmed(feed inventory.ID, on day.Day) Deed {
	ref := inventory.Ref{Kind: inventory.KindFeed, ID: feed}
	return alter(WordsListConfirmed, ref, func(_ *compliance.Snapshot, f *compliance.Feed) error {
		if err := before(on, "the list begins", f.Complete); err != nil {
			return err
		}
		n := len(f.Confirmed)
		if n > 0 && f.Confirmed[n-1] >= on {
			return fmt.Errorf("it is confirmed to %s already", f.Confirmed[n-1])
		}
		f.Confirmed = with(f.Confirmed, on)
		return nil
	})
}
