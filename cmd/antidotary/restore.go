package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) restoreCommand() *cobra.Command {
	var without bool
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Bring a backup into an empty database, and hold all mail",
		Long: `Bring the backup FILE into the database that the configuration names: a file
that is not there yet, or an empty database on a server. What is there is never
overwritten. FILE must be what FILE.sha256 says, and its journal must hold. All
of it is restored or nothing.

All mail is held then, because what waited when the backup was made may have
been sent since: see antidotary outbox --help.`,
		Args: one("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			restored, err := daemon.Restore(cmd.Context(), opt, args[0], without)
			if err != nil {
				return err
			}
			return a.print(restored)
		},
	}
	cmd.Flags().BoolVar(&without, "without-manifest", false, "restore although FILE.sha256 is missing: nobody can tell then whether FILE was altered")
	return cmd
}

// one demands exactly one argument.
func one(name string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != 1 {
			return usageError{fmt.Errorf("%d arguments: one is needed, %s", len(args), name)}
		}
		return nil
	}
}
