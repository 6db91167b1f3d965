package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/daemon/supposing"
	"antidotary/inventory"
)

func (a *app) aheadCommand() *cobra.Command {
	var until string
	var supposed, packs []string
	var q daemon.Question
	cmd := &cobra.Command{
		Use:   "ahead",
		Short: "Say what changes standing when, the first lapse first",
		Long: `Say what changes standing and when, if nobody does anything: no new records are
assumed. Planned burdens (animals arriving, people leaving, litters) always
count; planned gains only with --plans; daily routine only with --routine.

With --if nothing is told but what would be otherwise, and nothing is written:

  ` + strings.Join(supposing.Sentences, "\n  ") + `

  antidotary ahead --if "arrive 3 Naja kaouthia 2027-05-12 Wren Cottage"

may be given again, and is then supposed one after the other. --if-rules FOLDER
supposes that the packs in a folder are loaded too.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var err error
			if q.Until, err = dayFlag("until", until); err != nil {
				return err
			}
			if len(supposed)+len(packs) > 0 {
				return a.suppose(cmd, q, supposed, packs)
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
	cmd.Flags().StringArrayVar(&supposed, "if", nil, "suppose this, and tell only what would be otherwise; may be given again")
	cmd.Flags().StringArrayVar(&packs, "if-rules", nil, "suppose that the packs in this folder are loaded too; may be given again")
	a.demoFlag(cmd)
	return cmd
}

func (a *app) suppose(cmd *cobra.Command, q daemon.Question, sentences, packs []string) error {
	q.Demo = a.demo
	opt, err := a.options()
	if err != nil {
		return err
	}
	if sentences == nil {
		sentences = []string{}
	}
	supposed, err := daemon.Suppose(cmd.Context(), opt, q, sentences, packs)
	if err != nil {
		return err
	}
	return a.print(supposed)
}
