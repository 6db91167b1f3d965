// Package demo makes two fictional houses, so that a newcomer sees the watch
// at work on something that could be true.
//
// The species, the antivenom types, what covers what, and the rules that
// judge them are real and carry their source and certainty; people, places,
// numbers and dates are invented. Dates are relative to a given today, and
// identifiers follow from names, so that a run on one day is always the same.
// The order in which a house is made is the order in which its records refer
// to each other: places, people, animals, stock, papers, deeds.
//
// Most of a house is in order. The rest shows, each once, what the watch is
// for; Cases lists it.
package demo

import (
	"antidotary/compliance"
	"antidotary/inventory/day"
)

// House makes the reptile house on three sites.
func House(today day.Day, holidays *day.Holidays) compliance.Batch {
	b := newBuilder(today, holidays)
	b.places()
	b.people()
	b.species()
	b.animals()
	b.stock()
	b.permits()
	b.deeds()
	return b.batch
}

// Small makes a house of one person with eight snakes and no mail server.
func Small(today day.Day, holidays *day.Holidays) compliance.Batch {
	b := newBuilder(today, holidays)
	b.small()
	return b.batch
}

// Case is something to look at.
type Case struct {
	Subject string // as the command explain takes it
	Why     string
}

// Cases lists what a house shows.
func Cases(house string) []Case {
	if house == "small" {
		return []Case{
			{"Naja kaouthia at Thornbury Lane", "a lot that ends soon: the day by which to order is long before its end"},
			{"Thornbury Lane", "an overdue drill, in a house of one person"},
		}
	}
	return []Case{
		{"WP-102", "a renewal that must be filed before a long weekend"},
		{"WP-105", "a permit that has lapsed, with the animals that stood under it"},
		{"WP-103", "a renewal pending: the old paper continues, by the rule cited"},
		{"WP-104", "a renewal pending that was filed too late: nothing covers it"},
		{"CD-201", "a trade document past its date: void, whatever is pending"},
		{"WP-101", "more animals than the permit allows"},
		{"Ophiophagus hannah at Larkspur House", "a lot that ends drops a species below its course: order long before"},
		{"Atractaspis bibronii at Tamarind Station", "a species for which no antivenom exists, not approved"},
		{"Thelotornis capensis at Larkspur House", "another one, held with the head's approval"},
		{"Micruroides euryxanthus at Larkspur House", "antivenom in the fridge that is stated not to work for it"},
		{"Wren Cottage", "an overdue bite drill"},
		{"Vipera berus at Wren Cottage", "cannot tell: nobody has confirmed the stock list in time"},
		{"Tamarind Station", "a site without a law pack: cannot tell, not in order"},
		{"DWA-302", "a licence that will not be renewed, by decision"},
		{"LH-014", "an animal of unknown origin: whether a rule applies cannot be told"},
	}
}
