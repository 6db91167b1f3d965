package naming

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/intake"
	"antidotary/inventory"
)

// Names finds records of one snapshot. The zero Now means that today cannot
// be told.
type Names struct {
	*compliance.Snapshot
	Book *compliance.Rulebook // for the words that rules ask for; nil: any word is taken
	Now  time.Time
}

// nearest are as many as one reads.
const nearest = 5

// find gives the one record of a table that is called by a name, and that
// fits what else is known of it.
func find[T inventory.Record](n *Names, t inventory.Table[T], written string, called func(*T) []string, fits func(*T) bool) (*T, error) {
	kind := (*new(T)).Ref().Kind
	name := strings.TrimSpace(written)
	if name == "" {
		return nil, fmt.Errorf("name the %s", kind)
	}
	var ref inventory.Ref
	if ref.UnmarshalText([]byte(name)) == nil && ref.Kind == kind {
		if rec, ok := t.Get(ref.ID); ok {
			return rec, nil
		}
		return nil, fmt.Errorf("no %s is recorded", ref)
	}
	var found, elsewhere []*T
	var all []string
	for rec := range t.All() {
		own := called(rec)
		all = append(all, own...)
		if !slices.ContainsFunc(own, func(x string) bool { return strings.EqualFold(x, name) }) {
			continue
		}
		if fits == nil || fits(rec) {
			found = append(found, rec)
		} else {
			elsewhere = append(elsewhere, rec)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return nil, fmt.Errorf("%q is the name of several: %s", name, listing(n, found))
	case len(elsewhere) > 0:
		return nil, fmt.Errorf("%q is not there: what is called so is %s", name, listing(n, elsewhere))
	}
	return nil, unknown(kind.String(), name, all)
}

// unknown refuses a name that nobody goes by.
func unknown(kind, name string, all []string) error {
	near := intake.Nearest(name, all)
	switch {
	case len(near) > 0:
		return fmt.Errorf("no %s is recorded as %q; near it: %s", kind, name, strings.Join(near, ", "))
	case len(all) > 0 && len(all) <= nearest:
		slices.Sort(all)
		return fmt.Errorf("no %s is recorded as %q; recorded: %s", kind, name, strings.Join(all, ", "))
	}
	return fmt.Errorf("no %s is recorded as %q", kind, name)
}

// listing names records so that each can be told apart.
func listing[T inventory.Record](n *Names, records []*T) string {
	var out []string
	for _, rec := range records {
		ref := (*rec).Ref()
		out = append(out, n.NameOf(ref)+n.beside(*rec)+" ("+ref.String()+")")
	}
	slices.Sort(out)
	return strings.Join(out, "; ")
}

// beside says where a record is, or what of, where its name does not.
func (n *Names) beside(rec inventory.Record) string {
	switch r := rec.(type) {
	case inventory.Enclosure:
		return " at " + n.Site(r.Site).Title
	case inventory.Lot:
		if p, ok := n.Products.Get(r.Product); ok {
			return " of " + p.Type
		}
	case compliance.Person:
		if r.Email != "" {
			return ", " + r.Email
		}
	}
	return ""
}

// Permit finds a paper by its number.
func (n *Names) Permit(number string) (*compliance.Permit, error) {
	return find(n, n.Permits, number, func(p *compliance.Permit) []string { return []string{p.Number} }, nil)
}

// Animal finds an animal by its accession number.
func (n *Names) Animal(accession string) (*inventory.Animal, error) {
	return find(n, n.Animals, accession, func(a *inventory.Animal) []string { return []string{a.Accession} }, nil)
}

// SpeciesOf finds a species by its accepted name or a synonym, written in full.
func (n *Names) SpeciesOf(name string) (*inventory.Species, error) {
	return find(n, n.Species, name, func(s *inventory.Species) []string { return append([]string{s.Accepted}, s.Synonyms...) }, nil)
}

// SiteCalled finds a site by its name. No name means the only site there is.
func (n *Names) SiteCalled(name string) (*inventory.Site, error) {
	if name == "" && n.Sites.Len() == 1 {
		for s := range n.Sites.All() {
			return s, nil
		}
	}
	if name == "" {
		return nil, fmt.Errorf("name the site, one of %s", strings.Join(titles(n.Sites), ", "))
	}
	return find(n, n.Sites, name, func(s *inventory.Site) []string { return []string{s.Title} }, nil)
}

func titles[T inventory.Record](t inventory.Table[T]) (all []string) {
	for rec := range t.All() {
		all = append(all, (*rec).Name())
	}
	slices.Sort(all)
	return all
}

// Person finds somebody by name.
func (n *Names) Person(name string) (*compliance.Person, error) {
	return find(n, n.People, name, func(p *compliance.Person) []string { return []string{p.Called} }, nil)
}

// Product finds an antivenom by its nonproprietary type.
func (n *Names) Product(name string) (*inventory.Product, error) {
	return find(n, n.Products, name, func(p *inventory.Product) []string { return []string{p.Type} }, nil)
}

// Enclosure finds an enclosure by its code, at a site where one is named.
func (n *Names) Enclosure(code, site string) (*inventory.Enclosure, error) {
	at, err := n.optionalSite(site)
	if err != nil {
		return nil, err
	}
	return find(n, n.Enclosures, code, func(e *inventory.Enclosure) []string { return []string{e.Code} },
		func(e *inventory.Enclosure) bool { return at == nil || e.Site == at.ID })
}

// Place finds where antivenom is kept, by its name, with or without "at SITE".
func (n *Names) Place(name, site string) (*inventory.Place, error) {
	at, err := n.optionalSite(site)
	if err != nil {
		return nil, err
	}
	return find(n, n.Places, name, func(p *inventory.Place) []string {
		return []string{p.Title, p.Title + " at " + n.Site(p.Site).Title}
	}, func(p *inventory.Place) bool { return at == nil || p.Site == at.ID })
}

// Lot finds a lot by its number, of a product where one is named.
func (n *Names) Lot(number, product string) (*inventory.Lot, error) {
	var of *inventory.Product
	if product != "" {
		var err error
		if of, err = n.Product(product); err != nil {
			return nil, err
		}
	}
	return find(n, n.Lots, number, func(l *inventory.Lot) []string { return []string{l.Number} },
		func(l *inventory.Lot) bool { return of == nil || l.Product == of.ID })
}

func (n *Names) optionalSite(name string) (*inventory.Site, error) {
	if name == "" {
		return nil, nil
	}
	return n.SiteCalled(name)
}

// List finds the list of a topic. Where a site keeps one of its own, the site
// must be named.
func (n *Names) List(topic, site string) (*compliance.Feed, error) {
	at, err := n.optionalSite(site)
	if err != nil {
		return nil, err
	}
	return find(n, n.Feeds, topic, func(f *compliance.Feed) []string { return []string{string(f.Topic)} },
		func(f *compliance.Feed) bool { return at == nil || f.Site == at.ID })
}
