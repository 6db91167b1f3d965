package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/inventory"
	"antidotary/inventory/cover"
)

func (a *app) reorderCommand() *cobra.Command {
	var site, budget string
	t := answer.ReorderTerms{}
	cmd := &cobra.Command{
		Use:   "reorder",
		Short: "Plan what antivenom to order, how many packs and by when, at the least cost",
		Long: `Plan what antivenom a site must order, how many packs and by when, so that the
planned bites can be treated on every day of the next months, at the least
cost of the offers that are recorded (supply offered). Says whether that is
proven, what each order is for, what no order can help in time, and what comes
next after the plan. Nothing is ordered or written.`,
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
			r, err := a.report(cmd.Context(), daemon.Question{Assumptions: inventory.Assumptions{Plans: true}})
			if err != nil {
				return err
			}
			sites, err := sitesCalled(r.View.Snapshot, site)
			if err != nil {
				return err
			}
			if len(sites) != 1 {
				return usageError{fmt.Errorf("--site: name the site: there are %d", len(sites))}
			}
			t.Site = sites[0]
			plan, err := answer.NewReorder(r, t)
			if err != nil {
				return err
			}
			return a.print(plan)
		},
	}
	cmd.Flags().StringVar(&site, "site", "", "for which site (default: the only one)")
	cmd.Flags().IntVar(&t.Months, "months", 24, "how many months must be covered")
	cmd.Flags().IntVar(&t.Victims, "victims", 0, "so many people bitten at once (default: as the rule on cover says)")
	cmd.Flags().StringVar(&budget, "budget", "", `most that may be ordered in a calendar year, such as "12000.00 GBP"`)
	a.demoFlag(cmd)
	return cmd
}
