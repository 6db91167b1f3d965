package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) backupCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy the database into a new file, beside a running watch",
		Long: `Copy everything, as it is at one instant, into a new SQLite file, whatever
database is configured and while the watch goes on. The copy is read back: its
journal must hold up to the head that is printed, and no row may be missing.
Beside it comes FILE.sha256, which sha256sum -c reads. Nothing is overwritten.

Keep the head elsewhere. The files hold people's names and addresses: nobody
else on this machine may read them. Passwords are not in them, nor is the
configuration.`,
		Args: one("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			made, err := daemon.Backup(cmd.Context(), opt, args[0])
			if err != nil {
				return err
			}
			return a.print(made)
		},
	}
}
