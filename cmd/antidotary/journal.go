package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) journalCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "journal", Short: "Look after the journal of changes"}
	cmd.AddCommand(&cobra.Command{
		Use:   "verify",
		Short: "Check that no entry of the journal was altered, removed or put in",
		Long: `Check the chain of the journal from its first entry to its head. An edited,
removed, swapped or inserted entry breaks it. A tail that was cut off shows
only against a head that was noted elsewhere: keep the head that is printed.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			report, err := daemon.VerifyJournal(cmd.Context(), opt)
			if err != nil {
				return err
			}
			if err := a.print(report); err != nil {
				return err
			}
			if report.Problem != "" {
				return errors.New("the journal does not hold")
			}
			return nil
		},
	})
	cmd.AddCommand(a.journalShow())
	return cmd
}

func (a *app) journalShow() *cobra.Command {
	var most int
	cmd := &cobra.Command{
		Use:   "show",
		Short: "List what was recorded last, the newest first",
		Long: `List what was recorded last, the newest first: its entry, when, by whom, what, and
about what. antidotary undo ENTRY takes it back.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if most < 1 {
				return usageError{errors.New("--most: at least 1")}
			}
			opt, err := a.options()
			if err != nil {
				return err
			}
			entries, err := daemon.Entries(cmd.Context(), opt, most)
			if err != nil {
				return err
			}
			return a.print(entries)
		},
	}
	cmd.Flags().IntVar(&most, "most", 20, "how many")
	return cmd
}

func (a *app) configCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "config", Short: "Check or print the configuration"}
	cmd.AddCommand(&cobra.Command{
		Use:   "check",
		Short: "Read configuration, rule packs and holidays, and tell every mistake",
		Args:  none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			summary, err := daemon.CheckConfig(opt)
			if err != nil {
				return err
			}
			fmt.Fprint(a.out, summary)
			return nil
		},
	}, &cobra.Command{
		Use:   "print",
		Short: "Print the configuration in effect, defaults included, secrets not",
		Args:  none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			fmt.Fprint(a.out, opt.Config.Print())
			return nil
		},
	})
	return cmd
}
