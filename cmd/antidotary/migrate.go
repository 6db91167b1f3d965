package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) migrateCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "migrate", Short: "Look after the schema of the database"}
	cmd.AddCommand(&cobra.Command{
		Use:   "status",
		Short: "Say which steps of the schema the database has and which it lacks",
		Args:  none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			answer, err := daemon.MigrationStatus(cmd.Context(), opt)
			if answer != nil {
				if err := a.print(answer); err != nil {
					return err
				}
			}
			return err
		},
	}, &cobra.Command{
		Use:   "up",
		Short: "Bring the schema up to date, or make it in an empty database",
		Long: `Run the steps that the database lacks, each in one transaction: a step that
fails leaves nothing. Several may run this at once; each step is run once.
There is no way down: going back is restoring a backup, so make one first.
antidotary serve does the same when it starts.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			number, name, err := daemon.MigrateUp(cmd.Context(), opt)
			if err != nil {
				return err
			}
			return a.say("The schema is up to date: %d steps, the last is %s.\n", number, name)
		},
	})
	return cmd
}
