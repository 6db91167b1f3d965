package scale

import (
	"fmt"
	"math/rand/v2"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Size says how much of everything there is.
type Size struct {
	Name                                           string
	Sites, Species, People, Animals, Permits, Lots int
	Products                                       int
}

// The four sizes, after the cardinalities in this project's job description
// (estimates but where cited there).
var (
	Small    = Size{"small", 1, 3, 1, 8, 8, 6, 2}
	Medium   = Size{"medium", 2, 40, 12, 200, 60, 50, 10}
	Large    = Size{"large", 3, 80, 40, 3000, 200, 150, 20}
	National = Size{"national", 300, 300, 5000, 100_000, 200_000, 20_000, 60}
)

// Sizes lists them, smallest first.
var Sizes = []Size{Small, Medium, Large, National}

// Records gives how many animals and permits there are: what time is told per.
func (s Size) Records() int { return s.Animals + s.Permits }

type maker struct {
	Size
	today day.Day
	rng   *rand.Rand
	next  uint64

	org        inventory.ID
	sites      []inventory.ID
	species    []*inventory.Species
	enclosures [][]inventory.ID // by site
	products   []inventory.ID
	places     []inventory.ID // one a site
	authority  inventory.ID
	people     []inventory.ID
	animals    []inventory.ID
	out        compliance.Snapshot
}

// Network makes a network of a size, as of a day.
func Network(size Size, today day.Day) *compliance.Snapshot {
	m := &maker{Size: size, today: today, rng: rand.New(rand.NewPCG(1, uint64(size.Animals)))}
	m.house()
	m.kinds()
	m.staff()
	m.collection()
	m.shelves()
	m.papers()
	m.deeds()
	m.feeds()
	return &m.out
}

// id counts up, so that identifiers sort as they were made.
func (m *maker) id() (id inventory.ID) {
	m.next++
	for i := range 8 {
		id[8+i] = byte(m.next >> (56 - 8*i))
	}
	id[0] = 1
	return id
}

func (m *maker) ago(least, most int) day.Day { return m.today.Add(-least - m.rng.IntN(most-least+1)) }

// oneIn says yes once in n times.
func (m *maker) oneIn(n int) bool { return m.rng.IntN(n) == 0 }

func tableOf[T inventory.Record](records []*T) inventory.Table[T] { return inventory.NewTable(records) }

// where sites are, and by what clock.
var where = []struct{ jurisdiction, zone string }{
	{"us/fl", "America/New_York"}, {"us/tx", "America/Chicago"}, {"us/il", "America/Chicago"}, {"us/nc", "America/New_York"},
	{"gb/eaw", "Europe/London"}, {"us/co", "America/Denver"}, {"us/ca", "America/Los_Angeles"},
}

var families = []string{"Elapidae", "Viperidae", "Colubridae", "Atractaspididae"}

func (m *maker) house() {
	org := &inventory.Organisation{ID: m.id(), Title: "Network", Mailed: true, Victims: 1}
	m.org = org.ID
	var sites []*inventory.Site
	var places []*inventory.Place
	for i := range m.Sites {
		use := inventory.UseZoo
		if i%3 > 0 {
			use = inventory.UsePrivate
		}
		at := where[i%len(where)]
		s := &inventory.Site{ID: m.id(), Organisation: org.ID, Title: fmt.Sprintf("Site %03d", i), Zone: at.zone, Use: use, Jurisdiction: inventory.Always(at.jurisdiction)}
		sites = append(sites, s)
		m.sites = append(m.sites, s.ID)
		p := &inventory.Place{ID: m.id(), Site: s.ID, Title: "fridge", Min: 2000, Max: 8000}
		places = append(places, p)
		m.places = append(m.places, p.ID)
	}
	a := &compliance.Authority{ID: m.id(), Title: "Office", Zone: where[0].zone, Calendar: "US-FED", PostDays: 3}
	m.authority = a.ID
	m.out.Organisations = tableOf([]*inventory.Organisation{org})
	m.out.Sites, m.out.Places, m.out.Authorities = tableOf(sites), tableOf(places), tableOf([]*compliance.Authority{a})
}

func (m *maker) kinds() {
	for i := range m.Species {
		s := &inventory.Species{ID: m.id(), Accepted: fmt.Sprintf("Genus%c species%c%c", 'a'+i/26%26, 'a'+i%26, 'a'+i/676), Family: families[i%len(families)],
			Venomous: inventory.Yes, RangeKnown: inventory.Yes}
		if i%7 == 0 {
			s.NativeTo = []string{"us"}
		}
		if i%50 == 49 {
			s.NoAntivenom, s.Certainty = "nobody, it is invented", inventory.Memory
		}
		m.species = append(m.species, s)
	}
	m.out.Species = tableOf(m.species)
}

func (m *maker) staff() {
	var people []*compliance.Person
	roles := []compliance.Role{compliance.Head, compliance.Administrator, compliance.Curator, compliance.SafetyOfficer, compliance.LeadKeeper, compliance.Operations}
	for i := range m.People {
		site := m.sites[i%len(m.sites)]
		p := &compliance.Person{ID: m.id(), Called: fmt.Sprintf("Person %04d", i), Email: fmt.Sprintf("p%d@network.example", i), Site: site, Joined: m.ago(300, 3000)}
		role := compliance.Keeper
		if n := i / len(m.sites); n < len(roles) {
			role = roles[n]
		}
		p.Offices = []compliance.Office{{Role: role, Site: site}}
		people = append(people, p)
		m.people = append(m.people, p.ID)
	}
	m.out.People = tableOf(people)
}

func (m *maker) collection() {
	var enclosures []*inventory.Enclosure
	var animals []*inventory.Animal
	m.enclosures = make([][]inventory.ID, len(m.sites))
	for i := range m.Animals {
		site := i % len(m.sites)
		if i%8 < 1 || len(m.enclosures[site]) == 0 {
			e := &inventory.Enclosure{ID: m.id(), Site: m.sites[site], Code: fmt.Sprintf("E-%05d", i), State: inventory.InService}
			enclosures = append(enclosures, e)
			m.enclosures[site] = append(m.enclosures[site], e.ID)
		}
		arrived := m.ago(10, 4000)
		a := &inventory.Animal{ID: m.id(), Accession: fmt.Sprintf("N-%06d", i), Species: m.speciesAt(site), Arrived: arrived, Origin: inventory.Origin{Bred: inventory.Bool(m.oneIn(2))},
			Stays: []inventory.Stay{{Enclosure: m.enclosures[site][m.rng.IntN(len(m.enclosures[site]))], From: arrived}}}
		switch {
		case m.oneIn(60):
			a.Origin.Bred = inventory.Unknown
		case m.oneIn(15):
			a.Left = &inventory.Disposition{How: inventory.Died, On: arrived.Add(5)}
		}
		animals = append(animals, a)
		m.animals = append(m.animals, a.ID)
	}
	m.out.Enclosures, m.out.Animals = tableOf(enclosures), tableOf(animals)
}

// speciesAt picks one of about twenty species that a site holds.
func (m *maker) speciesAt(site int) inventory.ID {
	return m.species[(site*7+m.rng.IntN(20))%len(m.species)].ID
}

func (m *maker) shelves() {
	var products []*inventory.Product
	for i := range m.Products {
		p := &inventory.Product{ID: m.id(), Type: fmt.Sprintf("invented antivenom %d", i), LeadDays: 30 + 30*(i%9)}
		products = append(products, p)
		m.products = append(m.products, p.ID)
	}
	var rows []*inventory.Coverage
	for i, s := range m.species {
		if s.NoAntivenom != "" {
			continue
		}
		for j := range 1 + i%2 {
			rows = append(rows, &inventory.Coverage{ID: m.id(), Product: m.products[(i+j)%len(m.products)], Species: s.ID, Basis: inventory.Indicated,
				Vials: inventory.Always(inventory.Vials{Initial: 4, Full: 10}), Source: "invented", Certainty: inventory.Memory})
		}
	}
	var lots []*inventory.Lot
	for i := range m.Lots {
		received := m.ago(30, 900)
		l := &inventory.Lot{ID: m.id(), Product: m.products[i/len(m.sites)%len(m.products)], Number: fmt.Sprintf("L-%05d", i), Labelled: day.Until(m.today.Add(m.rng.IntN(1500) - 50)),
			Movements: []inventory.Movement{{On: received, Place: m.places[i%len(m.places)], Vials: 10, Reason: inventory.Received, Condition: inventory.Checked}}}
		if m.oneIn(50) {
			l.Labelled = day.End{}
		}
		lots = append(lots, l)
	}
	m.out.Products, m.out.Coverage, m.out.Lots = tableOf(products), tableOf(rows), tableOf(lots)
}
