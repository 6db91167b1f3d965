package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) lotHeld() *cobra.Command {
	var b batch
	var why string
	return a.deed(saying{words: deed.WordsLotHeld, args: "LOT", short: "A lot must not be used: a recall, a warm fridge", day: "that counts from",
		long: `Record that a lot must not be used: all of it, as at a recall, or by --place what
is at one place, as after a warm fridge. What was moved from that place since is
held where it went. Do not throw it away: label it, store it properly, and ask.`,
		flags: func(f *pflag.FlagSet) {
			b.which(f)
			heldAt(f, &b)
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
			place, err := b.heldPlace(h)
			if err != nil {
				return deed.Deed{}, err
			}
			on, err := h.Happened(h.on, place.Site)
			return deed.LotHeld(l.ID, on, why, place.ID), err
		}})
}

func heldAt(f *pflag.FlagSet, b *batch) {
	f.StringVar(&b.place, "place", "", "only what is at this place (default: the whole lot)")
	f.StringVar(&b.site, "site", "", "the site of the place, where several have one of that name")
}

// heldPlace finds the place of a hold; the zero place where none is named.
func (b *batch) heldPlace(h *heard) (inventory.Place, error) {
	if b.place == "" {
		return inventory.Place{}, nil
	}
	p, err := h.Place(b.place, b.site)
	if err != nil {
		return inventory.Place{}, fmt.Errorf("--place: %w", err)
	}
	return *p, nil
}

func (a *app) lotReleased() *cobra.Command {
	var b batch
	var whole bool
	return a.deed(saying{words: deed.WordsLotReleased, args: "LOT", short: "A lot may be used again", day: "that counts from",
		long: `Record that a lot may be used again, once for each hold. Where several holds
count, say which: by --place that of one place, by --whole that of the whole lot.`,
		flags: func(f *pflag.FlagSet) {
			b.which(f)
			heldAt(f, &b)
			f.BoolVar(&whole, "whole", false, "the hold of the whole lot")
		},
		made: func(h *heard) (deed.Deed, error) {
			l, err := h.Lot(h.args[0], b.product)
			if err != nil {
				return deed.Deed{}, err
			}
			if whole && b.place != "" {
				return deed.Deed{}, usageError{errors.New("--whole and --place are two holds: say one of them")}
			}
			place, err := b.heldPlace(h)
			if err != nil {
				return deed.Deed{}, err
			}
			var of *inventory.ID
			if whole || b.place != "" {
				of = &place.ID
			}
			on, err := h.Happened(h.on, place.Site)
			return deed.LotReleased(l.ID, on, of), err
		}})
}
