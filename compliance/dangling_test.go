package compliance

import (
	"errors"
	"testing"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// whole is a house with one record of each kind, and each record's kind.
type whole struct {
	*house
	species   inventory.Species
	cage      inventory.Enclosure
	animal    inventory.Animal
	product   inventory.Product
	coverage  inventory.Coverage
	place     inventory.Place
	lot       inventory.Lot
	supply    inventory.Supply
	order     inventory.Order
	agreement inventory.Agreement
	person    Person
	paper     Permit
	list      Feed
	done      Activity
	off       NotWatched
	decision  Decision
	planned   inventory.Planned
	authority Authority
	mentor    Person
	session   ladder.Session
	grant     ladder.Authorisation
	credit    ladder.Credit
	placement ladder.Placement
}

func newWhole(t *testing.T) *whole {
	w := &whole{house: newHouse(t)}
	id := inventory.NewID
	w.species = w.house.species("Naja kaouthia", "Elapidae")
	w.animal = w.house.animal(w.species)
	w.person = w.personCalled("Head")
	w.cage = inventory.Enclosure{ID: id(), Site: w.site.ID, Code: "C"}
	w.product = inventory.Product{ID: id(), Type: "polyvalent"}
	w.coverage = inventory.Coverage{ID: id(), Product: w.product.ID, Species: w.species.ID, Basis: inventory.Indicated, Source: "s"}
	w.place = inventory.Place{ID: id(), Site: w.site.ID, Title: "fridge"}
	w.lot = inventory.Lot{ID: id(), Product: w.product.ID, Number: "L", Movements: []inventory.Movement{{On: d("2026-01-01"), Place: w.place.ID, Vials: 3, Reason: inventory.Received, Condition: inventory.Checked}}}
	w.supply = inventory.Supply{ID: id(), Product: w.product.ID, Supplier: "Fictional Sera"}
	w.order = inventory.Order{ID: id(), Number: "O", Product: w.product.ID, Place: w.place.ID, Supply: w.supply.ID, Vials: 3, Stages: []inventory.Stage{{What: inventory.StageOrdered, On: d("2026-01-01")}}}
	w.agreement = inventory.Agreement{ID: id(), Number: "M", Partner: "Fictional Infirmary", Site: w.site.ID, Product: w.product.ID, Signed: d("2026-01-01"),
		Confirmations: []inventory.Confirmation{{On: d("2026-01-01"), By: w.person.ID, Vials: 3}}}
	w.paper = w.permit("P", day.Until(d("2027-01-01")))
	w.list = Feed{ID: id(), Topic: TopicStock, Site: w.site.ID, Keeper: Head, Complete: d("2026-01-01"), MaxAge: 9}
	w.done = Activity{ID: id(), What: "drill.x", Subject: w.site.Ref(), On: d("2026-01-01"), By: w.person.ID}
	w.off = NotWatched{ID: id(), Subject: w.site.Ref(), By: w.person.ID, Why: "w", From: d("2026-01-01"), Last: d("2026-01-02")}
	w.decision = Decision{ID: id(), Ruling: RunDown, Subject: inventory.Holding(w.species.ID, w.site.ID), By: w.person.ID, On: d("2026-01-01"), Why: "w", Consequence: "c"}
	w.planned = inventory.Planned{ID: id(), Kind: inventory.PlanVials, On: d("2026-08-01"), Site: w.site.ID, Product: w.product.ID, Count: 3}
	w.authority = w.auth
	w.mentor = w.personCalled("Mentor")
	w.session = ladder.Session{ID: id(), Trainee: w.person.ID, Mentor: w.mentor.ID, Site: w.site.ID, Species: w.species.ID, Animals: []inventory.ID{w.animal.ID}, Level: ladder.Hook, On: d("2026-01-01")}
	w.grant = ladder.Authorisation{ID: id(), Person: w.person.ID, What: ladder.SpeciesGrant, Species: w.species.ID, Level: ladder.Hook, On: d("2026-01-01"), Signers: []inventory.ID{w.mentor.ID}}
	w.credit = ladder.Credit{ID: id(), Person: w.person.ID, Where: "w", Proof: ladder.Log, Taxon: "Elapidae", First: d("2025-01-01"), Last: d("2025-01-01"), On: d("2026-01-01")}
	w.placement = ladder.Placement{ID: id(), Subject: w.animal.Ref(), Stage: 7, On: d("2026-01-01"), By: w.person.ID, Reason: "r"}
	w.put(Record(w.cage), Record(w.product), Record(w.coverage), Record(w.place), Record(w.supply), Record(w.order), Record(w.agreement), Record(w.lot), Record(w.paper), Record(w.list),
		Record(w.done), Record(w.off), Record(w.decision), Record(w.planned), Record(w.session), Record(w.grant), Record(w.credit), Record(w.placement))
	return w
}

// TestNothingRefersToWhatIsNotRecorded: each reference of each kind of
// record, pointed at nothing, is refused by the name of its field.
func TestNothingRefersToWhatIsNotRecorded(t *testing.T) {
	w := newWhole(t)
	s := w.snapshot()
	nobody := inventory.NewID()
	ref := func(kind inventory.Kind) inventory.Ref { return inventory.Ref{Kind: kind, ID: nobody} }
	for _, c := range []struct {
		field  string
		change Change
	}{
		{"organisation", with(w.site, func(r *inventory.Site) { r.Organisation = nobody })},
		{"site", with(w.cage, func(r *inventory.Enclosure) { r.Site = nobody })},
		{"species", with(w.animal, func(r *inventory.Animal) { r.Species = nobody })},
		{"custodian", with(w.animal, func(r *inventory.Animal) { r.Custodian = ref(inventory.KindPerson) })},
		{"stays.enclosure", with(w.animal, func(r *inventory.Animal) { r.Stays = []inventory.Stay{{Enclosure: nobody, From: d("2026-01-01")}} })},
		{"product", with(w.coverage, func(r *inventory.Coverage) { r.Product = nobody })},
		{"species", with(w.coverage, func(r *inventory.Coverage) { r.Species = nobody })},
		{"site", with(w.place, func(r *inventory.Place) { r.Site = nobody })},
		{"reach.site", with(w.place, func(r *inventory.Place) { r.Reach = []inventory.Reach{{Site: nobody, Minutes: 5}} })},
		{"product", with(w.supply, func(r *inventory.Supply) { r.Product = nobody })},
		{"product", with(w.order, func(r *inventory.Order) { r.Product = nobody })},
		{"place", with(w.order, func(r *inventory.Order) { r.Place = nobody })},
		{"supply", with(w.order, func(r *inventory.Order) { r.Supply = nobody })},
		{"site", with(w.agreement, func(r *inventory.Agreement) { r.Site = nobody })},
		{"product", with(w.agreement, func(r *inventory.Agreement) { r.Product = nobody })},
		{"confirmations.by", with(w.agreement, func(r *inventory.Agreement) {
			r.Confirmations = []inventory.Confirmation{{On: d("2026-01-01"), By: nobody}}
		})},
		{"product", with(w.lot, func(r *inventory.Lot) { r.Product = nobody })},
		{"movements.place", with(w.lot, func(r *inventory.Lot) {
			r.Movements = []inventory.Movement{{On: d("2026-01-01"), Place: nobody, Vials: 1, Reason: inventory.Received, Condition: inventory.Checked}}
		})},
		{"site", with(w.planned, func(r *inventory.Planned) { r.Site = nobody })},
		{"product", with(w.planned, func(r *inventory.Planned) { r.Product = nobody })},
		{"species", with(w.planned, func(r *inventory.Planned) { r.Kind, r.Species = inventory.PlanArrival, nobody })},
		{"subject", with(w.planned, func(r *inventory.Planned) { r.Kind, r.Subject = inventory.PlanLeaving, ref(inventory.KindAnimal) })},
		{"site", with(w.person, func(r *Person) { r.Site = nobody })},
		{"offices.site", with(w.person, func(r *Person) { r.Offices = []Office{{Role: Head, Site: nobody}} })},
		{"authority", with(w.paper, func(r *Permit) { r.Authority = nobody })},
		{"holder", with(w.paper, func(r *Permit) { r.Holder = ref(inventory.KindPerson) })},
		{"sites", with(w.paper, func(r *Permit) { r.Sites = []inventory.ID{w.site.ID, nobody} })},
		{"animals", with(w.paper, func(r *Permit) { r.Animals = []inventory.ID{nobody} })},
		{"renews", with(w.paper, func(r *Permit) { r.Renews = nobody })},
		{"subject", with(w.done, func(r *Activity) { r.Subject = ref(inventory.KindSite) })},
		{"by", with(w.done, func(r *Activity) { r.By = nobody })},
		{"site", with(w.list, func(r *Feed) { r.Site = nobody })},
		{"subject", with(w.off, func(r *NotWatched) { r.Subject = ref(inventory.KindPermit) })},
		{"by", with(w.off, func(r *NotWatched) { r.By = nobody })},
		{"subject", with(w.decision, func(r *Decision) { r.Subject = inventory.Holding(nobody, w.site.ID) })},
		{"subject", with(w.decision, func(r *Decision) { r.Subject = inventory.Holding(w.species.ID, nobody) })},
		{"by", with(w.decision, func(r *Decision) { r.By = nobody })},
		{"trainee", with(w.session, func(r *ladder.Session) { r.Trainee = nobody })},
		{"mentor", with(w.session, func(r *ladder.Session) { r.Mentor = nobody })},
		{"site", with(w.session, func(r *ladder.Session) { r.Site = nobody })},
		{"species", with(w.session, func(r *ladder.Session) { r.Species = nobody })},
		{"animals", with(w.session, func(r *ladder.Session) { r.Animals = []inventory.ID{w.animal.ID, nobody} })},
		{"person", with(w.grant, func(r *ladder.Authorisation) { r.Person = nobody })},
		{"species", with(w.grant, func(r *ladder.Authorisation) { r.Species = nobody })},
		{"mentor", with(w.grant, func(r *ladder.Authorisation) { r.Mentor = nobody })},
		{"signers", with(w.grant, func(r *ladder.Authorisation) { r.Signers = []inventory.ID{nobody} })},
		{"person", with(w.credit, func(r *ladder.Credit) { r.Person = nobody })},
		{"signers", with(w.credit, func(r *ladder.Credit) { r.Signers = []inventory.ID{nobody} })},
		{"subject", with(w.placement, func(r *ladder.Placement) { r.Subject = ref(inventory.KindAnimal) })},
		{"by", with(w.placement, func(r *ladder.Placement) { r.By = nobody })},
	} {
		_, err := c.change.Apply(s)
		var field *inventory.FieldError
		if !errors.As(err, &field) || field.Field != c.field {
			t.Errorf("%T: %v; want a refusal about %s", c.change, err, c.field)
		}
	}
}

// with is the change that puts a record that differs a little.
func with[T inventory.Record](rec T, change func(*T)) Change {
	change(&rec)
	return Record(rec)
}

// TestNoTwoRecordsWithOneName: another record of the same natural key is
// refused; two people may have one name.
func TestNoTwoRecordsWithOneName(t *testing.T) {
	w := newWhole(t)
	s := w.snapshot()
	id := inventory.NewID
	for _, c := range []struct {
		name  string
		twin  Change
		taken bool
	}{
		{"site", with(w.site, func(r *inventory.Site) { r.ID = id() }), true},
		{"enclosure", with(w.cage, func(r *inventory.Enclosure) { r.ID = id() }), true},
		{"species", with(w.species, func(r *inventory.Species) { r.ID = id() }), true},
		{"animal", with(w.animal, func(r *inventory.Animal) { r.ID = id() }), true},
		{"product", with(w.product, func(r *inventory.Product) { r.ID = id() }), true},
		{"coverage", with(w.coverage, func(r *inventory.Coverage) { r.ID = id() }), true},
		{"place", with(w.place, func(r *inventory.Place) { r.ID = id() }), true},
		{"lot", with(w.lot, func(r *inventory.Lot) { r.ID = id() }), true},
		{"coverage by another source", with(w.coverage, func(r *inventory.Coverage) { r.ID, r.Source = id(), "another" }), false},
		{"coverage of another origin", with(w.coverage, func(r *inventory.Coverage) { r.ID, r.Locality = id(), "in/tn" }), false},
		{"supply", with(w.supply, func(r *inventory.Supply) { r.ID = id() }), true},
		{"supply in another pack", with(w.supply, func(r *inventory.Supply) { r.ID, r.PackSize = id(), 5 }), false},
		{"order", with(w.order, func(r *inventory.Order) { r.ID = id() }), true},
		{"agreement", with(w.agreement, func(r *inventory.Agreement) { r.ID = id() }), true},
		{"authority", with(w.authority, func(r *Authority) { r.ID = id() }), true},
		{"permit", with(w.paper, func(r *Permit) { r.ID = id() }), true},
		{"feed", with(w.list, func(r *Feed) { r.ID = id() }), true},
		{"person", with(w.person, func(r *Person) { r.ID = id() }), false},
		{"activity", with(w.done, func(r *Activity) { r.ID = id() }), false},
		{"session", with(w.session, func(r *ladder.Session) { r.ID = id() }), false},
		{"authorisation", with(w.grant, func(r *ladder.Authorisation) { r.ID = id() }), false},
		{"credit", with(w.credit, func(r *ladder.Credit) { r.ID = id() }), false},
		{"placement", with(w.placement, func(r *ladder.Placement) { r.ID = id() }), false},
		{"feed of every site", with(w.list, func(r *Feed) { r.ID, r.Site = id(), inventory.ID{} }), false},
		{"the record itself, corrected", with(w.paper, func(r *Permit) { r.Renewable = inventory.No }), false},
	} {
		_, err := c.twin.Apply(s)
		if taken := err != nil; taken != c.taken {
			t.Errorf("%s: %v; refused %t, want %t", c.name, err, taken, c.taken)
		}
	}
}
