package main

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) serveCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "serve",
		Short: "Run the watch: sweep on schedule, mail, and one page on this machine",
		Args:  none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			d, err := daemon.New(opt)
			if err != nil {
				return err
			}
			if err := d.Start(cmd.Context()); err != nil {
				return err
			}
			if err := a.say("antidotary watches. Page: http://%s/\n", d.Addr()); err != nil {
				return err
			}
			d.Supervise(cmd.Context())
			ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
			defer cancel()
			return d.Stop(ctx)
		},
	}
}
