package deed

import (
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Vials is how many vials of a lot moved, at a place, on a day.
type Vials struct {
	Place inventory.ID
	Count int // at least 1
	On    day.Day
	Note  string
}

func (v Vials) check() error {
	if v.Count < 1 {
		return errors.New("vials must be at least 1")
	}
	return nil
}

// LotReceived records vials that came. Of a lot that is recorded the label
// must agree with what is known of it; what is not known of either is taken
// from the other.
func LotReceived(l inventory.Lot, v Vials) Deed { return of(WordsLotReceived, received{l, v}) }

// received makes the lot, or adds to it.
type received struct {
	lot   inventory.Lot
	vials Vials
}

// Touches names the lot.
func (r received) Touches() []inventory.Ref { return []inventory.Ref{r.lot.Ref()} }

// Apply puts the lot.
func (r received) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	refuse := func(err error) (*compliance.Snapshot, error) {
		return nil, &compliance.Refusal{Subject: r.lot.Ref(), Name: r.lot.Number, Err: err}
	}
	if err := r.vials.check(); err != nil {
		return refuse(err)
	}
	l := r.lot
	if known, ok := s.Lots.Get(r.lot.ID); ok {
		l = *known
		switch {
		case r.lot.Labelled.IsZero():
		case l.Labelled.IsZero():
			l.Labelled, l.MonthOnly = r.lot.Labelled, r.lot.MonthOnly
		case l.Labelled != r.lot.Labelled:
			return refuse(fmt.Errorf("its label is recorded as %s, not %s: look at the vials, and correct whichever is wrong", l.Labelled, r.lot.Labelled))
		}
	}
	if err := move(&l, inventory.Received, r.vials, 1); err != nil {
		return refuse(err)
	}
	return compliance.Record(l).Apply(s)
}

// move adds a movement where it belongs by its day, so that what is told late
// is in order too.
func move(l *inventory.Lot, why inventory.Reason, v Vials, sign int) error {
	if err := v.check(); err != nil {
		return err
	}
	m := inventory.Movement{On: v.On, Place: v.Place, Vials: sign * v.Count, Reason: why, Note: v.Note}
	at := len(l.Movements)
	for at > 0 && l.Movements[at-1].On > m.On {
		at--
	}
	moves := make([]inventory.Movement, 0, len(l.Movements)+1)
	moves = append(append(append(moves, l.Movements[:at]...), m), l.Movements[at:]...)
	l.Movements = moves
	return nil
}

// taken is a deed that takes vials away.
func taken(words string, id inventory.ID, why inventory.Reason, v Vials) Deed {
	return alter(words, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		if err := enough(s, l, v); err != nil {
			return err
		}
		return move(l, why, v, -1)
	})
}

// enough refuses to take more than there are.
func enough(s *compliance.Snapshot, l *inventory.Lot, v Vials) error {
	if there := VialsAt(l, v.Place, v.On); there < v.Count {
		return fmt.Errorf("there are %d of it at %s on %s: %d cannot go; if there are more, record a count first",
			there, s.NameOf(inventory.Ref{Kind: inventory.KindPlace, ID: v.Place}), v.On, v.Count)
	}
	return nil
}

// VialsAt gives how many vials of a lot are at a place at a day's end by the
// records.
func VialsAt(l *inventory.Lot, place inventory.ID, on day.Day) int {
	return l.InPlaces(func(p inventory.ID) bool { return p == place }).At(on)
}

// LotUsed records vials that were given to a patient, or opened for one.
func LotUsed(id inventory.ID, v Vials) Deed { return taken(WordsLotUsed, id, inventory.Used, v) }

// LotDiscarded records vials that were thrown away.
func LotDiscarded(id inventory.ID, v Vials) Deed {
	return taken(WordsLotDiscarded, id, inventory.Discarded, v)
}

// LotLent records vials that another house or hospital has. They do not count
// until they are back; lending is never forbidden.
func LotLent(id inventory.ID, v Vials) Deed { return taken(WordsLotLent, id, inventory.LentOut, v) }

// LotReturned records vials that came back. How they were kept meanwhile is
// not known by that: put them on hold until somebody has checked.
func LotReturned(id inventory.ID, v Vials) Deed {
	return alter(WordsLotReturned, lot(id), func(_ *compliance.Snapshot, l *inventory.Lot) error {
		if out := -balance(l, inventory.LentOut, inventory.Returned); out < v.Count {
			return fmt.Errorf("%d vials of it are lent: %d cannot come back; more than that is a receipt", out, v.Count)
		}
		return move(l, inventory.Returned, v, 1)
	})
}

// balance sums the movements for some reasons.
func balance(l *inventory.Lot, reasons ...inventory.Reason) (n int) {
	for _, m := range l.Movements {
		for _, r := range reasons {
			if m.Reason == r {
				n += m.Vials
			}
		}
	}
	return n
}

// LotMoved records vials that are at another place now.
func LotMoved(id inventory.ID, from Vials, to inventory.ID) Deed {
	return alter(WordsLotMoved, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		if to == from.Place {
			return errors.New("both places are the same")
		}
		if err := enough(s, l, from); err != nil {
			return err
		}
		if err := move(l, inventory.Moved, from, -1); err != nil {
			return err
		}
		from.Place = to
		return move(l, inventory.Moved, from, 1)
	})
}

// LotHeld takes a lot out of use from a day on: a recall, a warm fridge.
func LotHeld(id inventory.ID, from day.Day, why string) Deed {
	return alter(WordsLotHeld, lot(id), func(_ *compliance.Snapshot, l *inventory.Lot) error {
		if why == "" {
			return errors.New("say why it is held")
		}
		l.Holds = with(l.Holds, inventory.Hold{From: from, Why: why})
		return nil
	})
}

// LotReleased lets a lot be used again from a day on, once for each hold.
func LotReleased(id inventory.ID, from day.Day) Deed {
	return alter(WordsLotReleased, lot(id), func(_ *compliance.Snapshot, l *inventory.Lot) error {
		for i, h := range l.Holds {
			if h.Released.IsZero() {
				h.Released = from
				l.Holds = append(with(l.Holds[:i], h), l.Holds[i+1:]...)
				return before(from, "the hold began", h.From)
			}
		}
		return errors.New("it is not held")
	})
}
