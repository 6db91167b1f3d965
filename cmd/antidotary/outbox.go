package main

import (
	"errors"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/store"
)

func (a *app) outboxCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "outbox",
		Short: "Say which mails wait, and whether mail is held",
		Long: `Say how many mails are in each state, which wait, and whether and why all mail
is held. It is held after a restore, and for good in a database that was moved:
the watch sweeps and queues mails then, and none leaves.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			outbox, err := daemon.Outbox(cmd.Context(), opt)
			if err != nil {
				return err
			}
			return a.print(outbox)
		},
	}
	cmd.AddCommand(a.releaseCommand())
	return cmd
}

func (a *app) releaseCommand() *cobra.Command {
	var as string
	var drop bool
	cmd := &cobra.Command{
		Use:   "release",
		Short: "End the hold on mail: everything that waits goes out",
		Long: `End the hold on mail once the restored database is the one that counts. In a
database that was moved, leave it: the other one tells people.

It works beside a running watch too. Everything that waits goes out, also what
may have been sent before the backup was restored: to tell twice does less harm
than to tell nobody.

With --drop-waiting the mails that waited already when the hold began never go
out. They count as told. Those that were queued since go out.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if as == "" {
				return usageError{errors.New("--as is needed: say who ends the hold")}
			}
			opt, err := a.options()
			if err != nil {
				return err
			}
			released, err := daemon.Release(cmd.Context(), opt, store.Actor{ID: as}, drop)
			if err != nil {
				return err
			}
			return a.print(released)
		},
	}
	cmd.Flags().StringVar(&as, "as", "", "who ends the hold; it is recorded")
	cmd.Flags().BoolVar(&drop, "drop-waiting", false, "never send what waited already when the hold began")
	return cmd
}
