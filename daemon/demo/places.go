package demo

import (
	"antidotary/compliance"
	"antidotary/inventory"
)

// The three sites: one under federal and state law of the United States, one
// in England, and one on an island for which no law pack exists (ZZ is a code
// that ISO 3166 leaves to its users).
const (
	larkspur = "Larkspur House"
	wren     = "Wren Cottage"
	tamarind = "Tamarind Station"
)

// The places where antivenom is kept.
const (
	larkspurFridge = "Larkspur fridge"
	wrenFridge     = "Wren fridge"
)

// The authorities, and whoever else issues papers.
const (
	wildlife    = "Federal wildlife permit office"
	stateOffice = "State wildlife permit office"
	council     = "Nether Quillcombe Council"
	insurer     = "Fictional Mutual Insurance"
)

const (
	federalDays = "US-FED"
	englishDays = "GB-EAW"
)

// sites; phone numbers of invented hospitals are reserved for fiction.
var sites = []struct {
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
}

// authorities; post is how many working days a letter takes.
var authorities = []struct {
	name, zone, calendar string
	post                 int
}{
	{wildlife, "America/New_York", federalDays, 3},
	{stateOffice, "America/New_York", federalDays, 2},
	{council, "Europe/London", englishDays, 2},
	{insurer, "Europe/London", englishDays, 2},
}

func (b *builder) places() {
	b.org = put(b, inventory.Organisation{ID: id(inventory.KindOrganisation, "Larkspur"), Title: "Larkspur Reptile Trust", Mailed: true, Victims: 1})
	for _, s := range sites {
		put(b, inventory.Site{ID: siteID(s.name), Organisation: b.org, Title: s.name, Zone: s.zone, Use: s.use,
			Jurisdiction: inventory.Always(s.law), Contacts: s.contacts})
	}
	b.fridge(larkspurFridge, larkspur)
	b.fridge(wrenFridge, wren)
	for _, a := range authorities {
		b.authority(a.name, a.zone, a.calendar, a.post)
	}
}

func (b *builder) fridge(name, site string) {
	put(b, inventory.Place{ID: placeID(name), Site: siteID(site), Title: name, Min: 2000, Max: 8000})
}

func (b *builder) authority(name, zone, calendar string, post int) {
	put(b, compliance.Authority{ID: id(inventory.KindAuthority, name), Title: name, Zone: zone, Calendar: calendar, PostDays: post})
}
