package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) watchingCommand() *cobra.Command {
	return deeds("watching", "Record that something is watched, or not yet", a.watchingBegun(), a.watchingPostponed())
}

// watchable are the kinds of record that can be declared not watched yet.
var watchable = []inventory.Kind{inventory.KindHolding, inventory.KindSite, inventory.KindPermit, inventory.KindAnimal, inventory.KindPerson, inventory.KindLot}

func (a *app) watchingBegun() *cobra.Command {
	return a.deed(saying{words: deed.WordsWatchingBegun, args: "SUBJECT", short: "What was declared not watched yet is watched", day: "it is watched from",
		made: func(h *heard) (deed.Deed, error) {
			subject, err := h.Subject(h.args[0], watchable...)
			if err != nil {
				return deed.Deed{}, err
			}
			from, err := h.Day(h.on, siteOf(h, subject))
			if err != nil {
				return deed.Deed{}, err
			}
			var declared []inventory.ID
			for n := range h.NotWatched.All() {
				if n.Subject == subject && n.Last >= from {
					declared = append(declared, n.ID)
				}
			}
			if len(declared) == 0 {
				return deed.Deed{}, fmt.Errorf("%s is not declared as not watched", h.NameOf(subject))
			}
			return deed.WatchingBegun(declared, from), nil
		}})
}

func (a *app) watchingPostponed() *cobra.Command {
	var by, why, last string
	return a.deed(saying{words: deed.WordsWatchingPostponed, args: "SUBJECT", short: "Something is not watched yet, until a day", day: "that counts from",
		long: `Declare that a site (with all that it holds), a paper, an animal, a person, a lot
or "SPECIES at SITE" is not watched yet: by whom, why, and until when. It is
printed everywhere and never reads as in order.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&by, "by", "", "who says so (default: whoever records it)")
			f.StringVar(&why, "why", "", "the reason")
			f.StringVar(&last, "last", "", "the last day on which it is not watched")
		},
		made: func(h *heard) (deed.Deed, error) {
			n := compliance.NotWatched{ID: inventory.NewID(), Why: why}
			var err error
			if n.Subject, err = h.Subject(h.args[0], watchable...); err != nil {
				return deed.Deed{}, err
			}
			if n.By, err = h.by(by); err != nil {
				return deed.Deed{}, fmt.Errorf("--by: %w", err)
			}
			if n.By == (inventory.ID{}) || last == "" {
				return deed.Deed{}, usageError{errors.New("--by and --last are needed: a person of the house says so, and nothing stays unwatched for ever")}
			}
			if n.From, err = h.Day(h.on, siteOf(h, n.Subject)); err != nil {
				return deed.Deed{}, err
			}
			if n.Last, err = h.Day(last, siteOf(h, n.Subject)); err != nil {
				return deed.Deed{}, fmt.Errorf("--last: %w", err)
			}
			return deed.WatchingPostponed(n), nil
		}})
}
