package deed

import (
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// SupplyOffered records what a supplier offers, at what price and how soon.
func SupplyOffered(s inventory.Supply) Deed { return put(WordsSupplyOffered, s) }

// OrderPlaced records what the house has ordered. Where it is by an offer, the
// product must be that of the offer, and what the order leaves open of when
// the vials come and how long they are in date is taken from it: its lead as
// of no import paper in force.
func OrderPlaced(o inventory.Order) Deed { return of(WordsOrderPlaced, placed{o}) }

// placed makes the order.
type placed struct{ order inventory.Order }

// Touches names the order.
func (p placed) Touches() []inventory.Ref { return []inventory.Ref{p.order.Ref()} }

// Apply puts the order.
func (p placed) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	o := p.order
	if offer, ok := s.Supplies.Get(o.Supply); ok {
		if offer.Product != o.Product {
			return nil, &compliance.Refusal{Subject: o.Ref(), Name: o.Number, Err: fmt.Errorf("the offer of %s is of %s: name the offer of this product",
				offer.Supplier, s.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: offer.Product}))}
		}
		if days, known := offer.Lead(false); known && o.Expected.IsZero() && len(o.Stages) > 0 {
			o.Expected = o.Stages[0].On.Add(days)
		}
		if o.Labelled.IsZero() && o.Life == 0 {
			o.Life = offer.Life
		}
	}
	return compliance.Record(o).Apply(s)
}

func order(id inventory.ID) inventory.Ref { return inventory.Ref{Kind: inventory.KindOrder, ID: id} }

// Reached is how far an order is from a day on, and what is known by then of
// when its vials will be at hand and how long they are in date; what is unset
// stays as it is recorded.
type Reached struct {
	On       day.Day
	Expected day.Day
	Labelled day.End
}

// OrderShipped records that an order is on its way.
func OrderShipped(id inventory.ID, r Reached) Deed {
	return reached(WordsOrderShipped, id, inventory.StageShipped, r)
}

// OrderAtCustoms records that customs hold an order.
func OrderAtCustoms(id inventory.ID, r Reached) Deed {
	return reached(WordsOrderAtCustoms, id, inventory.StageCustoms, r)
}

// OrderArrived records that the vials of an order are at the door. They count
// for nothing in hand until somebody has checked them and recorded them as
// received.
func OrderArrived(id inventory.ID, r Reached) Deed {
	return reached(WordsOrderArrived, id, inventory.StageArrived, r)
}

// OrderCancelled records that nothing comes of an order, and why.
func OrderCancelled(id inventory.ID, on day.Day, why string) Deed {
	return alter(WordsOrderCancelled, order(id), func(_ *compliance.Snapshot, o *inventory.Order) error {
		if why == "" {
			return errors.New("say why nothing comes of it")
		}
		if o.Note != "" {
			why = o.Note + "; " + why
		}
		o.Note = why
		return stage(o, inventory.StageCancelled, on)
	})
}

func reached(words string, id inventory.ID, what inventory.StageKind, r Reached) Deed {
	return alter(words, order(id), func(_ *compliance.Snapshot, o *inventory.Order) error {
		if !r.Expected.IsZero() {
			o.Expected = r.Expected
		}
		if !r.Labelled.IsZero() {
			o.Labelled = r.Labelled
		}
		return stage(o, what, r.On)
	})
}

// stage adds a stage to an order, on a day not before the stage that it
// follows.
func stage(o *inventory.Order, what inventory.StageKind, on day.Day) error {
	last := o.Stage()
	if o.Closed() {
		return fmt.Errorf("it is closed: it was %s on %s", last.What, last.On)
	}
	if err := before(on, "it was last recorded as "+string(last.What), last.On); err != nil {
		return err
	}
	o.Stages = with(o.Stages, inventory.Stage{What: what, On: on})
	return nil
}

// OfOrder says that the vials received were those of an order, which closes
// it. A second lot of the same order, received on the same day, changes nothing
// more. What did not come has to be ordered again, or it counts for nothing.
func (d Deed) OfOrder(id, product inventory.ID, on day.Day) Deed {
	d.Batch = append(d.Batch[:len(d.Batch):len(d.Batch)], compliance.Alter[inventory.Order]{Of: order(id), How: func(s *compliance.Snapshot, o *inventory.Order) error {
		if o.Product != product {
			return fmt.Errorf("it is of %s, not of what was received", s.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: o.Product}))
		}
		if last := o.Stage(); last.What == inventory.StageReceived && last.On == on {
			return nil
		}
		return stage(o, inventory.StageReceived, on)
	}})
	return d
}
