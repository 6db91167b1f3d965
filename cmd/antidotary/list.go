package main

import (
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) listCommand() *cobra.Command {
	cmd := deeds("list", "Record that a list is kept, or is complete", a.listKept(), a.listConfirmed())
	cmd.Aliases = []string{"feed"}
	cmd.Long = `The absence of a record proves something only inside a list that somebody keeps
and confirms: animals, people, papers, stock, activities.`
	return cmd
}

func (a *app) listKept() *cobra.Command {
	var site, keeper string
	var maxAge int
	return a.deed(saying{words: deed.WordsListKept, args: "TOPIC", short: "Somebody keeps a list from now on", day: "nothing is missing in it since",
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&site, "site", "", "the site that it is for (default: every site)")
			f.StringVar(&keeper, "keeper", "", "the role of whoever keeps it")
			f.IntVar(&maxAge, "max-age", 35, "for how many days a confirmation is good")
		},
		made: func(h *heard) (deed.Deed, error) {
			feed := compliance.Feed{ID: inventory.NewID(), Topic: compliance.Topic(h.args[0]), Keeper: compliance.Role(keeper), MaxAge: maxAge}
			if site != "" {
				at, err := h.SiteCalled(site)
				if err != nil {
					return deed.Deed{}, fmt.Errorf("--site: %w", err)
				}
				feed.Site = at.ID
			}
			var err error
			feed.Complete, err = h.Happened(h.on, feed.Site)
			return deed.ListKept(feed), err
		}})
}

func (a *app) listConfirmed() *cobra.Command {
	var site string
	return a.deed(saying{words: deed.WordsListConfirmed, args: "TOPIC", short: "Somebody looked through a list, and nothing is missing", day: "it was looked through",
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&site, "site", "", "the site whose list it is, where sites have their own")
		},
		made: func(h *heard) (deed.Deed, error) {
			feed, err := h.List(h.args[0], site)
			if err != nil {
				return deed.Deed{}, err
			}
			on, err := h.Happened(h.on, feed.Site)
			return deed.ListConfirmed(feed.ID, on), err
		}})
}
