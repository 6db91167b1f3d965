package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) rulesLint() *cobra.Command {
	return &cobra.Command{
		Use:   "lint [FOLDER or FILE...]",
		Short: "Find mistakes in rule packs",
		Long: `Find mistakes in rule packs, each as file:line:column with what to do: misspelt
keys, words and attributes, days that overlap, scopes that are true of nothing,
packs that nobody has read again, law from memory, and more. Without FOLDER or
FILE it looks at all packs that are loaded. The loaded packs, the records and
the demo house are there for comparison.

A note is something that may be as it is meant. Exit codes: 0 no mistake, notes
or not; 1 a mistake.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			found, err := daemon.LintRules(cmd.Context(), opt, args)
			if err != nil {
				return err
			}
			if found.Mistakes > 0 {
				a.code = exitFailed
			}
			return a.print(found)
		},
	}
}
