// Package demo makes two fictional houses, so that a newcomer sees the watch
// at work on something that could be true.
//
// The species, the antivenom types, what covers what, and the rules that
// judge them are real and carry their source and certainty; people, places,
// numbers and dates are invented. Dates are relative to a given today, and
// identifiers follow from names, so that a run on one day is always the same.
// The order in which a house is made is the order in which its records refer
// to each other: places, people, species, animals, stock, purchases, papers,
// activities, handling, decisions, lists.
//
// Most of a house is in order. The rest shows, each once, what the watch is
// for, whatever the day on which it runs; Cases lists it.
package demo

import (
	"antidotary/compliance"
	"antidotary/inventory/day"
)

// House makes the reptile house on three sites. Holidays say where the next
// long weekend is; a set that does not reach that far makes it a plain one.
func House(today day.Day, holidays *day.Holidays) compliance.Batch {
	b := newBuilder(today, holidays)
	b.places()
	b.people()
	b.species()
	b.animals()
	b.stock()
	b.purchases()
	b.permits()
	b.activities()
	b.handling()
	b.decisions()
	b.lists()
	return b.batch
}

// Small makes a house of one person with eight snakes and no mail server.
func Small(today day.Day, holidays *day.Holidays) compliance.Batch {
	b := newBuilder(today, holidays)
	b.small()
	return b.batch
}
