package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
)

func (a *app) placeCommand() *cobra.Command {
	return deeds("place", "Record where vials of a place can be fetched to", a.placeReaches())
}

func (a *app) placeReaches() *cobra.Command {
	var minutes int
	return a.deed(saying{words: deed.WordsPlaceReaches, args: "PLACE SITE", short: "Vials of a place can be fetched to a site, in so many minutes",
		long: `Record how long it takes until vials of a place are at hand at a site. At its own
site they are at hand at once unless this says otherwise; at another site they
do not count until this is recorded.`,
		flags: func(f *pflag.FlagSet) { f.IntVar(&minutes, "minutes", 0, "how many, by whoever would fetch them") },
		made: func(h *heard) (deed.Deed, error) {
			p, err := h.Place(h.args[0], "")
			if err != nil {
				return deed.Deed{}, err
			}
			site, err := h.SiteCalled(h.args[1])
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.PlaceReaches(p.ID, site.ID, minutes), nil
		}})
}
