package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) rulesDiff() *cobra.Command {
	var asOf string
	cmd := &cobra.Command{
		Use:   "diff OLD [NEW]",
		Short: "Compare rule packs, and say which answers change",
		Long: `Compare rule packs field by field, and say which duties are answered otherwise
because of it, today or later: the first day of another answer, and nothing that
stays. OLD and NEW are files or folders, or the word loaded for what is loaded
now (default for NEW). Each side stands in the place of the loaded packs of the
same names. Nothing is written.

  antidotary rules diff loaded moss-next.yaml      what a new edition would change`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 1 || len(args) > 2 {
				return usageError{fmt.Errorf("%d arguments: OLD is needed, and NEW may be given", len(args))}
			}
			return nil
		},
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
			differs, err := daemon.DiffRules(cmd.Context(), opt, q, args[0], append(args, daemon.Loaded)[1])
			if err != nil {
				return err
			}
			return a.print(differs)
		},
	}
	cmd.Flags().StringVar(&asOf, "as-of", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	a.demoFlag(cmd)
	return cmd
}
