package demo

import (
	"antidotary/compliance"
	"antidotary/inventory"
)

// The three sites: one under the federal law of the United States, one in
// England, and one on an island for which no law pack exists.
const (
	larkspur = "Larkspur House"
	wren     = "Wren Cottage"
	tamarind = "Tamarind Station"
)

const (
	larkspurFridge = "Larkspur fridge"
	wrenFridge     = "Wren fridge"
)

func (b *builder) places() {
	b.org = put(b, inventory.Organisation{ID: id(inventory.KindOrganisation, "Larkspur"), Title: "Larkspur Reptile Trust", Mailed: true, Victims: 1})
	for _, s := range []struct {
		name, zone, law string
		use             inventory.SiteUse
		contacts        []inventory.Contact
	}{
		{larkspur, "America/New_York", "us/fl", inventory.UseZoo, []inventory.Contact{
			{Role: "poison centre", Title: "poison help line of the United States", Phone: "1-800-222-1222"},
			{Role: "receiving hospital", Title: "Fictional County Hospital", Phone: "555-0142"}}},
		{wren, "Europe/London", "gb/eaw", inventory.UsePrivate, []inventory.Contact{
			{Role: "receiving hospital", Title: "Fictional Vale Infirmary", Phone: "01632 960142"}}},
		{tamarind, "Pacific/Honolulu", "zz/tamarind", inventory.UseResearch, nil},
	} {
		put(b, inventory.Site{ID: siteID(s.name), Organisation: b.org, Title: s.name, Zone: s.zone, Use: s.use,
			Jurisdiction: inventory.Always(s.law), Contacts: s.contacts})
	}
	b.fridge(larkspurFridge, larkspur)
	b.fridge(wrenFridge, wren)
	for _, a := range []struct {
		name, zone, calendar string
		post                 int
	}{
		{"Federal wildlife permit office", "America/New_York", "US-FED", 3},
		{"Vale District Council", "Europe/London", "GB-EAW", 2},
		{"Fictional Mutual Insurance", "Europe/London", "GB-EAW", 2},
	} {
		put(b, compliance.Authority{ID: id(inventory.KindAuthority, a.name), Title: a.name, Zone: a.zone, Calendar: a.calendar, PostDays: a.post})
	}
}

func (b *builder) fridge(name, site string) {
	put(b, inventory.Place{ID: placeID(name), Site: siteID(site), Title: name, Min: 2000, Max: 8000})
}
