package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) moveCommand() *cobra.Command {
	var passwordFile string
	cmd := &cobra.Command{
		Use:   "move TO",
		Short: "Move everything into another database, of either kind",
		Long: `Copy everything from the configured database into TO: the path of a new SQLite
file, or postgres://USER@HOST:PORT/NAME of an empty database on a server. The
journal comes along entry by entry, and its head stays the same. Stop the watch
first. The copy is read back.

The old database stays, and all its mail is held, so that starting the watch on
it by mistake mails nobody. What to write into the configuration is printed.`,
		Args: one("TO"),
		RunE: func(cmd *cobra.Command, args []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			moved, err := daemon.Move(cmd.Context(), opt, args[0], passwordFile)
			if err != nil {
				return err
			}
			return a.print(moved)
		},
	}
	cmd.Flags().StringVar(&passwordFile, "password-file", "", "file with the password of TO, which nobody else may read")
	return cmd
}
