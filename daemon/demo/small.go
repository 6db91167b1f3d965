package demo

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

const (
	thornbury       = "Thornbury Lane"
	thornburyFridge = "kitchen fridge"
	hester          = "Hester Nettlecombe"
)

// small is one person, eight snakes, one licence and a fridge.
func (b *builder) small() {
	b.org = put(b, inventory.Organisation{ID: id(inventory.KindOrganisation, "Thornbury"), Title: "Thornbury Lane collection", Victims: 1})
	put(b, inventory.Site{ID: siteID(thornbury), Organisation: b.org, Title: thornbury, Zone: "Europe/London", Use: inventory.UsePrivate,
		Jurisdiction: inventory.Always("gb/eaw")})
	b.fridge(thornburyFridge, thornbury)
	put(b, compliance.Authority{ID: id(inventory.KindAuthority, council), Title: council, Zone: "Europe/London", Calendar: "GB-EAW", PostDays: 2})
	var offices []compliance.Office
	for _, role := range []compliance.Role{compliance.Head, compliance.Administrator, compliance.Curator, compliance.LeadKeeper, compliance.SafetyOfficer, compliance.Operations} {
		offices = append(offices, compliance.Office{Role: role})
	}
	put(b, compliance.Person{ID: personID(hester), Called: hester, Site: siteID(thornbury), Offices: offices, Joined: b.in(-2000)})
	for _, s := range []string{"Vipera berus", "Naja kaouthia", "Crotalus atrox"} {
		b.oneSpecies(s)
	}
	n := 0
	for _, h := range []struct {
		species string
		count   int
	}{{"Vipera berus", 3}, {"Naja kaouthia", 2}, {"Crotalus atrox", 3}} {
		for range h.count {
			n++
			b.animal(thornbury, fmt.Sprintf("TL-%03d", n), h.species, inventory.Yes, -300-10*n)
		}
	}
	b.smallStock()
	licence := b.paper("DWA-901", "dwa-licence", council, thornbury, b.until(210))
	licence.Grants = grants(4, "Vipera berus", "Naja kaouthia", "Crotalus atrox")
	put(b, licence)
	b.smallDeeds()
}

func (b *builder) smallStock() {
	for _, l := range []struct {
		product, species, number string
		vials, ends              int
	}{
		{viperFab, "Vipera berus", "TL-0", 2, 500},
		{thaiNeuro, "Naja kaouthia", "TL-1", 10, 330},
		{ovineFab, "Crotalus atrox", "TL-2", 18, 620},
	} {
		b.product(l.product)
		b.cover(l.product, l.species)
		b.lot(l.product, l.number, thornburyFridge, l.vials, l.ends)
	}
}

func (b *builder) smallDeeds() {
	site := siteRef(thornbury)
	put(b, compliance.Activity{ID: id(inventory.KindActivity, "small bite drill"), What: "drill.bite", Subject: site, On: b.in(-230), By: personID(hester), Passed: inventory.Yes})
	put(b, compliance.Activity{ID: id(inventory.KindActivity, "small escape drill"), What: "drill.escape", Subject: site, On: b.in(-120), By: personID(hester), Passed: inventory.Yes})
	put(b, compliance.Activity{ID: id(inventory.KindActivity, "small count"), What: "count.antivenom",
		Subject: inventory.Ref{Kind: inventory.KindPlace, ID: placeID(thornburyFridge)}, On: b.in(-15), By: personID(hester), Passed: inventory.Yes})
	put(b, compliance.Activity{ID: id(inventory.KindActivity, "small first aid"), What: "certificate.first-aid", Subject: personRef(hester),
		On: b.in(-400), Passed: inventory.Yes, Until: b.until(330)})
	for _, topic := range compliance.Topics {
		put(b, compliance.Feed{ID: id(inventory.KindFeed, "small "+string(topic)), Topic: topic, Keeper: compliance.Head, Complete: b.in(-2000),
			Confirmed: []day.Day{b.in(-9)}, MaxAge: 35})
	}
}
