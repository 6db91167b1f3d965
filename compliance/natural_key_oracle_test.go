package compliance

import (
	"fmt"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// OneByOne makes changes the plainest way: each Put gives a snapshot of its
// own, and reads its whole table for a record that has its natural key.
func OneByOne(b Batch, s *Snapshot) (*Snapshot, error) {
	for _, c := range b {
		var err error
		switch c := c.(type) {
		case Batch:
			s, err = OneByOne(c, s)
		case Put[inventory.Record]:
			s, err = putPlainly(s, c.After)
		case Put[Permit]:
			s, err = putPlainly(s, c.After)
		case Put[inventory.Animal]:
			s, err = putPlainly(s, c.After)
		case strange:
			s, err = OneByOne(Batch{c.c}, s)
		default:
			s, err = c.Apply(s)
		}
		if err != nil {
			return nil, err
		}
	}
	return s, nil
}

func putPlainly(s *Snapshot, rec inventory.Record) (*Snapshot, error) {
	refuse := func(err error) (*Snapshot, error) { return nil, &Refusal{rec.Ref(), rec.Name(), err} }
	if rec.Ref().ID == (inventory.ID{}) {
		return refuse(&inventory.FieldError{Field: "id", Problem: "is not set: the client makes it"})
	}
	if err := rec.Check(); err != nil {
		return refuse(err)
	}
	if err := s.dangling(rec); err != nil {
		return refuse(err)
	}
	out := *s
	if err := out.placePlainly(rec); err != nil {
		return refuse(err)
	}
	return &out, nil
}

func (s *Snapshot) placePlainly(rec inventory.Record) error {
	switch r := rec.(type) {
	case inventory.Organisation:
		return placeIn(&s.Organisations, r, nil)
	case inventory.Site:
		return placeIn(&s.Sites, r, func(o *inventory.Site) bool { return o.Title == r.Title })
	case inventory.Enclosure:
		return placeIn(&s.Enclosures, r, func(o *inventory.Enclosure) bool { return o.Site == r.Site && o.Code == r.Code })
	case inventory.Species:
		return placeIn(&s.Species, r, func(o *inventory.Species) bool { return o.Called(r.Accepted) || r.Called(o.Accepted) })
	case inventory.Animal:
		return placeIn(&s.Animals, r, func(o *inventory.Animal) bool { return o.Accession == r.Accession })
	case inventory.Product:
		return placeIn(&s.Products, r, func(o *inventory.Product) bool { return o.Type == r.Type })
	case inventory.Coverage:
		return placeIn(&s.Coverage, r, func(o *inventory.Coverage) bool {
			return o.Product == r.Product && o.Species == r.Species && o.Locality == r.Locality && o.Source == r.Source
		})
	case inventory.Place:
		return placeIn(&s.Places, r, func(o *inventory.Place) bool { return o.Site == r.Site && o.Title == r.Title })
	case inventory.Supply:
		return placeIn(&s.Supplies, r, func(o *inventory.Supply) bool {
			return o.Product == r.Product && o.Supplier == r.Supplier && o.PackSize == r.PackSize && o.From == r.From
		})
	case inventory.Order:
		return placeIn(&s.Orders, r, func(o *inventory.Order) bool { return o.Number == r.Number })
	case inventory.Agreement:
		return placeIn(&s.Agreements, r, func(o *inventory.Agreement) bool {
			return o.Product == r.Product && o.Site == r.Site && o.Number == r.Number
		})
	case inventory.Lot:
		return placeIn(&s.Lots, r, func(o *inventory.Lot) bool { return o.Product == r.Product && o.Number == r.Number })
	case inventory.Planned:
		return placeIn(&s.Planned, r, nil)
	case Person:
		return placeIn(&s.People, r, nil)
	case Authority:
		return placeIn(&s.Authorities, r, func(o *Authority) bool { return o.Title == r.Title })
	case Permit:
		return placeIn(&s.Permits, r, func(o *Permit) bool { return o.Number == r.Number })
	case Activity:
		return placeIn(&s.Activities, r, nil)
	case Feed:
		return placeIn(&s.Feeds, r, func(o *Feed) bool { return o.Topic == r.Topic && o.Site == r.Site })
	case NotWatched:
		return placeIn(&s.NotWatched, r, nil)
	case Decision:
		return placeIn(&s.Decisions, r, nil)
	case ladder.Session:
		return placeIn(&s.Sessions, r, nil)
	case ladder.Authorisation:
		return placeIn(&s.Authorisations, r, nil)
	case ladder.Credit:
		return placeIn(&s.Credits, r, nil)
	case ladder.Placement:
		return placeIn(&s.Placements, r, nil)
	}
	return fmt.Errorf("no table keeps a %T", rec)
}

func placeIn[T inventory.Record](t *inventory.Table[T], rec T, same func(*T) bool) error {
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
