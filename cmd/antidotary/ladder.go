package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
)

func (a *app) ladderCommand() *cobra.Command {
	var on, site string
	var routine bool
	cmd := &cobra.Command{
		Use:   "ladder [NAME]",
		Short: "Say who is nearest the next stage, what lapses, and what hangs on few people",
		Long: `Say of each site who is nearest to the next stage and what is missing, when each
authorisation lapses and why, which species hang on one or two people, and which
sessions wait for a signature. With the name of a person: every session and
signature of his that does not count, and why. What it says of people is for
themselves and for leads.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError{fmt.Errorf("one NAME at most is allowed; put a name of several words in quotes")}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			day, err := dayFlag("on", on)
			if err != nil {
				return err
			}
			q := daemon.Question{On: day}
			q.Routine = routine
			r, err := a.report(cmd.Context(), q)
			if err != nil {
				return err
			}
			if len(args) == 1 {
				p, err := (&naming.Names{Snapshot: r.View.Snapshot}).Person(args[0])
				if err != nil {
					return usageError{err}
				}
				climb, ok := answer.NewClimb(r, p)
				if !ok {
					return fmt.Errorf("no ladder says how people are brought on where %s works: take one of the packs that come along", p.Called)
				}
				return a.print(climb)
			}
			sites, err := sitesCalled(r.View.Snapshot, site)
			if err != nil {
				return err
			}
			return a.print(answer.NewLadder(r, sites))
		},
	}
	cmd.Flags().StringVar(&on, "on", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	cmd.Flags().StringVar(&site, "site", "", "this site alone")
	cmd.Flags().BoolVar(&routine, "routine", false, "take for granted that whoever handles regularly goes on doing so")
	a.demoFlag(cmd)
	return cmd
}
