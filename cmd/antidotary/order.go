package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) orderCommand() *cobra.Command {
	at := deeds("at", "Where an order is held up", a.orderReached(deed.WordsOrderAtCustoms, "Customs hold an order", "they began to hold it", deed.OrderAtCustoms))
	cmd := deeds("order", "Record what antivenom is ordered, and how far it is", a.orderPlaced(),
		a.orderReached(deed.WordsOrderShipped, "An order is on its way", "it was sent", deed.OrderShipped), at,
		a.orderReached(deed.WordsOrderArrived, "The vials of an order are at the door, not checked yet", "they came", deed.OrderArrived),
		a.orderCancelled())
	cmd.Long = `An order counts for nothing in hand until its vials are checked and recorded
with lot received --order. An order that is overdue counts for nothing at all.`
	return cmd
}

// coming is what is known of when vials come, and how long they are good.
type coming struct{ expected, expires string }

func (c *coming) flags(f *pflag.FlagSet) {
	f.StringVar(&c.expected, "expected", "", "the day on which the vials will be checked and at hand: YYYY-MM-DD")
	f.StringVar(&c.expires, "expires", "", "the last good day on their labels, where the supplier said it: YYYY-MM-DD or YYYY-MM")
}

func (a *app) orderPlaced() *cobra.Command {
	var o inventory.Order
	var product, place, site, supplier string
	var c coming
	return a.deed(saying{words: deed.WordsOrderPlaced, args: "ORDER", short: "The house has ordered antivenom", day: "it was ordered",
		long: `Record an order under a number of the house's own. Where an offer of the supplier
is recorded, the day on which the vials are expected and how long they will be in
date are taken from it unless they are given. An order of which neither an end
nor a life is known does not count on the planned line either.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&product, "product", "", "what is ordered")
			f.StringVar(&place, "place", "", "where the vials will be kept")
			f.StringVar(&site, "site", "", "the site of the place, where several have one of that name")
			f.IntVar(&o.Vials, "vials", 0, "how many")
			f.StringVar(&supplier, "from", "", "the supplier: by a recorded offer, or anybody")
			f.IntVar(&o.Life, "life", 0, "for how many days from the expected day on they will be in date, where no label is known")
			f.StringVar(&o.Note, "note", "", "anything else")
			c.flags(f)
		},
		made: func(h *heard) (deed.Deed, error) {
			of, err := h.Product(product)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--product: %w", err)
			}
			to, err := h.Place(place, site)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--place: %w", err)
			}
			o.ID, o.Number, o.Product, o.Place = inventory.NewID(), h.args[0], of.ID, to.ID
			if err := h.ordered(&o, supplier); err != nil {
				return deed.Deed{}, fmt.Errorf("--from: %w", err)
			}
			on, err := h.Happened(h.on, to.Site)
			if err != nil {
				return deed.Deed{}, err
			}
			o.Stages = []inventory.Stage{{What: inventory.StageOrdered, On: on}}
			if o.Expected, err = h.optionalDay("expected", c.expected, to.Site); err != nil {
				return deed.Deed{}, err
			}
			o.Labelled, err = optionalEnd("expires", c.expires)
			return deed.OrderPlaced(o), err
		}})
}

// ordered notes whom an order is from: by the offer that is recorded of them,
// if any is.
func (h *heard) ordered(o *inventory.Order, supplier string) error {
	offers := strings.HasPrefix(supplier, inventory.KindSupply.String()+":")
	for s := range h.Supplies.All() {
		offers = offers || s.Product == o.Product && strings.EqualFold(s.Supplier, strings.TrimSpace(supplier))
	}
	if !offers {
		o.From = supplier
		return nil
	}
	offer, err := h.Supply(supplier, o.Product)
	if err == nil {
		o.Supply = offer.ID
	}
	return err
}

// orderSite gives the site that an order goes to.
func (h *heard) orderSite(o *inventory.Order) inventory.ID {
	if p, ok := h.Places.Get(o.Place); ok {
		return p.Site
	}
	return inventory.ID{}
}

func (a *app) orderReached(words, short, when string, of func(inventory.ID, deed.Reached) deed.Deed) *cobra.Command {
	var c coming
	return a.deed(saying{words: words, args: "ORDER", short: short, day: when, flags: c.flags,
		made: func(h *heard) (deed.Deed, error) {
			o, err := h.Order(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			var r deed.Reached
			if r.On, err = h.Happened(h.on, h.orderSite(o)); err != nil {
				return deed.Deed{}, err
			}
			if r.Expected, err = h.optionalDay("expected", c.expected, h.orderSite(o)); err != nil {
				return deed.Deed{}, err
			}
			r.Labelled, err = optionalEnd("expires", c.expires)
			return of(o.ID, r), err
		}})
}

func (a *app) orderCancelled() *cobra.Command {
	var why string
	return a.deed(saying{words: deed.WordsOrderCancelled, args: "ORDER", short: "Nothing comes of an order", day: "that was known",
		flags: func(f *pflag.FlagSet) { f.StringVar(&why, "why", "", "the reason") },
		made: func(h *heard) (deed.Deed, error) {
			if why == "" {
				return deed.Deed{}, usageError{errors.New("--why is needed: say why nothing comes of it")}
			}
			o, err := h.Order(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			on, err := h.Happened(h.on, h.orderSite(o))
			return deed.OrderCancelled(o.ID, on, why), err
		}})
}
