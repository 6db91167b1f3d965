package main

import (
	"errors"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) sweepCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "sweep",
		Short: "Do once what the schedule missed, and send what waits, without a daemon",
		Long: `Do once what a daemon does by schedule, for a machine that is not always on:
judge the records, tell people what changed, prove that the watch is alive if
that is due, remove old mail if that is due, and send what is in the outbox.

Run it as often as you like: nobody is told twice. Beside a daemon on PostgreSQL
it shares the work; a file that a daemon holds is refused, because that daemon
sweeps by itself.

It ends like check does: 0 in order, 3 something cannot be told, 4 something is
out of order. If a mail did not leave it prints all the same, and ends with 1:
somebody has not been told.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			swept, err := daemon.SweepOnce(cmd.Context(), opt)
			if swept == nil {
				return err
			}
			a.code = exitCode(swept.Check.Worst())
			return errors.Join(a.print(swept), err, swept.Untold())
		},
	}
}
