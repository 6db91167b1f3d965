package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/inventory"
)

func (a *app) aheadCommand() *cobra.Command {
	var until string
	var q daemon.Question
	cmd := &cobra.Command{
		Use:   "ahead",
		Short: "Say what changes standing when, the first lapse first",
		Long: `Say what changes standing and when, if nobody does anything: no new records are
assumed. Planned burdens (animals arriving, people leaving, litters) always
count; planned gains only with --plans; daily routine only with --routine.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var err error
			if q.Until, err = dayFlag("until", until); err != nil {
				return err
			}
			r, err := a.report(cmd.Context(), q)
			if err != nil {
				return err
			}
			today := r.View.Today(inventory.ID{})
			end := r.View.Horizon(inventory.ID{})
			if end < today {
				return usageError{fmt.Errorf("--until: %s is before today, %s", end, today)}
			}
			return a.print(answer.NewAhead(r, end))
		},
	}
	cmd.Flags().StringVar(&until, "until", "", "last day to look at, YYYY-MM-DD (default: 24 months from today)")
	cmd.Flags().BoolVar(&q.Plans, "plans", false, "assume that planned gains come true: orders arrive, animals leave")
	cmd.Flags().BoolVar(&q.Routine, "routine", false, "assume that habitual activities go on: counts, confirmations")
	a.demoFlag(cmd)
	return cmd
}
