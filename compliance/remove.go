package compliance

import (
	"fmt"
	"iter"

	"antidotary/inventory"
)

// referred gives one of some records to which another refers that is none of
// them, and that one; nil where there is none. It reads everything: records
// are seldom taken out.
func (s *Snapshot) referred(some []inventory.Ref) (to inventory.Ref, by inventory.Record) {
	of := make(map[inventory.ID]inventory.Ref, len(some))
	for _, ref := range some {
		of[ref.ID] = ref
	}
	for rec := range s.Everything() {
		if _, among := of[rec.Ref().ID]; among {
			continue
		}
		for _, r := range references(rec) {
			for _, id := range []inventory.ID{r.ref.ID, r.ref.At} {
				if ref, among := of[id]; among {
					return ref, rec
				}
			}
		}
	}
	return inventory.Ref{}, nil
}

// Everything yields every record, what is referred to first.
func (s *Snapshot) Everything() iter.Seq[inventory.Record] {
	return func(yield func(inventory.Record) bool) {
		_ = every(s.Organisations, yield) && every(s.Sites, yield) && every(s.Enclosures, yield) && every(s.Species, yield) &&
			every(s.People, yield) && every(s.Animals, yield) && every(s.Products, yield) && every(s.Coverage, yield) &&
			every(s.Places, yield) && every(s.Supplies, yield) && every(s.Orders, yield) && every(s.Agreements, yield) &&
			every(s.Lots, yield) && every(s.Planned, yield) && every(s.Authorities, yield) &&
			every(s.Permits, yield) && every(s.Activities, yield) && every(s.Feeds, yield) && every(s.NotWatched, yield) &&
			every(s.Decisions, yield) && every(s.Sessions, yield) && every(s.Authorisations, yield) &&
			every(s.Credits, yield) && every(s.Placements, yield)
	}
}

// every yields a table's records, and says whether to go on.
func every[T inventory.Record](t inventory.Table[T], yield func(inventory.Record) bool) bool {
	for rec := range t.All() {
		if !yield(*rec) {
			return false
		}
	}
	return true
}

// remove takes a record out of its table.
func (d *draft) remove(ref inventory.Ref) error {
	if open, ok := d.open[ref.Kind]; ok {
		open.Done()
		delete(d.open, ref.Kind)
	}
	switch ref.Kind {
	case inventory.KindOrganisation:
		d.Organisations = d.Organisations.Without(ref.ID)
	case inventory.KindSite:
		d.Sites = d.Sites.Without(ref.ID)
	case inventory.KindEnclosure:
		d.Enclosures = d.Enclosures.Without(ref.ID)
	case inventory.KindSpecies:
		d.Species = d.Species.Without(ref.ID)
	case inventory.KindAnimal:
		d.Animals = d.Animals.Without(ref.ID)
	case inventory.KindProduct:
		d.Products = d.Products.Without(ref.ID)
	case inventory.KindCoverage:
		d.Coverage = d.Coverage.Without(ref.ID)
	case inventory.KindPlace:
		d.Places = d.Places.Without(ref.ID)
	case inventory.KindSupply:
		d.Supplies = d.Supplies.Without(ref.ID)
	case inventory.KindOrder:
		d.Orders = d.Orders.Without(ref.ID)
	case inventory.KindAgreement:
		d.Agreements = d.Agreements.Without(ref.ID)
	case inventory.KindLot:
		d.Lots = d.Lots.Without(ref.ID)
	case inventory.KindPlanned:
		d.Planned = d.Planned.Without(ref.ID)
	case inventory.KindPerson:
		d.People = d.People.Without(ref.ID)
	case inventory.KindAuthority:
		d.Authorities = d.Authorities.Without(ref.ID)
	case inventory.KindPermit:
		d.Permits = d.Permits.Without(ref.ID)
	case inventory.KindActivity:
		d.Activities = d.Activities.Without(ref.ID)
	case inventory.KindFeed:
		d.Feeds = d.Feeds.Without(ref.ID)
	case inventory.KindNotWatched:
		d.NotWatched = d.NotWatched.Without(ref.ID)
	case inventory.KindDecision:
		d.Decisions = d.Decisions.Without(ref.ID)
	case inventory.KindSession:
		d.Sessions = d.Sessions.Without(ref.ID)
	case inventory.KindAuthorisation:
		d.Authorisations = d.Authorisations.Without(ref.ID)
	case inventory.KindCredit:
		d.Credits = d.Credits.Without(ref.ID)
	case inventory.KindPlacement:
		d.Placements = d.Placements.Without(ref.ID)
	default:
		return fmt.Errorf("no table keeps a %s", ref.Kind)
	}
	return nil
}
