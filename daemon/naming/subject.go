package naming

import (
	"fmt"
	"slices"
	"strings"

	"antidotary/inventory"
)

// Subject finds whatever is called by a name among some kinds of record, or
// "SPECIES at SITE" where a holding is among them.
func (n *Names) Subject(name string, kinds ...inventory.Kind) (inventory.Ref, error) {
	var ref inventory.Ref
	if ref.UnmarshalText([]byte(strings.TrimSpace(name))) == nil && slices.Contains(kinds, ref.Kind) && n.Lookup(ref) != nil {
		return ref, nil
	}
	if slices.Contains(kinds, inventory.KindHolding) {
		if species, site, ok := strings.Cut(name, " at "); ok {
			return n.holding(species, site)
		}
	}
	var found []inventory.Ref
	var wrong []error
	for _, kind := range kinds {
		ref, err := n.one(kind, name)
		switch {
		case err == nil && !ref.IsZero():
			found = append(found, ref)
		case err != nil:
			wrong = append(wrong, err)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		var all []string
		for _, ref := range found {
			all = append(all, n.NameOf(ref)+" ("+ref.String()+")")
		}
		return inventory.Ref{}, fmt.Errorf("%q is the name of several: %s", name, strings.Join(all, "; "))
	}
	var says []string
	for _, err := range wrong {
		says = append(says, err.Error())
	}
	return inventory.Ref{}, fmt.Errorf("%s", strings.Join(says, "; "))
}

func (n *Names) holding(species, site string) (inventory.Ref, error) {
	s, err := n.SpeciesOf(species)
	if err != nil {
		return inventory.Ref{}, err
	}
	at, err := n.SiteCalled(site)
	if err != nil {
		return inventory.Ref{}, err
	}
	return inventory.Holding(s.ID, at.ID), nil
}

// one finds a record of one kind.
func (n *Names) one(kind inventory.Kind, name string) (inventory.Ref, error) {
	switch kind {
	case inventory.KindOrganisation:
		return refOf(find(n, n.Organisations, name, func(o *inventory.Organisation) []string { return []string{o.Title} }, nil))
	case inventory.KindSite:
		return refOf(n.SiteCalled(name))
	case inventory.KindPerson:
		return refOf(n.Person(name))
	case inventory.KindPlace:
		return refOf(n.Place(name, ""))
	case inventory.KindAnimal:
		return refOf(n.Animal(name))
	case inventory.KindPermit:
		return refOf(n.Permit(name))
	case inventory.KindLot:
		return refOf(n.Lot(name, ""))
	}
	return inventory.Ref{}, nil
}

func refOf[T inventory.Record](rec *T, err error) (inventory.Ref, error) {
	if err != nil {
		return inventory.Ref{}, err
	}
	return (*rec).Ref(), nil
}
