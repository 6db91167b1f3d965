package compliance

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// longAgo is the day of what a case gives no day for, before any day that one
// may ask about.
var longAgo = day.MustParse("1990-01-01")

// factID follows from a kind and a name, so that facts refer to each other.
func factID(kind inventory.Kind, name string) inventory.ID {
	return uuid.NewSHA1(uuid.NameSpaceOID, []byte(kind.String()+" "+name))
}

func factRef(kind inventory.Kind, name string) inventory.Ref {
	return inventory.Ref{Kind: kind, ID: factID(kind, name)}
}

// madeBy says how a test gets a subject of each kind.
var madeBy = map[string]string{
	"animal":  "; an animal is made by a row of facts.animals with its name",
	"paper":   "; a paper is made by a row of facts.papers with its number",
	"person":  "; a person is made by a row of facts.people with the name",
	"place":   "; a place is where antivenom is kept: it is made by a row of facts.places, or by its name under place in a row of facts.vials, and the place fridge is always there",
	"species": "; a species is made by a row of facts.species with its name",
	"list":    "; the lists are animals, people, papers, stock, activities and handling, and there are none with lists: none",
	"site":    "; write site alone: there is one site",
	"house":   "; write house alone: there is one house",
}

// subject reads whom an answer is about.
func (f *Facts) subject(text string) (inventory.Ref, error) {
	what, name, _ := strings.Cut(text, " ")
	known := func(is bool, kind inventory.Kind) (inventory.Ref, error) {
		if !is {
			return inventory.Ref{}, fmt.Errorf("there is no %s %q in this test%s", what, name, madeBy[what])
		}
		return factRef(kind, name), nil
	}
	switch what {
	case "site":
		return known(name == "", inventory.KindSite)
	case "house":
		return known(name == "", inventory.KindOrganisation)
	case "animal":
		return known(slices.Contains(f.animalNames(), name), inventory.KindAnimal)
	case "paper":
		return known(slices.ContainsFunc(f.Papers, func(p FactPaper) bool { return p.Number == name }), inventory.KindPermit)
	case "person":
		return known(f.hasPerson(name), inventory.KindPerson)
	case "place":
		return known(f.hasPlace(name), inventory.KindPlace)
	case "list":
		return known(slices.Contains(Topics, Topic(name)) && !f.NoLists, inventory.KindFeed)
	case "species":
		_, err := known(slices.ContainsFunc(f.Species, func(s FactSpecies) bool { return s.Name == name }), inventory.KindSpecies)
		return inventory.Holding(factID(inventory.KindSpecies, name), factID(inventory.KindSite, "")), err
	}
	return inventory.Ref{}, fmt.Errorf("%q is not a subject; write site, house, list TOPIC, or animal, paper, person, species or place with its name", text)
}

func (f *Facts) animalNames() (all []string) {
	for _, a := range f.Animals {
		all = append(all, a.names()...)
	}
	return all
}

func (a *FactAnimal) names() []string {
	all := []string{a.Name}
	for n := 2; n <= a.Count; n++ {
		all = append(all, a.Name+"-"+strconv.Itoa(n))
	}
	return all
}

// records makes the house of a case, as of its day. l is the ladder of the
// case; nil: there is none.
func (f *Facts) records(on day.Day, l *ladder.Ladder) (b Batch) {
	add := func(rec inventory.Record) { b = append(b, Record(rec)) }
	house, site := factID(inventory.KindOrganisation, ""), factID(inventory.KindSite, "")
	add(inventory.Organisation{ID: house, Title: "House of the test", Victims: f.Victims})
	s := inventory.Site{ID: site, Organisation: house, Title: "Site of the test", Zone: f.Zone, Use: f.Use}
	if f.Law != "" {
		s.Jurisdiction = inventory.Always(f.Law)
	}
	add(s)
	if f.elsewhere() {
		add(inventory.Site{ID: factID(inventory.KindSite, "elsewhere"), Organisation: house, Title: "Other site of the test", Zone: f.Zone})
	}
	add(Authority{ID: factID(inventory.KindAuthority, ""), Title: "Office of the test", Zone: f.Zone, Calendar: f.Calendar})
	for _, p := range f.People {
		person := Person{ID: factID(inventory.KindPerson, p.Name), Called: p.Name, Site: site, Joined: orLongAgo(p.Joined)}
		for _, role := range p.Roles {
			person.Offices = append(person.Offices, Office{Role: role, From: orLongAgo(p.Joined)})
		}
		add(person)
	}
	for _, s := range f.Species {
		add(f.species(s))
	}
	f.keep(add)
	for i := range f.Papers {
		add(*f.paper(&f.Papers[i]))
	}
	f.stock(add)
	for i, d := range f.Done {
		subject, _ := f.subject(d.Subject) // read, and so known
		add(Activity{ID: factID(inventory.KindActivity, strconv.Itoa(i)), What: d.What, Subject: subject, On: d.On, At: d.At, Passed: d.Passed, Until: d.Until, Year: d.Year, Fields: d.Fields})
	}
	f.handling(add, l)
	for _, topic := range Topics {
		if !f.NoLists {
			add(Feed{ID: factID(inventory.KindFeed, string(topic)), Topic: topic, Keeper: Head, Complete: longAgo, Confirmed: []day.Day{on}, MaxAge: 36500})
		}
	}
	return b
}

func orLongAgo(d day.Day) day.Day {
	if d.IsZero() {
		return longAgo
	}
	return d
}

func (f *Facts) species(s FactSpecies) inventory.Species {
	out := inventory.Species{ID: factID(inventory.KindSpecies, s.Name), Accepted: s.Name, Family: s.Family, Venomous: s.Venomous, NoAntivenom: s.NoAntivenom, Hazards: s.Hazards}
	if s.NoAntivenom != "" {
		out.Certainty = inventory.Memory
	}
	if s.Native != inventory.Unknown {
		out.RangeKnown = inventory.Yes
		if s.Native == inventory.Yes && f.Law != "" {
			out.NativeTo = []string{f.Law}
		}
	}
	return out
}

// keep puts each animal into an enclosure of its own.
func (f *Facts) keep(add func(inventory.Record)) {
	for i := range f.Animals {
		a := &f.Animals[i]
		for _, name := range a.names() {
			enclosure := inventory.Enclosure{ID: factID(inventory.KindEnclosure, name), Site: factID(inventory.KindSite, ""), Code: name}
			add(enclosure)
			animal := inventory.Animal{ID: factID(inventory.KindAnimal, name), Accession: name, Species: factID(inventory.KindSpecies, a.Species),
				Custodian: factRef(inventory.KindOrganisation, ""), Origin: inventory.Origin{Bred: a.Bred}, Arrived: orLongAgo(a.Arrived),
				Stays: []inventory.Stay{{Enclosure: enclosure.ID, From: orLongAgo(a.Arrived)}}}
			if a.KeptBy != "" {
				animal.Custodian = factRef(inventory.KindPerson, a.KeptBy)
			}
			if !a.Left.IsZero() {
				animal.Left = &inventory.Disposition{How: a.How, On: a.Left}
			}
			add(animal)
		}
	}
}

func (f *Facts) paper(p *FactPaper) *Permit {
	out := &Permit{ID: factID(inventory.KindPermit, p.Number), Number: p.Number, Class: p.Class, Authority: factID(inventory.KindAuthority, ""),
		AnyPlace: p.Place == "anywhere", Issued: p.Issued, From: p.From, Expires: p.Expires, Renewable: p.Renewable,
		Revoked: p.RevokedOn, Surrendered: p.SurrenderedOn}
	switch p.Holder {
	case "house":
		out.Holder = factRef(inventory.KindOrganisation, "")
	case "unknown":
	default:
		out.Holder = factRef(inventory.KindPerson, p.Holder)
	}
	if p.Place == "here" {
		out.Sites = []inventory.ID{factID(inventory.KindSite, "")}
	}
	for _, name := range p.Animals {
		out.Animals = append(out.Animals, factID(inventory.KindAnimal, name))
	}
	for _, taxon := range p.Taxa {
		out.Grants = append(out.Grants, grantOf(taxon, p.Max))
	}
	if len(p.Taxa) == 0 && p.Max > 0 {
		out.Grants = []Grant{{Rank: RankAny, Max: p.Max}}
	}
	if p.Application != (Application{}) {
		out.Applications = []Application{p.Application}
	}
	if !p.Suspended.IsZero() {
		out.Suspensions = []Suspension{{From: p.Suspended, Lifted: p.Lifted}}
	}
	return out
}

// grantOf reads one line of a paper's list: zoological names of families end
// in -idae (International Code of Zoological Nomenclature, article 29.2; from
// memory).
func grantOf(taxon string, most int) Grant {
	switch {
	case taxon == "any":
		return Grant{Rank: RankAny, Max: most}
	case strings.Contains(taxon, " "):
		return Grant{Rank: RankSpecies, Taxon: taxon, Max: most}
	case strings.HasSuffix(taxon, "idae"):
		return Grant{Rank: RankFamily, Taxon: taxon, Max: most}
	}
	return Grant{Rank: RankGenus, Taxon: taxon, Max: most}
}

// stock records vials as received; there is one fridge even where there are
// none.
func (f *Facts) stock(add func(inventory.Record)) {
	seen := make(map[inventory.ID]bool)
	once := func(rec inventory.Record) {
		if id := rec.Ref().ID; !seen[id] {
			seen[id] = true
			add(rec)
		}
	}
	once(f.place("fridge"))
	for _, v := range f.Vials {
		once(f.place(v.Place))
		product := factID(inventory.KindProduct, v.Product)
		f.covers(once, FactProduct{Name: v.Product, Approval: v.Approval, Basis: v.Basis, Species: v.Species, Full: v.Full, Initial: v.Initial})
		once(inventory.Lot{ID: factID(inventory.KindLot, v.Product+" "+v.Lot), Product: product, Number: v.Lot, Labelled: v.Expires,
			Movements: []inventory.Movement{{On: orLongAgo(v.Since), Place: factID(inventory.KindPlace, v.Place), Vials: v.Count, Reason: inventory.Received, Condition: inventory.Checked}}})
	}
	f.supply(once)
}
