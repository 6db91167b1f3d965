package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func (a *app) openCommand() *cobra.Command {
	var task, at, site, as string
	var present []string
	cmd := &cobra.Command{
		Use:   "open ENCLOSURE",
		Short: "Say who may open an enclosure, for what task, with whom, and why not",
		Long: `Say who may open an enclosure for a task: pairs of a primary and a back-up, and
of everybody else why not. The sides are the house (state, papers, labels),
cover for a bite, each person (the ladder, papers, certificates), and who goes
with whom. The answer is may, may not or cannot tell, by the records of now; the
lead decides. Looking, water through a port and recapture are never blocked.

Tasks: ` + strings.Join(ladder.LevelNames(), ", ") + `.`,
		Args: one("ENCLOSURE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			level := ladder.Hook
			if err := level.UnmarshalText([]byte(task)); err != nil {
				return usageError{fmt.Errorf("--task: %w", err)}
			}
			r, enclosure, when, err := a.doorOf(cmd, args[0], site, at)
			if err != nil {
				return err
			}
			names := &naming.Names{Snapshot: r.View.Snapshot}
			var people []inventory.ID
			for _, name := range present {
				p, err := names.Person(name)
				if err != nil {
					return usageError{fmt.Errorf("--present: %w", err)}
				}
				people = append(people, p.ID)
			}
			reader, err := readerCalled(r.View, names, as, enclosure.Site)
			if err != nil {
				return err
			}
			return a.print(answer.NewOpen(r, r.Access(enclosure, level, people), when, reader))
		},
	}
	cmd.Flags().StringVar(&task, "task", "hook", "what is to be done: "+strings.Join(ladder.LevelNames(), ", "))
	cmd.Flags().StringVar(&at, "at", "", "the instant to answer for, such as 2026-11-20T08:00:00Z (default: now)")
	cmd.Flags().StringVar(&site, "site", "", "the site, where several have an enclosure of that code")
	cmd.Flags().StringSliceVar(&present, "present", nil, "who is there: names, parted by commas (default: whoever works at the site)")
	cmd.Flags().StringVar(&as, "for", "", "who reads: reasons about people are shown to themselves and to leads")
	a.demoFlag(cmd)
	return cmd
}

// doorOf finds an enclosure in the records, judged as of the day of an instant
// at its site.
func (a *app) doorOf(cmd *cobra.Command, code, site, at string) (*compliance.Report, *inventory.Enclosure, time.Time, error) {
	var when time.Time
	var err error
	if at != "" {
		if when, err = instantFlag("at", at); err != nil {
			return nil, nil, when, err
		}
	}
	r, err := a.report(cmd.Context(), daemon.Question{})
	if err != nil {
		return nil, nil, when, err
	}
	enclosure, err := (&naming.Names{Snapshot: r.View.Snapshot}).Enclosure(code, site)
	if err != nil {
		return nil, nil, when, usageError{err}
	}
	if when.IsZero() {
		return r, enclosure, r.View.Ask.Now, nil
	}
	zone, err := time.LoadLocation(r.View.Site(enclosure.Site).Zone)
	if err != nil {
		return nil, nil, when, err
	}
	if on := day.In(when, zone); on != r.View.Today(enclosure.Site) {
		r = compliance.Evaluate(r.View.Book, r.View.Snapshot, compliance.Ask{Now: r.View.Ask.Now, On: on})
	}
	return r, enclosure, when, nil
}

// readerCalled says who reads.
func readerCalled(v *compliance.View, names *naming.Names, as string, site inventory.ID) (answer.Reader, error) {
	if as == "" {
		return answer.Reader{}, nil
	}
	p, err := names.Person(as)
	if err != nil {
		return answer.Reader{}, usageError{fmt.Errorf("--for: %w", err)}
	}
	return answer.ReaderOf(v, p, site), nil
}
