package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) lotPick() *cobra.Command {
	var q daemon.Picking
	cmd := &cobra.Command{
		Use: "pick SPECIES or PRODUCT", Short: "Which vials to take: what ends first goes first; records nothing",
		Long: `Say which vials to take at a site, from which lot and place: what ends first goes
first. Of a species it answers for each product that is taken to work, because a
course comes from one product and the clinician decides which. Vials that are
held, promised, expired, unfit or kept as a reserve are left out; those of which
it is not known whether they may be used are named, and never picked.

It records nothing: when vials are used, record antidotary lot used.`,
		Args: func(_ *cobra.Command, args []string) error { return fitting("SPECIES", args) },
		RunE: func(cmd *cobra.Command, args []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			q.Of, q.Demo = args[0], a.demo
			picked, err := daemon.Pick(cmd.Context(), opt, q)
			if err != nil {
				return err
			}
			return a.print(picked)
		},
	}
	f := cmd.Flags()
	f.IntVar(&q.Vials, "vials", 0, "how many (default: a full course of each product for the species)")
	f.StringVar(&q.Site, "site", "", "at which site (default: the only one)")
	f.StringVar(&q.On, "on", "today", "for which day: YYYY-MM-DD or today")
	a.demoFlag(cmd)
	return cmd
}
