package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) weekCommand() *cobra.Command {
	var asOf string
	cmd := &cobra.Command{
		Use:   "week FOLDER",
		Short: "Write a sheet of this week's duties to print, and a calendar file",
		Long: `Write two files into FOLDER, in place of those of before: week.html, to print on
A4, with what is overdue and what must be done in seven days, by day and by
whose it is, with a box to tick and a line to sign; and duties.ics, for calendar
programs, with everything that is open and that lapses in the next two years.

Both hold names: only you may read them. Subscribe to the calendar file rather
than importing it, so that what has ended goes. With week_folder in the
configuration each sweep writes both. For a house without mail they are all that
anybody gets to see unasked.`,
		Args: one("FOLDER"),
		RunE: func(cmd *cobra.Command, args []string) error {
			q := daemon.Question{Demo: a.demo}
			var err error
			if q.On, err = dayFlag("as-of", asOf); err != nil {
				return err
			}
			opt, err := a.options()
			if err != nil {
				return err
			}
			written, err := daemon.Week(cmd.Context(), opt, q, args[0])
			if err != nil {
				return err
			}
			return a.print(written)
		},
	}
	cmd.Flags().StringVar(&asOf, "as-of", "", "the first day, YYYY-MM-DD (default: today)")
	a.demoFlag(cmd)
	return cmd
}
