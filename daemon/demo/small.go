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
	osric           = "Osric Plumtree"
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

// small is one person in every role but the trainee's and the one of somebody
// outside, eight snakes, one licence and a fridge.
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
	b.smallHandling()
	for _, topic := range []compliance.Topic{compliance.TopicAnimals, compliance.TopicPeople, compliance.TopicPapers, compliance.TopicStock, compliance.TopicActivities, compliance.TopicHandling} {
		b.list(topic, "", compliance.Head, -9)
	}
}

func (b *builder) smallKeeper() {
	var offices []compliance.Office
	for _, role := range compliance.Roles {
		if role != compliance.Trainee && role != compliance.SecondContact {
			offices = append(offices, compliance.Office{Role: role})
		}
	}
	put(b, compliance.Person{ID: personID(hester), Called: hester, Site: siteID(thornbury), Offices: offices, Joined: b.in(-2000), Born: b.in(-ages[hester])})
	put(b, compliance.Person{ID: personID(osric), Called: osric, Site: siteID(thornbury), Offices: []compliance.Office{{Role: compliance.SecondContact}},
		Joined: b.in(-1900), Born: b.in(-ages[osric])})
}

// smallHandling: the second contact, outside the house, signed for what the
// keeper can do. Nobody else may open anything there.
func (b *builder) smallHandling() {
	var species []string
	for _, h := range smallHeld {
		species = append(species, h.species)
	}
	b.founded(hester, 5, false, -170, 300, []string{osric}, species)
	b.skill(hester, "certificate.cpr", -400, 330)
	b.drilled(hester, -230)
	for _, days := range []int{-110, -45, -20} {
		put(b, b.alone(hester, thornbury, "Naja kaouthia", days))
	}
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
