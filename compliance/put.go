package compliance

import (
	"fmt"

	"antidotary/inventory"
)

// put sets a record in its table, unless another record of that kind has its
// natural key.
func (s *Snapshot) put(rec inventory.Record) error {
	switch r := rec.(type) {
	case inventory.Organisation:
		return place(&s.Organisations, r, nil)
	case inventory.Site:
		return place(&s.Sites, r, func(o *inventory.Site) bool { return o.Title == r.Title })
	case inventory.Enclosure:
		return place(&s.Enclosures, r, func(o *inventory.Enclosure) bool { return o.Site == r.Site && o.Code == r.Code })
	case inventory.Species:
		return place(&s.Species, r, func(o *inventory.Species) bool { return o.Called(r.Accepted) || r.Called(o.Accepted) })
	case inventory.Animal:
		return place(&s.Animals, r, func(o *inventory.Animal) bool { return o.Accession == r.Accession })
	case inventory.Product:
		return place(&s.Products, r, func(o *inventory.Product) bool { return o.Type == r.Type })
	case inventory.Coverage:
		return place(&s.Coverage, r, func(o *inventory.Coverage) bool { return o.Product == r.Product && o.Species == r.Species })
	case inventory.Place:
		return place(&s.Places, r, func(o *inventory.Place) bool { return o.Site == r.Site && o.Title == r.Title })
	case inventory.Lot:
		return place(&s.Lots, r, func(o *inventory.Lot) bool { return o.Product == r.Product && o.Number == r.Number })
	case inventory.Planned:
		return place(&s.Planned, r, nil)
	case Person:
		return place(&s.People, r, nil) // two persons may have one name
	case Authority:
		return place(&s.Authorities, r, func(o *Authority) bool { return o.Title == r.Title })
	case Permit:
		return place(&s.Permits, r, func(o *Permit) bool { return o.Number == r.Number })
	case Activity:
		return place(&s.Activities, r, nil)
	case Feed:
		return place(&s.Feeds, r, func(o *Feed) bool { return o.Topic == r.Topic && o.Site == r.Site })
	case NotWatched:
		return place(&s.NotWatched, r, nil)
	case Decision:
		return place(&s.Decisions, r, nil)
	}
	return fmt.Errorf("no table keeps a %T", rec)
}

func place[T inventory.Record](t *inventory.Table[T], rec T, same func(*T) bool) error {
	if same != nil {
		for other := range t.All() {
			if (*other).Ref() != rec.Ref() && same(other) {
				return fmt.Errorf("another %s is already recorded as %q: correct that one, or give this one its own number", rec.Ref().Kind, (*other).Name())
			}
		}
	}
	*t = t.With(rec)
	return nil
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
	switch ref.Kind {
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
