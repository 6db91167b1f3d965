package deed

import (
	"errors"
	"fmt"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// LotPromised records vials that are kept for somebody else. They do not count
// while the promise runs. It is numbered here.
func LotPromised(id inventory.ID, p inventory.Promise) Deed {
	return alter(WordsLotPromised, lot(id), func(_ *compliance.Snapshot, l *inventory.Lot) error {
		if p.To == "" {
			return errors.New("say to whom they are promised")
		}
		p.Number = len(l.Promises) + 1
		l.Promises = with(l.Promises, p)
		return nil
	})
}

// running lists the promises of a lot that nobody has ended.
func running(l *inventory.Lot) string {
	var all []string
	for _, p := range l.Promises {
		if p.Ended.IsZero() {
			all = append(all, fmt.Sprintf("%d (%d to %s)", p.Number, p.Vials, p.To))
		}
	}
	return strings.Join(all, ", ")
}

// LotPromiseEnded ends a promise from a day on; 0 is the only one that runs.
func LotPromiseEnded(id inventory.ID, number int, on day.Day) Deed {
	return alter(WordsLotPromiseEnded, lot(id), func(_ *compliance.Snapshot, l *inventory.Lot) error {
		at := -1
		for i, p := range l.Promises {
			switch {
			case !p.Ended.IsZero() || number != 0 && p.Number != number:
			case at >= 0:
				return errors.New("several promises of it run: say which by --promise: " + running(l))
			default:
				at = i
			}
		}
		if at < 0 {
			return errors.New("no such promise of it runs")
		}
		p := l.Promises[at]
		if !p.Until.IsZero() && p.Until < on {
			return fmt.Errorf("promise %d ended by itself on %s", p.Number, p.Until)
		}
		p.Ended = on
		l.Promises = append(with(l.Promises[:at], p), l.Promises[at+1:]...)
		return before(on, "it was promised", p.From)
	})
}
