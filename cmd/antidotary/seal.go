package main

import (
	"errors"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) sealCommand() *cobra.Command {
	return deeds("seal", "Record the numbered seal of a box or door with antivenom",
		a.seal(saying{words: deed.WordsSealSet, args: "PLACE NUMBER", short: "A seal was set", day: "it was set"}, deed.SealSet),
		a.seal(saying{words: deed.WordsSealChecked, args: "PLACE NUMBER", short: "Somebody looked at the seal", day: "it was looked at",
			long: `Record the number of the seal that somebody found, or none. One that is not the
recorded one is said and kept, and the record stays: find out, and record what
happened.`}, deed.SealChecked),
		a.seal(saying{words: deed.WordsSealBroken, args: "PLACE", short: "A seal is broken", day: "it was broken, or found so"}, deed.SealBroken))
}

func (a *app) seal(s saying, of func(deed.Seal) deed.Deed) *cobra.Command {
	var site, why string
	var w witnessing
	s.flags = func(f *pflag.FlagSet) {
		w.flags(f, "did it")
		f.StringVar(&site, "site", "", "the site of the place, where several have one of that name")
		if s.words == deed.WordsSealBroken {
			f.StringVar(&why, "why", "", "the reason")
		}
	}
	s.made = func(h *heard) (deed.Deed, error) {
		p, err := h.Place(h.args[0], site)
		if err != nil {
			return deed.Deed{}, err
		}
		if s.words == deed.WordsSealBroken && why == "" {
			return deed.Deed{}, usageError{errors.New("--why is needed: say why it is broken")}
		}
		c := deed.Seal{Activity: inventory.NewID(), Place: p.ID, Why: why}
		if len(h.args) > 1 {
			c.Number = h.args[1]
		}
		if c.Watched, err = w.read(h); err != nil {
			return deed.Deed{}, err
		}
		c.On, err = h.Happened(h.on, p.Site)
		return of(c), err
	}
	return a.deed(s)
}
