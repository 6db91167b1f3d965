package daemon

import (
	"context"
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
	"antidotary/inventory"
)

// Picking asks which vials to take.
type Picking struct {
	Of    string // a species or a product
	Site  string // may be left out where there is only one
	Vials int    // 0: a full course of each product for the species
	On    string // the day, as written
	Demo  string // full or small: ask of a demo house, not of the database
}

// Pick answers which vials to take, and records nothing.
func Pick(ctx context.Context, opt Options, q Picking) (*answer.Picked, error) {
	opt.settle()
	book, err := Rulebook(opt.Config)
	if err != nil {
		return nil, err
	}
	s, err := records(ctx, opt, book, Question{Demo: q.Demo})
	if err != nil {
		return nil, err
	}
	n := &naming.Names{Snapshot: s, Book: book, Now: opt.Clock()}
	of, err := speciesOrProduct(n, q.Of)
	if err != nil {
		return nil, err
	}
	site, err := siteToPickAt(n, q.Site)
	if err != nil {
		return nil, fmt.Errorf("--site: %w", err)
	}
	on, err := n.Day(q.On, site.ID)
	if err != nil {
		return nil, fmt.Errorf("--on: %w", err)
	}
	if q.Vials < 0 || q.Vials == 0 && of.Kind == inventory.KindProduct {
		return nil, errors.New("--vials is needed for a product: say how many, at least 1")
	}
	a := answer.NewPicked(s, of, site, q.Vials, on)
	a.NobodyTold = !house(s).Mailed
	return a, nil
}

func house(s *compliance.Snapshot) inventory.Organisation {
	for o := range s.Organisations.All() {
		return *o
	}
	return inventory.Organisation{}
}

func speciesOrProduct(n *naming.Names, name string) (inventory.Ref, error) {
	species, wrong := n.SpeciesOf(name)
	if wrong == nil {
		return species.Ref(), nil
	}
	product, err := n.Product(name)
	if err == nil {
		return product.Ref(), nil
	}
	return inventory.Ref{}, fmt.Errorf("%w; %w", wrong, err)
}

func siteToPickAt(n *naming.Names, name string) (*inventory.Site, error) {
	if name == "" && n.Sites.Len() == 1 {
		for s := range n.Sites.All() {
			return s, nil
		}
	}
	if name == "" {
		return nil, errors.New("say at which site: vials at another one are not at hand")
	}
	return n.SiteCalled(name)
}
