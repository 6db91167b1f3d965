package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/daemon/naming"
	"antidotary/inventory"
)

func (a *app) lotCommand() *cobra.Command {
	return deeds("lot", "Record what happened to antivenom", a.lotReceived(), a.lotScanned(),
		a.lotTaken(deed.WordsLotUsed, "Vials were given to a patient, or opened for one", "they were used", "", deed.LotUsed),
		a.lotTaken(deed.WordsLotDiscarded, "Vials were thrown away", "they were thrown away", "why", deed.LotDiscarded),
		a.lotTaken(deed.WordsLotLent, "Another house or hospital has vials of ours", "they went", "to", deed.LotLent),
		a.lotReturned(), a.lotMoved(), a.lotHeld(), a.lotReleased())
}

// batch is what is said of vials of one lot.
type batch struct {
	product, place, site, note string
	vials                      int
}

func (b *batch) flags(f *pflag.FlagSet) {
	b.which(f)
	f.StringVar(&b.place, "place", "", "where they are kept (default: the only place that has any)")
	f.StringVar(&b.site, "site", "", "the site of the place, where several have one of that name")
	f.IntVar(&b.vials, "vials", 0, "how many")
}

func (b *batch) which(f *pflag.FlagSet) {
	f.StringVar(&b.product, "product", "", "what it is a lot of, where several products have that number")
}

// found finds the lot, and the vials that are said of it.
func (b *batch) found(h *heard) (*inventory.Lot, deed.Vials, error) {
	l, err := h.Lot(h.args[0], b.product)
	if err != nil {
		return nil, deed.Vials{}, err
	}
	place, err := b.where(h, l)
	if err != nil {
		return nil, deed.Vials{}, fmt.Errorf("--place: %w", err)
	}
	on, err := h.Happened(h.on, place.Site)
	return l, deed.Vials{Place: place.ID, Count: b.vials, On: on, Note: b.note}, err
}

// where finds the place that is named, or the only one where the lot is.
func (b *batch) where(h *heard, l *inventory.Lot) (*inventory.Place, error) {
	if b.place != "" {
		return h.Place(b.place, b.site)
	}
	var only *inventory.Place
	for p := range h.Places.All() {
		if deed.VialsAt(l, p.ID, h.Today(p.Site)) == 0 {
			continue
		}
		if only != nil {
			return nil, fmt.Errorf("lot %s is in more than one place: %s and %s", l.Number, h.NameOf(only.Ref()), h.NameOf(p.Ref()))
		}
		only = p
	}
	if only == nil {
		return nil, fmt.Errorf("lot %s is nowhere: name the place", l.Number)
	}
	return only, nil
}

func (a *app) lotReceived() *cobra.Command {
	var b batch
	var expires, order string
	return a.deed(saying{words: deed.WordsLotReceived, args: "LOT", short: "Vials came", day: "they came",
		long: `Record vials that came, with the last good day on the label: YYYY-MM-DD, YYYY-MM
where it has only month and year (then the last day of that month counts), or
unknown, which never counts as in date. Of a lot that is recorded already the
label must be the same.`,
		flags: func(f *pflag.FlagSet) {
			b.flags(f)
			f.StringVar(&expires, "expires", "", "the last good day on the label")
			f.StringVar(&order, "order", "", "the order that they were of, which is closed by it: what did not come has to be ordered again")
		},
		made: func(h *heard) (deed.Deed, error) {
			product, err := h.Product(b.product)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--product: %w", err)
			}
			place, err := h.Place(b.place, b.site)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--place: %w", err)
			}
			end, monthOnly, err := naming.End(expires, false)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--expires: %w", err)
			}
			on, err := h.Happened(h.on, place.Site)
			if err != nil {
				return deed.Deed{}, err
			}
			l := inventory.Lot{ID: inventory.NewID(), Product: product.ID, Number: h.args[0], Labelled: end, MonthOnly: monthOnly}
			if known, err := h.Lot(h.args[0], b.product); err == nil {
				l.ID = known.ID
			}
			received := deed.LotReceived(l, deed.Vials{Place: place.ID, Count: b.vials, On: on})
			if order == "" {
				return received, nil
			}
			of, err := h.Order(order)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--order: %w", err)
			}
			return received.OfOrder(of.ID, product.ID, on), nil
		}})
}

func (a *app) lotTaken(words, short, day, note string, of func(inventory.ID, deed.Vials) deed.Deed) *cobra.Command {
	var b batch
	return a.deed(saying{words: words, args: "LOT", short: short, day: day,
		flags: func(f *pflag.FlagSet) {
			b.flags(f)
			switch note {
			case "to":
				f.StringVar(&b.note, note, "", "who has them")
			case "why":
				f.StringVar(&b.note, note, "", "the reason")
			}
		},
		made: func(h *heard) (deed.Deed, error) {
			if note == "to" && b.note == "" {
				return deed.Deed{}, usageError{errors.New("--to is needed: say who has them")}
			}
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			return of(l.ID, v), nil
		}})
}

func (a *app) lotReturned() *cobra.Command {
	var b batch
	return a.deed(saying{words: deed.WordsLotReturned, args: "LOT", short: "Vials that were lent came back", day: "they came back",
		long: `Record vials that were lent and came back. How they were kept meanwhile is not
known by that: put the lot on hold until somebody has checked.`,
		flags: b.flags,
		made: func(h *heard) (deed.Deed, error) {
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.LotReturned(l.ID, v), nil
		}})
}

func (a *app) lotMoved() *cobra.Command {
	var b batch
	var to string
	return a.deed(saying{words: deed.WordsLotMoved, args: "LOT", short: "Vials are at another place", day: "they moved",
		flags: func(f *pflag.FlagSet) {
			b.flags(f)
			f.StringVar(&to, "to", "", `where they are now: a place, or "PLACE at SITE"`)
		},
		made: func(h *heard) (deed.Deed, error) {
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			place, err := h.Place(to, "")
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--to: %w", err)
			}
			return deed.LotMoved(l.ID, v, place.ID), nil
		}})
}

func (a *app) lotHeld() *cobra.Command {
	var b batch
	var why string
	return a.deed(saying{words: deed.WordsLotHeld, args: "LOT", short: "A lot must not be used: a recall, a warm fridge", day: "that counts from",
		flags: func(f *pflag.FlagSet) {
			b.which(f)
			f.StringVar(&why, "why", "", "the reason")
		},
		made: func(h *heard) (deed.Deed, error) {
			l, err := h.Lot(h.args[0], b.product)
			if err != nil {
				return deed.Deed{}, err
			}
			if why == "" {
				return deed.Deed{}, usageError{errors.New("--why is needed: say why it is held")}
			}
			on, err := h.Happened(h.on, inventory.ID{})
			return deed.LotHeld(l.ID, on, why), err
		}})
}

func (a *app) lotReleased() *cobra.Command {
	var b batch
	return a.deed(saying{words: deed.WordsLotReleased, args: "LOT", short: "A lot may be used again", day: "that counts from",
		flags: b.which,
		made: func(h *heard) (deed.Deed, error) {
			l, err := h.Lot(h.args[0], b.product)
			if err != nil {
				return deed.Deed{}, err
			}
			on, err := h.Happened(h.on, inventory.ID{})
			return deed.LotReleased(l.ID, on), err
		}})
}
