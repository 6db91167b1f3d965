package inventory

import "antidotary/inventory/day"

// Assumptions say what a forecast takes for granted. Facts and planned
// burdens always count.
type Assumptions struct {
	Plans   bool // planned gains come true: animals leave, vials arrive
	Routine bool // habitual activities go on: counts, drills, confirmations
}

// Held gives the site at which the animal is held on each day; the zero ID
// where it is not held. siteOf maps an enclosure to its site. A held animal
// whose enclosure is not recorded is at the site Nowhere.
func (a Animal) Held(siteOf func(enclosure ID) ID) day.Line[ID] {
	b := day.NewBuilder(ID{})
	arrived := a.Arrived
	if arrived.IsZero() && len(a.Stays) > 0 { // then it was here at the latest since
		arrived = a.Stays[0].From
	}
	if arrived.IsZero() {
		arrived = day.First
	}
	at := Nowhere
	next := 0
	for next < len(a.Stays) && a.Stays[next].From <= arrived {
		at = siteOf(a.Stays[next].Enclosure)
		next++
	}
	if a.Left != nil && a.Left.On <= arrived { // never here, or here and gone on one day
		return day.Constant(ID{})
	}
	b.Add(arrived, at)
	for ; next < len(a.Stays); next++ {
		if a.Left != nil && a.Stays[next].From >= a.Left.On {
			break
		}
		b.Add(a.Stays[next].From, siteOf(a.Stays[next].Enclosure))
	}
	if a.Left != nil {
		b.Add(a.Left.On, ID{})
	}
	return b.Line()
}

// Nowhere stands for the site of an animal that is held but whose enclosure
// is not recorded.
var Nowhere = ID{15: 1}

// EnclosureOn gives the enclosure in which the animal is on a day, as far as
// its moves are recorded; zero: it is in none, or not held.
func (a Animal) EnclosureOn(on day.Day) (in ID) {
	if a.Left != nil && on >= a.Left.On || on < a.Arrived {
		return ID{}
	}
	for _, s := range a.Stays {
		if s.From <= on {
			in = s.Enclosure
		}
	}
	return in
}
