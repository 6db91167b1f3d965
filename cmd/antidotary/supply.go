package main

import (
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/daemon/naming"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func (a *app) supplyCommand() *cobra.Command {
	return deeds("supply", "Record what suppliers of antivenom offer", a.supplyOffered())
}

// cited is whose word a figure is, and how well that was checked.
type cited struct{ source, certainty string }

func (c *cited) flags(f *pflag.FlagSet) {
	f.StringVar(&c.source, "source", "", "who says so: the offer, the label, a publication")
	f.StringVar(&c.certainty, "certainty", "", "how well that was checked: R read there, R2 read elsewhere, M from memory, D derived")
}

func (a *app) supplyOffered() *cobra.Command {
	var s inventory.Supply
	var price, fee, until string
	var by cited
	return a.deed(saying{words: deed.WordsSupplyOffered, args: "PRODUCT SUPPLIER", short: "A supplier offers antivenom", day: "the offer begins",
		long: `Record a supplier's offer of a product: packs, prices, and how many calendar days
everything takes. What is left out is unknown, and an order-by day cannot be
told without the lead. Prices are written with their currency: "2350.00 GBP".`,
		flags: func(f *pflag.FlagSet) {
			f.IntVar(&s.PackSize, "pack", 0, "vials in a pack")
			f.IntVar(&s.MinPacks, "min-packs", 0, "least packs of one order")
			f.StringVar(&price, "price", "", `price of a pack, such as "2350.00 GBP"`)
			f.StringVar(&fee, "fee", "", "what an order costs besides, whatever its size")
			f.IntVar(&s.LeadDays, "lead", 0, "days from the order to the door")
			f.StringVar(&s.Paper, "paper", "", "class of the import paper that an order needs")
			f.IntVar(&s.PaperDays, "paper-days", 0, "days until that paper is there, where none is in force")
			f.IntVar(&s.CustomsDays, "customs", 0, "days at customs, beyond the lead")
			f.IntVar(&s.CheckDays, "checking", 0, "days until the vials are checked, beyond the lead")
			f.IntVar(&s.Life, "life", 0, "for how many days from arrival on the supplier promises that they are in date")
			f.StringVar(&until, "until", "unknown", "last day of the offer: YYYY-MM-DD, YYYY-MM, never or unknown")
			by.flags(f)
		},
		made: func(h *heard) (deed.Deed, error) {
			product, err := h.Product(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			s.ID, s.Product, s.Supplier = inventory.NewID(), product.ID, h.args[1]
			s.Source, s.Certainty = by.source, inventory.Certainty(by.certainty)
			if err := priced(&s, price, fee); err != nil {
				return deed.Deed{}, err
			}
			if s.Until, _, err = naming.End(until, true); err != nil {
				return deed.Deed{}, fmt.Errorf("--until: %w", err)
			}
			s.From, err = h.Day(h.on, inventory.ID{})
			return deed.SupplyOffered(s), err
		}})
}

// priced reads the prices of an offer, which are in one currency.
func priced(s *inventory.Supply, price, fee string) (err error) {
	if price != "" {
		if s.PackPrice, s.Currency, err = inventory.ParseMoney(price); err != nil {
			return fmt.Errorf("--price: %w", err)
		}
	}
	if fee == "" {
		return nil
	}
	minor, currency, err := inventory.ParseMoney(fee)
	switch {
	case err != nil:
		return fmt.Errorf("--fee: %w", err)
	case s.Currency != "" && currency != s.Currency:
		return fmt.Errorf("--fee: it is in %s, and the price in %s: write both in one currency", currency, s.Currency)
	}
	s.OrderFee, s.Currency = minor, currency
	return nil
}

// optionalDay reads a day that need not be given.
func (h *heard) optionalDay(flag, text string, site inventory.ID) (day.Day, error) {
	if text == "" {
		return 0, nil
	}
	d, err := h.Day(text, site)
	if err != nil {
		return 0, fmt.Errorf("--%s: %w", flag, err)
	}
	return d, nil
}

// optionalEnd reads a last good day that need not be given.
func optionalEnd(flag, text string) (day.End, error) {
	if text == "" {
		return day.End{}, nil
	}
	end, _, err := naming.End(text, false)
	if err != nil {
		return day.End{}, fmt.Errorf("--%s: %w", flag, err)
	}
	return end, nil
}
