package demo

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
)

const (
	thornbury       = "Thornbury Lane"
	thornburyFridge = "locked fridge"
	hester          = "Hester Nettlecombe"
)

var smallHeld = []struct {
	species, product, lot string
	count                 int
	vials, ends           int
	label                 label
}{
	{"Vipera berus", viperFab, "TL-0", 3, 2, 500, month},
	{"Naja kaouthia", thaiNeuro, "TL-1", 2, 10, 330, full}, // its end leaves none
	{"Crotalus atrox", ovineFab, "TL-2", 3, 18, 620, month},
}

// small is one person in every role but the trainee's, eight snakes, one licence and a fridge.
func (b *builder) small() {
	b.org = put(b, inventory.Organisation{ID: id(inventory.KindOrganisation, "Thornbury"), Title: "Thornbury Lane collection", Victims: 1})
	put(b, inventory.Site{ID: siteID(thornbury), Organisation: b.org, Title: thornbury, Zone: "Europe/London", Use: inventory.UsePrivate,
		Jurisdiction: inventory.Always("gb/eaw")})
	b.fridge(thornburyFridge, thornbury)
	b.authority(council, "Europe/London", englishDays, 2)
	b.smallKeeper()
	b.smallSnakes()
	b.done("drill.bite", siteRef(thornbury), -230, hester) // overdue
	b.done("drill.escape", siteRef(thornbury), -120, hester)
	b.done("count.antivenom", placeRef(thornburyFridge), -15, hester)
	b.certified(hester, -400, 330)
	for _, topic := range []compliance.Topic{compliance.TopicAnimals, compliance.TopicPeople, compliance.TopicPapers, compliance.TopicStock, compliance.TopicActivities} {
		b.list(topic, "", compliance.Head, -9)
	}
}

func (b *builder) smallKeeper() {
	var offices []compliance.Office
	for _, role := range compliance.Roles {
		if role != compliance.Trainee {
			offices = append(offices, compliance.Office{Role: role})
		}
	}
	put(b, compliance.Person{ID: personID(hester), Called: hester, Site: siteID(thornbury), Offices: offices, Joined: b.in(-2000)})
}

func (b *builder) smallSnakes() {
	licence := b.paper("DWA-901", "dwa-licence", council, thornbury, b.until(210))
	n := 0
	for _, h := range smallHeld {
		b.species(h.species)
		b.products(h.product)
		put(b, b.lot(h.product, h.lot, thornburyFridge, h.vials, h.ends, h.label))
		for range h.count {
			n++
			b.animal(thornbury, fmt.Sprintf("TL-%03d", n), h.species, inventory.Yes, -300-10*n)
		}
		licence.Grants = append(licence.Grants, grants(4, h.species)...)
	}
	put(b, licence)
}
