package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) rulesExplain() *cobra.Command {
	var asOf string
	cmd := &cobra.Command{
		Use:   "explain RULE-ID",
		Short: "Say in words what a rule asks, and of whom now",
		Long: `Say in words what a rule asks, of what, where, from when and by which source, with
the meaning of each parameter; which other rules ask for the same; and what the
rule itself says now of each subject that it applies to.`,
		Args: one("RULE-ID"),
		RunE: func(cmd *cobra.Command, args []string) error {
			q := daemon.Question{Demo: a.demo}
			var err error
			if q.On, err = dayFlag("as-of", asOf); err != nil {
				return err
			}
			opt, err := a.options()
			if err != nil {
				return err
			}
			explained, err := daemon.ExplainRule(cmd.Context(), opt, q, args[0])
			if err != nil {
				return err
			}
			return a.print(explained)
		},
	}
	cmd.Flags().StringVar(&asOf, "as-of", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	a.demoFlag(cmd)
	return cmd
}
