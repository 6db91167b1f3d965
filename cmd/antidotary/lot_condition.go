package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) lotChecked() *cobra.Command {
	return a.lotCondition(saying{words: deed.WordsLotChecked, short: "Somebody looked at vials, and they are good", day: "they were checked",
		long: `Record that somebody looked at vials: seal whole, clear, not cracked, never
frozen. From then on they are counted on. Those that nobody had looked at are
meant, unless --condition says otherwise.`}, deed.LotChecked)
}

func (a *app) lotUnfit() *cobra.Command {
	return a.lotCondition(saying{words: deed.WordsLotUnfit, short: "Vials must not be used: broken seal, cracked, turbid, frozen", day: "it was found",
		long: `Record vials that must not be used. They are kept where they are, and do not
count.`}, deed.LotUnfit)
}

func (a *app) lotReserved() *cobra.Command {
	return a.lotCondition(saying{words: deed.WordsLotReserved, short: "Vials past their end are kept for a last resort", day: "that counts from",
		long: `Record vials that the house keeps past their end for a last resort, by its
policy: on a shelf apart, and a physician decides. They never count again. Local
law may forbid to keep them.`}, deed.LotReserved)
}

func (a *app) lotCondition(s saying, of func(inventory.ID, deed.Vials) deed.Deed) *cobra.Command {
	var b batch
	s.args = "LOT"
	s.flags = func(f *pflag.FlagSet) {
		b.outOf(f)
		f.StringVar(&b.note, "why", "", "what was seen, or the reason")
	}
	s.made = func(h *heard) (deed.Deed, error) {
		l, v, err := b.found(h)
		if err != nil {
			return deed.Deed{}, err
		}
		v.By, err = h.by("")
		return of(l.ID, v), err
	}
	return a.deed(s)
}
