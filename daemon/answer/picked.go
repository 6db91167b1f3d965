package answer

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Picked answers which vials to take for a bite, or to send: what ends first
// goes first. Nothing is recorded by it.
type Picked struct {
	Telling
	Format   int             `json:"format"`
	Asked    string          `json:"asked"` // the species or the product
	Site     string          `json:"site"`
	On       day.Day         `json:"on"`
	Products []PickedProduct `json:"products"` // a course comes from one of them
	Excluded []string        `json:"excluded"` // stated not to work against the species
}

// PickedProduct is what there is of one product.
type PickedProduct struct {
	Product string `json:"product"`
	// Ground says why the product is taken to work, by whose word; empty where
	// the product was asked for.
	Ground   string      `json:"ground,omitempty"`
	Wanted   int         `json:"wanted"` // vials; 0: nobody said, and no full course is recorded
	Take     []PickedLot `json:"take"`
	Short    int         `json:"short"`
	Doubtful []PickedLot `json:"doubtful"` // never picked
}

// PickedLot is vials of one lot at one place.
type PickedLot struct {
	Lot   string  `json:"lot"`
	Place string  `json:"place"`
	Vials int     `json:"vials"`
	Ends  day.End `json:"ends"` // last good day
}

// NewPicked picks of the products that are taken to work against a species, or
// of one product, at a site. Of a species 0 vials are a full course of each.
func NewPicked(s *compliance.Snapshot, of inventory.Ref, site *inventory.Site, vials int, on day.Day) *Picked {
	a := &Picked{Format: Format, Asked: s.NameOf(of), Site: site.Title, On: on, Products: []PickedProduct{}, Excluded: []string{}}
	if of.Kind == inventory.KindProduct {
		a.Products = append(a.Products, pickedOf(s, of.ID, site.ID, vials, on))
		return a
	}
	for _, c := range coverageOf(s, of.ID) {
		if c.Basis == inventory.Excluded {
			a.Excluded = append(a.Excluded, s.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: c.Product}))
			continue
		}
		p := pickedOf(s, c.Product, site.ID, cmp.Or(vials, inventory.LineOf(inventory.Vials{}, c.Vials).At(on).Full), on)
		p.Ground = fmt.Sprintf("taken to work because %s, says %s (%s)", words.Basis(c.Basis), c.Source, c.Certainty.Words())
		a.Products = append(a.Products, p)
	}
	return a
}

// coverageOf gives what is recorded against a species, the strongest ground
// first.
func coverageOf(s *compliance.Snapshot, species inventory.ID) (rows []*inventory.Coverage) {
	for c := range s.Coverage.All() {
		if c.Species == species {
			rows = append(rows, c)
		}
	}
	strongest := []inventory.Basis{inventory.Indicated, inventory.Immunogen, inventory.Paraspecific, inventory.Excluded}
	slices.SortStableFunc(rows, func(a, b *inventory.Coverage) int {
		return cmp.Or(cmp.Compare(slices.Index(strongest, a.Basis), slices.Index(strongest, b.Basis)), slices.Compare(a.ID[:], b.ID[:]))
	})
	return rows
}

func pickedOf(s *compliance.Snapshot, product, site inventory.ID, vials int, on day.Day) PickedProduct {
	var lots []*inventory.Lot
	for l := range s.Lots.All() {
		if l.Product == product {
			lots = append(lots, l)
		}
	}
	found := inventory.Pick(lots, func(place inventory.ID) bool {
		p, ok := s.Places.Get(place)
		return ok && p.Site == site
	}, vials, on)
	lines := func(picked []inventory.Picked) []PickedLot {
		out := []PickedLot{}
		for _, p := range picked {
			out = append(out, PickedLot{p.Lot.Number, s.NameOf(inventory.Ref{Kind: inventory.KindPlace, ID: p.Place}), p.Vials, p.End})
		}
		return out
	}
	return PickedProduct{Product: s.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: product}), Wanted: vials,
		Take: lines(found.Take), Short: found.Short, Doubtful: lines(found.Doubtful)}
}

// WriteText prints the answer for a terminal.
func (a *Picked) WriteText(w io.Writer) error {
	out := &printer{w: w}
	out.text(fmt.Sprintf("To take for %s at %s on %s. Nothing is recorded by this; when vials are used: antidotary lot used", a.Asked, a.Site, words.Day(a.On)))
	if len(a.Products) > 1 {
		out.text("A course comes from one product. Which one, the treating clinician decides.")
	}
	for _, p := range a.Products {
		out.line("")
		out.text(p.Product)
		out.picked(p)
	}
	if len(a.Products) == 0 {
		out.line("")
		out.text("CANNOT TELL which product is for it: none is recorded as working against this species.")
	}
	for _, name := range a.Excluded {
		out.line("")
		out.text("DO NOT TAKE " + name + ": it is stated not to work against this species.")
	}
	out.line("")
	out.text(words.Caution)
	return out.err
}

func (p *printer) picked(of PickedProduct) {
	if of.Ground != "" {
		p.indented("%s", words.Capital(of.Ground)+".")
	}
	for _, l := range of.Take {
		p.indented("%s of lot %s from %s, last good day %s", words.Count(l.Vials, "vial"), l.Lot, l.Place, l.Ends)
	}
	switch {
	case of.Wanted == 0:
		p.indented("How many make a full course is not recorded: say how many by --vials.")
	case of.Short > 0:
		p.indented("SHORT by %s of %d that were asked for.", words.Count(of.Short, "vial"), of.Wanted)
	}
	for _, l := range of.Doubtful {
		p.indented("Not picked: %s of lot %s at %s: its last good day is %s, and who may use doubtful vials the clinician decides. If nobody has looked at them, look, then record antidotary lot checked.",
			words.Count(l.Vials, "vial"), l.Lot, l.Place, l.Ends)
	}
}
