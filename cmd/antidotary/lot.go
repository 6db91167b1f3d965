package main

import (
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/daemon/naming"
	"antidotary/inventory"
)

func (a *app) lotCommand() *cobra.Command {
	return deeds("lot", "Record what happened to antivenom, and pick what ends first", a.lotReceived(), a.lotScanned(), a.lotUsed(), a.lotDiscarded(),
		a.lotLent(), a.lotReturned(), a.lotMoved(), a.lotHeld(), a.lotReleased(), a.lotChecked(), a.lotUnfit(), a.lotReserved(),
		a.lotPromised(), deeds("promise", "End a promise of vials", a.lotPromiseEnded()), a.lotPick())
}

// batch is what is said of vials of one lot.
type batch struct {
	product, place, site, note, condition string
	vials                                 int
}

func (b *batch) flags(f *pflag.FlagSet) {
	b.which(f)
	f.StringVar(&b.place, "place", "", "where they are kept (default: the only place that has any)")
	f.StringVar(&b.site, "site", "", "the site of the place, where several have one of that name")
	f.IntVar(&b.vials, "vials", 0, "how many")
}

// outOf is a flag for deeds that take vials from somewhere.
func (b *batch) outOf(f *pflag.FlagSet) {
	b.flags(f)
	f.StringVar(&b.condition, "condition", "", "which of them: checked, unchecked, unfit, reserve or unknown (needed where several are there)")
}

func (b *batch) which(f *pflag.FlagSet) {
	f.StringVar(&b.product, "product", "", "what it is a lot of, where several products have that number")
}

// conditionOf reads a condition; nil where none is said.
func conditionOf(text string) (*inventory.Condition, error) {
	for _, c := range inventory.Conditions {
		if text == c.String() {
			return &c, nil
		}
	}
	if text == "" {
		return nil, nil
	}
	return nil, usageError{fmt.Errorf("%q is not allowed: write checked, unchecked, unfit, reserve or unknown", text)}
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
	of, err := conditionOf(b.condition)
	if err != nil {
		return nil, deed.Vials{}, fmt.Errorf("--condition: %w", err)
	}
	on, err := h.Happened(h.on, place.Site)
	return l, deed.Vials{Place: place.ID, Count: b.vials, On: on, Note: b.note, Of: of}, err
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
	var checked bool
	return a.deed(saying{words: deed.WordsLotReceived, args: "LOT", short: "Vials came", day: "they came",
		long: `Record vials that came, with the last good day on the label: YYYY-MM-DD, YYYY-MM
where it has only month and year (then the last day of that month counts), or
unknown, which never counts as in date. Of a lot that is recorded already the
label must be the same.

They are unchecked, and not counted on, until somebody has looked at them (seal
whole, clear, not cracked, never frozen): say --checked, or later
antidotary lot checked.`,
		flags: func(f *pflag.FlagSet) {
			b.flags(f)
			f.StringVar(&expires, "expires", "", "the last good day on the label")
			f.StringVar(&order, "order", "", "the order that they were of, which is closed by it: what did not come has to be ordered again")
			f.BoolVar(&checked, "checked", false, "somebody looked at each of them, and it is good")
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
			received := deed.LotReceived(l, deed.Vials{Place: place.ID, Count: b.vials, On: on, Of: looked(checked)})
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

// looked is the condition of vials that came; nil: nobody looked.
func looked(checked bool) *inventory.Condition {
	if checked {
		return new(inventory.Checked)
	}
	return nil
}

func (a *app) lotUsed() *cobra.Command {
	var b batch
	return a.deed(saying{words: deed.WordsLotUsed, args: "LOT", short: "Vials were given to a patient, or opened for one", day: "they were used",
		long: `Record vials that were given to a patient, or opened or made up for one: all of
these are used. It asks for no witness and no condition; whether the lot is on
hold or past its end does not matter.`,
		flags: b.outOf,
		made: func(h *heard) (deed.Deed, error) {
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.LotUsed(l.ID, v), nil
		}})
}

func (a *app) lotDiscarded() *cobra.Command {
	var b batch
	var w witnessing
	return a.deed(saying{words: deed.WordsLotDiscarded, args: "LOT", short: "Vials were thrown away", day: "they were thrown away",
		flags: func(f *pflag.FlagSet) {
			b.outOf(f)
			w.flags(f, "threw them away")
			f.StringVar(&b.note, "why", "", "the reason")
		},
		made: func(h *heard) (deed.Deed, error) {
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			v.Watched, err = w.read(h)
			return deed.LotDiscarded(l.ID, v), err
		}})
}

func (a *app) lotMoved() *cobra.Command {
	var b batch
	var to string
	return a.deed(saying{words: deed.WordsLotMoved, args: "LOT", short: "Vials are at another place", day: "they moved",
		long: `Record vials that are at another place now, in the condition in which they were.
Where the place that they left is on hold, they are held where they are now.`,
		flags: func(f *pflag.FlagSet) {
			b.outOf(f)
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
