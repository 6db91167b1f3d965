package compliance

import (
	"fmt"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// put sets a record in its table, unless another record of that kind has its
// natural key.
func (d *draft) put(rec inventory.Record) error {
	type key = inventory.NaturalKey
	switch r := rec.(type) {
	case inventory.Organisation:
		return placeAnyway(d, &d.Organisations, r)
	case inventory.Site:
		return place(d, &d.Sites, r, func(s *inventory.Site) key { return named(s.Title) })
	case inventory.Enclosure:
		return place(d, &d.Enclosures, r, func(e *inventory.Enclosure) key { return within(e.Site, e.Code) })
	case inventory.Species:
		return placeSpecies(d, r)
	case inventory.Animal:
		return place(d, &d.Animals, r, func(a *inventory.Animal) key { return named(a.Accession) })
	case inventory.Product:
		return placeProduct(d, r)
	case inventory.Coverage:
		return place(d, &d.Coverage, r, func(c *inventory.Coverage) key {
			return within(c.Product, c.Species.String()+" "+c.Locality+" "+c.Source)
		})
	case inventory.Place:
		return place(d, &d.Places, r, func(p *inventory.Place) key { return within(p.Site, p.Title) })
	case inventory.Supply:
		return place(d, &d.Supplies, r, offerKey)
	case inventory.Order:
		return place(d, &d.Orders, r, func(o *inventory.Order) key { return named(o.Number) })
	case inventory.Agreement:
		return place(d, &d.Agreements, r, func(a *inventory.Agreement) key { return within(a.Product, a.Site.String()+" "+a.Number) })
	case inventory.Lot:
		return place(d, &d.Lots, r, func(l *inventory.Lot) key { return within(l.Product, l.Number) })
	case inventory.Planned:
		return placeAnyway(d, &d.Planned, r)
	case Person:
		return placeAnyway(d, &d.People, r) // two persons may have one name
	case Authority:
		return place(d, &d.Authorities, r, func(a *Authority) key { return named(a.Title) })
	case Permit:
		return place(d, &d.Permits, r, func(p *Permit) key { return named(p.Number) })
	case Activity:
		return placeAnyway(d, &d.Activities, r)
	case Feed:
		return place(d, &d.Feeds, r, func(f *Feed) key { return within(f.Site, string(f.Topic)) })
	case NotWatched:
		return placeAnyway(d, &d.NotWatched, r)
	case Decision:
		return placeAnyway(d, &d.Decisions, r)
	case ladder.Session:
		return placeAnyway(d, &d.Sessions, r) // several on one day, of which nobody noted when they began
	case ladder.Authorisation:
		return placeAnyway(d, &d.Authorisations, r)
	case ladder.Credit:
		return placeAnyway(d, &d.Credits, r)
	case ladder.Placement:
		return placeAnyway(d, &d.Placements, r)
	}
	return fmt.Errorf("no table keeps a %T", rec)
}

// Lookup finds a record of any kind; nil where there is none.
func (s *Snapshot) Lookup(ref inventory.Ref) inventory.Record {
	switch ref.Kind {
	case inventory.KindOrganisation:
		return get(s.Organisations, ref)
	case inventory.KindSite:
		return get(s.Sites, ref)
	case inventory.KindEnclosure:
		return get(s.Enclosures, ref)
	case inventory.KindSpecies, inventory.KindHolding:
		return get(s.Species, ref)
	case inventory.KindAnimal:
		return get(s.Animals, ref)
	case inventory.KindProduct:
		return get(s.Products, ref)
	case inventory.KindCoverage:
		return get(s.Coverage, ref)
	case inventory.KindPlace:
		return get(s.Places, ref)
	case inventory.KindSupply:
		return get(s.Supplies, ref)
	case inventory.KindOrder:
		return get(s.Orders, ref)
	case inventory.KindAgreement:
		return get(s.Agreements, ref)
	case inventory.KindLot:
		return get(s.Lots, ref)
	case inventory.KindPlanned:
		return get(s.Planned, ref)
	case inventory.KindPerson:
		return get(s.People, ref)
	case inventory.KindAuthority:
		return get(s.Authorities, ref)
	case inventory.KindPermit:
		return get(s.Permits, ref)
	case inventory.KindActivity:
		return get(s.Activities, ref)
	case inventory.KindFeed:
		return get(s.Feeds, ref)
	case inventory.KindNotWatched:
		return get(s.NotWatched, ref)
	case inventory.KindDecision:
		return get(s.Decisions, ref)
	case inventory.KindSession:
		return get(s.Sessions, ref)
	case inventory.KindAuthorisation:
		return get(s.Authorisations, ref)
	case inventory.KindCredit:
		return get(s.Credits, ref)
	case inventory.KindPlacement:
		return get(s.Placements, ref)
	}
	return nil
}

func get[T inventory.Record](t inventory.Table[T], ref inventory.Ref) inventory.Record {
	if r, ok := t.Get(ref.ID); ok {
		return *r
	}
	return nil
}

// NameOf gives what people call a record: "permit SR-114", or for a holding
// "Naja kaouthia at Larkspur House". Where the name says what it is, the kind
// is left out.
func (s *Snapshot) NameOf(ref inventory.Ref) string {
	if ref.IsZero() {
		return ""
	}
	rec := s.Lookup(ref)
	if rec == nil {
		return ref.String()
	}
	called := func(person inventory.ID) string { return s.NameOf(personRef(person)) }
	switch ref.Kind {
	case inventory.KindSession:
		return "session of " + called(rec.(ladder.Session).Trainee) + " on " + rec.(ladder.Session).On.String()
	case inventory.KindAuthorisation:
		return rec.Name() + " for " + called(rec.(ladder.Authorisation).Person)
	case inventory.KindCredit:
		return "credit of " + called(rec.(ladder.Credit).Person) + " " + rec.Name()
	case inventory.KindPlacement:
		return s.NameOf(rec.(ladder.Placement).Subject) + " " + rec.Name()
	case inventory.KindHolding:
		return rec.Name() + " at " + s.Site(ref.At).Title
	case inventory.KindFeed:
		if site := rec.(Feed).Site; site != (inventory.ID{}) {
			return rec.Name() + " at " + s.Site(site).Title
		}
		return rec.Name() + " at every site"
	case inventory.KindPlace:
		return rec.Name() + " at " + s.Site(rec.(inventory.Place).Site).Title
	case inventory.KindOrganisation, inventory.KindSite, inventory.KindSpecies, inventory.KindPerson, inventory.KindProduct, inventory.KindAuthority:
		return rec.Name()
	}
	return ref.Kind.String() + " " + rec.Name()
}
