package deed

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

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
	// Of is their condition; nil: nobody said.
	Of *inventory.Condition
	Watched
}

func (v Vials) check() error {
	if v.Count < 1 {
		return errors.New("vials must be at least 1")
	}
	return nil
}

// movement is so many of the vials in one condition; negative ones leave.
func (v Vials) movement(why inventory.Reason, of inventory.Condition, vials int) inventory.Movement {
	return inventory.Movement{On: v.On, Place: v.Place, Vials: vials, Reason: why, Condition: of, Note: v.Note,
		By: v.By, Witness: v.Witness, Unwitnessed: v.Unwitnessed}
}

// arriving is the condition of vials that come: nobody has looked at them,
// unless somebody says so.
func (v Vials) arriving() inventory.Condition {
	if v.Of == nil {
		return inventory.Unchecked
	}
	return *v.Of
}

// LotReceived records vials that came. Of a lot that is recorded the label
// must agree with what is known of it; what is not known of either is taken
// from the other. They are unchecked unless their condition is said.
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
	l = l.Put(r.vials.movement(inventory.Received, r.vials.arriving(), r.vials.Count))
	return compliance.Record(l).Apply(s)
}

// share is vials of one condition.
type share struct {
	of    inventory.Condition
	vials int
}

// drawn says of which conditions vials are taken: of the one that is said; of
// the only one that there is; of all, where all go; or in a given order. Where
// it cannot be told it refuses, and says what there is.
func drawn(s *compliance.Snapshot, l *inventory.Lot, v Vials, order ...inventory.Condition) ([]share, error) {
	if err := v.check(); err != nil {
		return nil, err
	}
	there := l.There(v.Place, v.On)
	all := VialsAt(l, v.Place, v.On)
	at := s.NameOf(inventory.Ref{Kind: inventory.KindPlace, ID: v.Place})
	if v.Of != nil {
		if n := there[*v.Of]; n < v.Count {
			return nil, fmt.Errorf("there are %d %s of it at %s on %s: %d cannot go; if there are more, record a count first", n, *v.Of, at, v.On, v.Count)
		}
		return []share{{*v.Of, v.Count}}, nil
	}
	if all < v.Count {
		return nil, fmt.Errorf("there are %d of it at %s on %s: %d cannot go; if there are more, record a count first", all, at, v.On, v.Count)
	}
	if len(order) == 0 {
		if order = inventory.Conditions; len(there) > 1 && all > v.Count {
			return nil, fmt.Errorf("there are %s of it at %s on %s: say which by --condition", Conditions(there), at, v.On)
		}
	}
	var out []share
	left := v.Count
	for _, c := range order {
		if n := min(left, there[c]); n > 0 {
			out = append(out, share{c, n})
			left -= n
		}
	}
	if left > 0 {
		return nil, fmt.Errorf("there are %s of it at %s on %s: %d cannot go so; say which by --condition", Conditions(there), at, v.On, v.Count)
	}
	return out, nil
}

// Conditions says how many vials are in which condition: "8 checked and 2
// unfit".
func Conditions(there map[inventory.Condition]int) string {
	var all []string
	for _, c := range inventory.Conditions {
		if n := there[c]; n != 0 {
			all = append(all, fmt.Sprintf("%d %s", n, c))
		}
	}
	switch n := len(all); n {
	case 0:
		return "none"
	case 1:
		return all[0]
	default:
		return strings.Join(all[:n-1], ", ") + " and " + all[n-1]
	}
}

// taken takes vials away for good or for a while.
func taken(s *compliance.Snapshot, l *inventory.Lot, why inventory.Reason, v Vials, loan int, order ...inventory.Condition) error {
	shares, err := drawn(s, l, v, order...)
	if err != nil {
		return err
	}
	for _, of := range shares {
		m := v.movement(why, of.of, -of.vials)
		m.Loan = loan
		*l = l.Put(m)
	}
	return nil
}

// VialsAt gives how many vials of a lot are at a place at a day's end by the
// records, whatever their condition.
func VialsAt(l *inventory.Lot, place inventory.ID, on day.Day) (n int) {
	for _, vials := range l.There(place, on) {
		n += vials
	}
	return n
}

// LotUsed records vials that were given to a patient, or opened or made up for
// one. Nothing holds it up: where nobody says which vials it was, those that
// count best are taken to be gone.
func LotUsed(id inventory.ID, v Vials) Deed {
	return alter(WordsLotUsed, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		return taken(s, l, inventory.Used, v, 0, inventory.Conditions...)
	})
}

// LotDiscarded records vials that were thrown away, before a witness.
func LotDiscarded(id inventory.ID, v Vials) Deed {
	return alter(WordsLotDiscarded, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		if err := v.Watched.check(s, siteOf(s, v.Place), v.On); err != nil {
			return err
		}
		return taken(s, l, inventory.Discarded, v, 0)
	})
}

// LotMoved records vials that are at another place now, in the condition in
// which they were. A hold of the place that they left goes with them.
func LotMoved(id inventory.ID, from Vials, to inventory.ID) Deed {
	return alter(WordsLotMoved, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		if to == from.Place {
			return errors.New("both places are the same")
		}
		shares, err := drawn(s, l, from)
		if err != nil {
			return err
		}
		there := from
		there.Place = to
		for _, of := range shares {
			*l = l.Put(from.movement(inventory.Moved, of.of, -of.vials), there.movement(inventory.Moved, of.of, of.vials))
		}
		*l = followed(*l)
		return nil
	})
}

// byHand is a deed that puts vials into another condition.
func byHand(words string, id inventory.ID, v Vials, to inventory.Condition, from ...inventory.Condition) Deed {
	return alter(words, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		if v.Of != nil && (*v.Of == to || *v.Of == inventory.Reserve) {
			return fmt.Errorf("what is %s cannot become %s: if it was a mistake, undo the entry that says so", *v.Of, to)
		}
		shares, err := drawn(s, l, v, from...)
		if err != nil {
			return err
		}
		for _, of := range shares {
			*l = l.Put(v.movement(inventory.ConditionChanged, of.of, -of.vials), v.movement(inventory.ConditionChanged, to, of.vials))
		}
		return nil
	})
}

// LotChecked records that somebody looked at vials: seal whole, clear, not
// cracked. Those that nobody had looked at are taken to be meant.
func LotChecked(id inventory.ID, v Vials) Deed {
	return byHand(WordsLotChecked, id, v, inventory.Checked, inventory.Unchecked, "")
}

// LotUnfit records vials that must not be used: seal broken, cracked, turbid,
// frozen.
func LotUnfit(id inventory.ID, v Vials) Deed {
	return byHand(WordsLotUnfit, id, v, inventory.Unfit, inventory.Checked, inventory.Unchecked, "")
}

// LotReserved records vials past their end that the house keeps for a last
// resort. They never count again.
func LotReserved(id inventory.ID, v Vials) Deed {
	return byHand(WordsLotReserved, id, v, inventory.Reserve, inventory.Checked, inventory.Unchecked, "")
}

// LotHeld takes a lot out of use from a day on: all of it (a recall) where no
// place is given, or what is at one place (a warm fridge). What left that place
// since is held where it went.
func LotHeld(id inventory.ID, from day.Day, why string, place inventory.ID) Deed {
	return alter(WordsLotHeld, lot(id), func(_ *compliance.Snapshot, l *inventory.Lot) error {
		if why == "" {
			return errors.New("say why it is held")
		}
		l.Holds = with(l.Holds, inventory.Hold{From: from, Why: why, Place: place})
		*l = followed(*l)
		return nil
	})
}

// followed gives the lot with each hold of a place wherever vials went from
// there while it counted. Vials of one lot in one place cannot be told apart,
// so that all of them are held.
func followed(l inventory.Lot) inventory.Lot {
	for i := 0; i < len(l.Holds); i++ { // those that are added are followed too
		h := l.Holds[i]
		if h.Place == (inventory.ID{}) {
			continue
		}
		for _, m := range l.Movements {
			if m.Reason != inventory.Moved || m.Place != h.Place || m.Vials >= 0 || !h.On(m.On) {
				continue
			}
			for _, came := range l.Movements {
				next := inventory.Hold{From: m.On, Released: h.Released, Place: came.Place, Why: h.Why}
				if came.Reason == inventory.Moved && came.On == m.On && came.Vials > 0 && came.Place != h.Place && !heldAs(l, next) {
					l.Holds = with(l.Holds, next)
				}
			}
		}
	}
	return l
}

// heldAs says whether a place was put on that hold by that day, whatever
// became of it.
func heldAs(l inventory.Lot, next inventory.Hold) bool {
	return slices.ContainsFunc(l.Holds, func(h inventory.Hold) bool {
		return h.Place == next.Place && h.Why == next.Why && (h.From == next.From || h.On(next.From))
	})
}

// LotReleased lets a lot be used again from a day on, once for each hold. Of
// says which hold is meant: that of a place, or of the whole lot by the zero
// place; nil: nobody said, and where holds of several kinds count it refuses.
func LotReleased(id inventory.ID, from day.Day, of *inventory.ID) Deed {
	return alter(WordsLotReleased, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		at, places := -1, make(map[inventory.ID]string)
		for i, h := range l.Holds {
			if !h.Released.IsZero() || of != nil && h.Place != *of {
				continue
			}
			if at < 0 {
				at = i
			}
			places[h.Place] = "the whole lot"
			if h.Place != (inventory.ID{}) {
				places[h.Place] = "what is at " + s.NameOf(inventory.Ref{Kind: inventory.KindPlace, ID: h.Place})
			}
		}
		switch {
		case at < 0 && of != nil:
			return errors.New("it has no such hold: leave out --place and --whole to see which it has")
		case at < 0:
			return errors.New("it is not held")
		case len(places) > 1:
			return fmt.Errorf("%s are held: say which is released, by --place or --whole", strings.Join(slices.Sorted(maps.Values(places)), ", "))
		}
		h := l.Holds[at]
		h.Released = from
		l.Holds = append(with(l.Holds[:at], h), l.Holds[at+1:]...)
		return before(from, "the hold began", h.From)
	})
}
