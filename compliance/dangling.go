package compliance

import (
	"fmt"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// dangling refuses a record that refers to something that is not recorded.
func (s *Snapshot) dangling(rec inventory.Record) error {
	for _, r := range references(rec) {
		if r.ref.ID == (inventory.ID{}) {
			continue
		}
		if s.Lookup(r.ref) == nil {
			return &inventory.FieldError{Field: r.field, Problem: fmt.Sprintf("no %s %s is recorded: record it first", r.ref.Kind, r.ref.ID)}
		}
		if site := siteRef(r.ref.At); r.ref.Kind == inventory.KindHolding && s.Lookup(site) == nil {
			return &inventory.FieldError{Field: r.field, Problem: fmt.Sprintf("no site %s is recorded: record it first", site.ID)}
		}
	}
	return nil
}

type reference struct {
	field string
	ref   inventory.Ref
}

func references(rec inventory.Record) []reference {
	to := func(field string, kind inventory.Kind, ids ...inventory.ID) []reference {
		var out []reference
		for _, id := range ids {
			out = append(out, reference{field, inventory.Ref{Kind: kind, ID: id}})
		}
		return out
	}
	join := func(lists ...[]reference) (all []reference) {
		for _, l := range lists {
			all = append(all, l...)
		}
		return all
	}
	switch r := rec.(type) {
	case inventory.Site:
		return to("organisation", inventory.KindOrganisation, r.Organisation)
	case inventory.Enclosure:
		return to("site", inventory.KindSite, r.Site)
	case inventory.Animal:
		out := join(to("species", inventory.KindSpecies, r.Species), []reference{{"custodian", r.Custodian}})
		for _, stay := range r.Stays {
			out = append(out, to("stays.enclosure", inventory.KindEnclosure, stay.Enclosure)...)
		}
		return out
	case inventory.Coverage:
		return join(to("product", inventory.KindProduct, r.Product), to("species", inventory.KindSpecies, r.Species))
	case inventory.Place:
		out := to("site", inventory.KindSite, r.Site)
		for _, reach := range r.Reach {
			out = append(out, to("reach.site", inventory.KindSite, reach.Site)...)
		}
		return out
	case inventory.Supply:
		return to("product", inventory.KindProduct, r.Product)
	case inventory.Order:
		return join(to("product", inventory.KindProduct, r.Product), to("place", inventory.KindPlace, r.Place), to("supply", inventory.KindSupply, r.Supply))
	case inventory.Agreement:
		out := join(to("site", inventory.KindSite, r.Site), to("product", inventory.KindProduct, r.Product))
		for _, c := range r.Confirmations {
			out = append(out, to("confirmations.by", inventory.KindPerson, c.By)...)
		}
		return out
	case inventory.Lot:
		return ofLot(&r)
	case inventory.Planned:
		return join(to("site", inventory.KindSite, r.Site), to("species", inventory.KindSpecies, r.Species),
			to("product", inventory.KindProduct, r.Product), []reference{{"subject", r.Subject}})
	case Person:
		out := to("site", inventory.KindSite, r.Site)
		for _, o := range r.Offices {
			out = append(out, to("offices.site", inventory.KindSite, o.Site)...)
		}
		return out
	case Permit:
		return join(to("authority", inventory.KindAuthority, r.Authority), []reference{{"holder", r.Holder}},
			to("sites", inventory.KindSite, r.Sites...), to("animals", inventory.KindAnimal, r.Animals...),
			to("renews", inventory.KindPermit, r.Renews))
	case Activity:
		return join([]reference{{"subject", r.Subject}}, to("by", inventory.KindPerson, r.By), to("witness", inventory.KindPerson, r.Witness))
	case Feed:
		return to("site", inventory.KindSite, r.Site)
	case NotWatched:
		return join([]reference{{"subject", r.Subject}}, to("by", inventory.KindPerson, r.By))
	case Decision:
		return join([]reference{{"subject", r.Subject}}, to("by", inventory.KindPerson, r.By))
	case ladder.Session:
		return join(to("trainee", inventory.KindPerson, r.Trainee), to("mentor", inventory.KindPerson, r.Mentor), to("site", inventory.KindSite, r.Site),
			to("species", inventory.KindSpecies, r.Species), to("animals", inventory.KindAnimal, r.Animals...))
	case ladder.Authorisation:
		return join(to("person", inventory.KindPerson, r.Person), to("species", inventory.KindSpecies, r.Species),
			to("mentor", inventory.KindPerson, r.Mentor), to("signers", inventory.KindPerson, r.Signers...))
	case ladder.Credit:
		return join(to("person", inventory.KindPerson, r.Person), to("signers", inventory.KindPerson, r.Signers...))
	case ladder.Placement:
		return join([]reference{{"subject", r.Subject}}, to("by", inventory.KindPerson, r.By))
	}
	return nil
}

// ofLot gives what a lot refers to; of persons and places only those that are
// named.
func ofLot(l *inventory.Lot) []reference {
	out := make([]reference, 0, 1+len(l.Movements))
	add := func(field string, kind inventory.Kind, id inventory.ID) {
		if id != (inventory.ID{}) {
			out = append(out, reference{field, inventory.Ref{Kind: kind, ID: id}})
		}
	}
	add("product", inventory.KindProduct, l.Product)
	for _, m := range l.Movements {
		add("movements.place", inventory.KindPlace, m.Place)
		add("movements.by", inventory.KindPerson, m.By)
		add("movements.witness", inventory.KindPerson, m.Witness)
	}
	for _, h := range l.Holds {
		add("holds.place", inventory.KindPlace, h.Place)
	}
	for _, p := range l.Promises {
		add("promises.place", inventory.KindPlace, p.Place)
	}
	for _, n := range l.Loans {
		add("loans.approver", inventory.KindPerson, n.Approver)
	}
	return out
}
