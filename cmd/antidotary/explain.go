package main

import (
	"strings"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/answer"
)

func (a *app) explainCommand() *cobra.Command {
	var asOf string
	cmd := &cobra.Command{
		Use:   "explain SUBJECT",
		Short: "Say why: every rule, citation and fact about one subject",
		Long: `Say why something is or is not in order: what law and policy say of it, each
rule by itself with its citation and the facts that it used, and what changes
next. SUBJECT is an accession, permit or lot number, a person, a site, or
"SPECIES at SITE".`,
		Args: func(cmd *cobra.Command, args []string) error {
			if err := cobra.MinimumNArgs(1)(cmd, args); err != nil {
				return usageError{err}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			on, err := dayFlag("as-of", asOf)
			if err != nil {
				return err
			}
			r, err := a.report(cmd.Context(), daemon.Question{On: on})
			if err != nil {
				return err
			}
			subject, err := answer.Find(r, strings.Join(args, " "))
			if err != nil {
				return err
			}
			return a.print(answer.NewExplain(r, subject))
		},
	}
	cmd.Flags().StringVar(&asOf, "as-of", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	a.demoFlag(cmd)
	return cmd
}
