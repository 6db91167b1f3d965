package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) rulesTest() *cobra.Command {
	return &cobra.Command{
		Use:   "test [FOLDER or FILE...]",
		Short: "Judge the packs' own tests",
		Long: `Judge the tests that packs carry, by the very judging of the watch, and show what
was expected, what was answered and on which facts. Without FOLDER or FILE it
takes all packs that are loaded. No record is read.

Exit codes: 0 all tests hold; 1 one does not.`,
		RunE: func(_ *cobra.Command, args []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			tested, err := daemon.TestRules(opt, args)
			if err != nil {
				return err
			}
			if tested.Failed > 0 {
				a.code = exitFailed
			}
			return a.print(tested)
		},
	}
}
