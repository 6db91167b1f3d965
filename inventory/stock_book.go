package inventory

import (
	"fmt"
	"slices"

	"antidotary/inventory/day"
)

// Reason says why vials moved.
type Reason string

// The reasons for a movement.
const (
	Received         Reason = "received"
	Counted          Reason = "count-adjusted"
	Used             Reason = "used" // given, or opened, or reconstituted: each is used
	Discarded        Reason = "discarded"
	LentOut          Reason = "lent"
	Returned         Reason = "returned"
	Moved            Reason = "moved"             // between two places
	ConditionChanged Reason = "condition-changed" // between two conditions at one place
)

// Condition says what is known of the state of vials. Only what is checked is
// counted on.
type Condition string

// The conditions. The empty one is unknown, and counts as unchecked does.
const (
	Checked   Condition = "checked"   // somebody looked: seal whole, clear, not cracked, never frozen
	Unchecked Condition = "unchecked" // came, or came back, and nobody has looked yet
	Unfit     Condition = "unfit"     // seal broken, cracked, turbid, frozen
	Reserve   Condition = "reserve"   // past its end, kept for a last resort by policy: never counts
)

// Conditions are all that there are, in the order in which vials are missed
// where a count does not say which are: what is counted on first, so that a
// doubt never leaves more than there may be.
var Conditions = []Condition{Checked, Unchecked, "", Reserve, Unfit}

// String gives the condition's word; "unknown" for the empty one.
func (c Condition) String() string {
	if c == "" {
		return "unknown"
	}
	return string(c)
}

// Account is where vials come from or go to outside of the house's places.
type Account string

// The accounts on the other side of a movement.
const (
	AtSupplier Account = "supplier"
	InPatient  Account = "patient"
	InWaste    Account = "waste"
	AtBorrower Account = "borrower"
	Difference Account = "difference" // of a count: nobody knows where they are, or were
	InHouse    Account = "house"      // another place or condition, by a movement of its own
)

// Against gives the account on the other side of a movement.
func (r Reason) Against() Account {
	switch r {
	case Received:
		return AtSupplier
	case Used:
		return InPatient
	case Discarded:
		return InWaste
	case LentOut, Returned:
		return AtBorrower
	case Moved, ConditionChanged:
		return InHouse
	default:
		return Difference
	}
}

// Against sums what stands on the other sides at the end of a day: negative
// where more came from there than went. With what is in the places it is
// always zero.
func (l Lot) Against(on day.Day) map[Account]int {
	out := make(map[Account]int)
	for _, m := range l.Movements {
		if m.On <= on {
			out[m.Reason.Against()] -= m.Vials
		}
	}
	return out
}

// Places gives each place where the lot ever was, in the order in which it
// came there.
func (l Lot) Places() (all []ID) {
	for _, m := range l.Movements {
		if !slices.Contains(all, m.Place) {
			all = append(all, m.Place)
		}
	}
	return all
}

// There gives the vials of the lot at a place at the end of a day, by
// condition; conditions of which there are none are left out.
func (l Lot) There(place ID, on day.Day) map[Condition]int {
	out := make(map[Condition]int)
	for _, m := range l.Movements {
		if m.Place == place && m.On <= on {
			if out[m.Condition] += m.Vials; out[m.Condition] == 0 {
				delete(out, m.Condition)
			}
		}
	}
	return out
}

// Found is what somebody found of a lot at a place.
type Found struct {
	Vials int // in all
	// By is how many of each condition; nil: nobody said.
	By map[Condition]int
}

// Adjusted gives the movements that make the lot at a place on a day what was
// found. Where nobody said in which condition, what is missing is missing from
// what is counted on first, and what is too much is of the condition given.
func (l Lot) Adjusted(place ID, on day.Day, f Found, surplus Condition) (all []Movement) {
	there := l.There(place, on)
	differ := func(c Condition, by int) {
		if by != 0 {
			all = append(all, Movement{On: on, Place: place, Vials: by, Reason: Counted, Condition: c})
		}
	}
	if f.By != nil {
		for _, c := range Conditions {
			differ(c, f.By[c]-there[c])
		}
		return all
	}
	by := f.Vials
	for _, n := range there {
		by -= n
	}
	if by > 0 {
		differ(surplus, by)
		return all
	}
	for _, c := range Conditions {
		missing := min(-by, there[c])
		differ(c, -missing)
		by += missing
	}
	return all
}

// checkBook refuses a stock book that does not add up.
func (l Lot) checkBook() error {
	type account struct {
		place ID
		of    Condition
	}
	left := make(map[account]int, 1)
	wrong := func(format string, args ...any) error {
		return &FieldError{Field: "movements", Problem: fmt.Sprintf(format, args...)}
	}
	for i, m := range l.Movements {
		if m.On.IsZero() || i > 0 && m.On < l.Movements[i-1].On {
			return wrong("must have days, in ascending order")
		}
		if err := oneOf("movements.reason", m.Reason, Received, Counted, Used, Discarded, LentOut, Returned, Moved, ConditionChanged); err != nil {
			return err
		}
		if err := oneOf("movements.condition", m.Condition, "", Checked, Unchecked, Unfit, Reserve); err != nil {
			return err
		}
		if m.Witness != (ID{}) && m.Witness == m.By {
			return &FieldError{Field: "movements.witness", Problem: "must be somebody else than whoever did it: nobody witnesses himself"}
		}
		if err := Plain("movements.unwitnessed", m.Unwitnessed); err != nil {
			return err
		}
		at := account{m.Place, m.Condition}
		if left[at] += m.Vials; left[at] < 0 {
			return wrong("take more %s vials from a place than are there on %s", m.Condition, m.On)
		}
	}
	if err := l.checkPairs(); err != nil {
		return err
	}
	return l.checkLoans()
}

// checkPairs holds that what leaves one of the house's accounts for another
// arrives there on the same day: a move in the same condition, a change of
// condition at the same place.
func (l Lot) checkPairs() error {
	type pair struct {
		on     day.Day
		reason Reason
		place  ID        // of a change of condition
		of     Condition // of a move
	}
	var sums map[pair]int
	for _, m := range l.Movements {
		p := pair{on: m.On, reason: m.Reason}
		switch m.Reason {
		case Moved:
			p.of = m.Condition
		case ConditionChanged:
			p.place = m.Place
		default:
			continue
		}
		if sums == nil {
			sums = make(map[pair]int)
		}
		sums[p] += m.Vials
	}
	for p, sum := range sums {
		if sum != 0 {
			return &FieldError{Field: "movements", Problem: fmt.Sprintf(
				"of reason %s on %s add up to %d: what leaves one place or condition must come to another on the same day", p.reason, p.on, sum)}
		}
	}
	return nil
}

// Put gives the lot with movements where they belong by their day, after what
// is there of that day, so that what is told late is in order too.
func (l Lot) Put(more ...Movement) Lot {
	all := slices.Concat(l.Movements, more)
	slices.SortStableFunc(all, func(a, b Movement) int { return int(a.On) - int(b.On) })
	l.Movements = all
	return l
}
