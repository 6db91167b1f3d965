package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) lotPromised() *cobra.Command {
	var b batch
	var p inventory.Promise
	var until string
	return a.deed(saying{words: deed.WordsLotPromised, args: "LOT", short: "Vials are kept for somebody else", day: "that counts from",
		long: `Record vials that are kept for somebody else. They stay where they are, and do not
count until the promise ends: by itself after the day of --until, or by
antidotary lot promise ended.`,
		flags: func(f *pflag.FlagSet) {
			b.flags(f)
			f.StringVar(&p.To, "to", "", "for whom")
			f.StringVar(&p.Why, "why", "", "for what")
			f.StringVar(&until, "until", "", "the last day of the promise (default: until somebody ends it)")
		},
		made: func(h *heard) (deed.Deed, error) {
			if p.To == "" {
				return deed.Deed{}, usageError{errors.New("--to is needed: say for whom")}
			}
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			p.From, p.Place, p.Vials = v.On, v.Place, v.Count
			if until != "" {
				place, _ := h.Places.Get(v.Place)
				if p.Until, err = h.Day(until, place.Site); err != nil {
					return deed.Deed{}, fmt.Errorf("--until: %w", err)
				}
			}
			return deed.LotPromised(l.ID, p), nil
		}})
}

func (a *app) lotPromiseEnded() *cobra.Command {
	var b batch
	var number int
	return a.deed(saying{words: deed.WordsLotPromiseEnded, args: "LOT", short: "Vials are not kept for somebody else any more", day: "that counts from",
		flags: func(f *pflag.FlagSet) {
			b.which(f)
			f.IntVar(&number, "promise", 0, "the number of the promise, where several run")
		},
		made: func(h *heard) (deed.Deed, error) {
			l, err := h.Lot(h.args[0], b.product)
			if err != nil {
				return deed.Deed{}, err
			}
			on, err := h.Happened(h.on, inventory.ID{})
			return deed.LotPromiseEnded(l.ID, number, on), err
		}})
}
