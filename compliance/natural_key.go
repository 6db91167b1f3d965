package compliance

import (
	"fmt"
	"slices"

	"antidotary/inventory"
)

// place sets a record, unless another one has its natural key.
func place[T inventory.Record](d *draft, t *inventory.Table[T], rec T, key func(*T) inventory.NaturalKey) error {
	open := drafted(d, t, rec.Ref().Kind, key)
	if other, found := open.Namesake(&rec); found {
		return taken(*other)
	}
	open.Set(&rec)
	return nil
}

// placeAnyway sets a record of a kind of which two may be called the same.
func placeAnyway[T inventory.Record](d *draft, t *inventory.Table[T], rec T) error {
	drafted(d, t, rec.Ref().Kind, nil).Set(&rec)
	return nil
}

// placeSpecies sets a species, unless one of the two, it or another, goes by
// the accepted name of the other. That is no equality of keys, so all are
// read: not more than a thousand kinds of snake are venomous (from memory).
func placeSpecies(d *draft, rec inventory.Species) error {
	for other := range d.Species.All() {
		if other.ID != rec.ID && (other.Called(rec.Accepted) || rec.Called(other.Accepted)) {
			return taken(*other)
		}
	}
	return placeAnyway(d, &d.Species, rec)
}

// placeProduct sets a product, unless another one has its type or one of its
// trade item numbers. All are read where it has any: a house has few products.
func placeProduct(d *draft, rec inventory.Product) error {
	if len(rec.GTINs) > 0 {
		for other := range d.Products.All() {
			for _, gtin := range other.GTINs {
				if other.ID != rec.ID && slices.Contains(rec.GTINs, gtin) {
					return fmt.Errorf("the trade item number %s is already recorded of %q: look at the packages, and correct whichever is wrong", gtin, other.Type)
				}
			}
		}
	}
	return place(d, &d.Products, rec, func(p *inventory.Product) inventory.NaturalKey { return named(p.Type) })
}

func taken(by inventory.Record) error {
	return fmt.Errorf("another %s is already recorded as %q: correct that one, or give this one its own number", by.Ref().Kind, by.Name())
}

// offerKey tells a supplier's offers of one product apart: by pack, and by the
// day from which they hold.
func offerKey(s *inventory.Supply) inventory.NaturalKey {
	return within(s.Product, fmt.Sprintf("%s %d %s", s.From, s.PackSize, s.Supplier))
}

// named is the natural key of what has a name of its own.
func named(name string) inventory.NaturalKey { return inventory.NaturalKey{Name: name} }

// within is the natural key of what has a name within something else.
func within(id inventory.ID, name string) inventory.NaturalKey {
	return inventory.NaturalKey{Within: id, Name: name}
}
