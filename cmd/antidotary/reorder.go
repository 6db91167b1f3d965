package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"antidotary/compliance"
	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/inventory"
	"antidotary/inventory/cover"
)

func (a *app) reorderCommand() *cobra.Command {
	var budget string
	var named []string
	t := answer.ReorderTerms{}
	cmd := &cobra.Command{
		Use:   "reorder",
		Short: "Plan what antivenom to order, how many packs and by when, at the least cost",
		Long: `Plan what antivenom a site must order, how many packs and by when, so that the
planned bites can be treated on every day of the next months, at the least
cost of the offers that are recorded (supply offered). Says whether that is
proven, what each order is for, what no order can help in time, and what comes
next after the plan. Nothing is ordered or written.

Several sites are planned for together where the rule on cover counts vials
within so many minutes and a place is that near to all of them: what is ordered
is to be kept there. Without --site the plan is for all sites.

With --stagger 3, of each product at most a third of what the planned victims
may need of it has its last good day in any one calendar year, so that not all
lapses together. Where that cannot be held, the plan that goes least beyond it
is given, and says so: staggering never leaves anybody untreated.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if t.Months < 1 || t.Months > 60 {
				return usageError{fmt.Errorf("--months: %d is not allowed: write 1 to 60", t.Months)}
			}
			if t.Victims < 0 || t.Victims > cover.MostVictims {
				return usageError{fmt.Errorf("--victims: %d is not allowed: write 1 to %d", t.Victims, cover.MostVictims)}
			}
			if budget != "" {
				var err error
				if t.Budget, t.Currency, err = inventory.ParseMoney(budget); err != nil {
					return usageError{fmt.Errorf("--budget: %w", err)}
				}
			}
			if t.Stagger != 0 && (t.Stagger < 2 || t.Stagger > 10) {
				return usageError{fmt.Errorf("--stagger: %d is not allowed: write 2 to 10 parts", t.Stagger)}
			}
			r, err := a.report(cmd.Context(), daemon.Question{Assumptions: inventory.Assumptions{Plans: true}})
			if err != nil {
				return err
			}
			if t.Sites, err = sitesOf(r.View.Snapshot, named); err != nil {
				return err
			}
			if err := answer.PlannedTogether(r, t.Sites); err != nil {
				return usageError{fmt.Errorf("--site: %w", err)}
			}
			plan, err := answer.NewReorder(r, t)
			if err != nil {
				return err
			}
			return a.print(plan)
		},
	}
	cmd.Flags().StringArrayVar(&named, "site", nil, "for which site; give it again for more (default: all)")
	cmd.Flags().IntVar(&t.Months, "months", 24, "how many months must be covered")
	cmd.Flags().IntVar(&t.Victims, "victims", 0, "so many people bitten at once (default: as the rule on cover says)")
	cmd.Flags().StringVar(&budget, "budget", "", `most that may be ordered in a calendar year, such as "12000.00 GBP"`)
	cmd.Flags().IntVar(&t.Stagger, "stagger", 0, "into how many parts: one of them may lapse in a calendar year (default: not)")
	a.demoFlag(cmd)
	return cmd
}

// sitesOf finds the sites of some names, each once; all sites where none is
// named.
func sitesOf(s *compliance.Snapshot, names []string) (sites []inventory.ID, err error) {
	if len(names) == 0 {
		return sitesCalled(s, "")
	}
	for _, name := range names {
		called, err := sitesCalled(s, name)
		if err != nil {
			return nil, err
		}
		for _, site := range called {
			if !slices.Contains(sites, site) {
				sites = append(sites, site)
			}
		}
	}
	return sites, nil
}
