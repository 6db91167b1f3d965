package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) demoCommand() *cobra.Command {
	opt := daemon.DemoOptions{}
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Run the whole watch on a fictional reptile house",
		Long: `Run the whole watch on a fictional reptile house: records in a database that
is thrown away at the end, rules from files, findings, and real mail over SMTP
to a mailbox inside this program. People, places and numbers are invented.
Ctrl-C ends it and leaves nothing behind.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if opt.House != "full" && opt.House != "small" {
				return usageError{fmt.Errorf("--house: %q is not allowed: full or small", opt.House)}
			}
			opt.Clock, opt.Out, opt.Err = a.clock, a.out, a.err
			return daemon.Demo(cmd.Context(), opt)
		},
	}
	cmd.Flags().StringVar(&opt.House, "house", "full", "full: a reptile house on three sites; small: one person, eight snakes, no mail")
	cmd.Flags().BoolVar(&opt.Once, "once", false, "print and end, without serving the page")
	cmd.Flags().StringVar(&opt.Keep, "keep", "", "keep the database and a configuration in this new folder")
	return cmd
}
