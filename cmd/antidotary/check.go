package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"antidotary/compliance"
	"antidotary/daemon"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

func (a *app) checkCommand() *cobra.Command {
	var asOf, knownAt string
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Say what is out of order, what cannot be told and what is due",
		Long: `Say what is out of order, what cannot be told, and what somebody must do soon:
what, by when, what follows if not, whose it is, by which rule, on which facts.

--as-of answers for another day from the records as they are known now.
--known-at answers as was known at a past instant: from the records of the
journal by then and the rules of then. It also says what people had been told
by then, and whether judging again gives the same. With both, it is the answer
for that day as it was known at that instant.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			q := daemon.Question{Demo: a.demo}
			var err error
			if q.On, err = dayFlag("as-of", asOf); err != nil {
				return err
			}
			if q.KnownAt, err = instantFlag("known-at", knownAt); err != nil {
				return err
			}
			return a.check(cmd.Context(), q)
		},
	}
	cmd.Flags().StringVar(&asOf, "as-of", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	cmd.Flags().StringVar(&knownAt, "known-at", "", "the instant whose knowledge counts, such as 2026-11-20T08:00:00Z (default: now)")
	a.demoFlag(cmd)
	return cmd
}

func (a *app) check(ctx context.Context, q daemon.Question) error {
	opt, err := a.options()
	if err != nil {
		return err
	}
	c, err := daemon.Check(ctx, opt, q)
	switch {
	case errors.Is(err, daemon.ErrNotYet), errors.Is(err, daemon.ErrNoJournal):
		return usageError{flagError{"known-at", err}}
	case err != nil:
		return err
	}
	a.code = exitCode(c.Worst())
	return a.print(c)
}

func exitCode(worst compliance.Standing) int {
	switch worst {
	case compliance.OutOfOrder:
		return exitOutOfOrder
	case compliance.CannotTell:
		return exitCannotTell
	default:
		return exitInOrder
	}
}

func dayFlag(name, value string) (day.Day, error) {
	if value == "" {
		return 0, nil
	}
	d, err := day.Parse(value)
	if err != nil {
		return 0, usageError{flagError{name, err}}
	}
	return d, nil
}

// instantFlag reads an instant. A day alone is none: it ends at another one at
// each site.
func instantFlag(name, value string) (time.Time, error) {
	if value == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.RFC3339, value)
	if err != nil || t.IsZero() {
		return t, usageError{flagError{name, fmt.Errorf("%q is not an instant: write day, time and zone, such as 2026-11-20T08:00:00Z or 2026-11-20T08:00:00-05:00", value)}}
	}
	return t, nil
}

type flagError struct {
	flag string
	err  error
}

func (e flagError) Error() string { return "--" + e.flag + ": " + e.err.Error() }

// texter is an answer that prints itself for a terminal.
type texter interface{ WriteText(io.Writer) error }

// print gives an answer. In a house without mail it says so, where the answer
// itself does not already.
func (a *app) print(t texter) error {
	off, err := a.mailOff()
	if err != nil {
		return err
	}
	told, tells := t.(telling)
	if tells && off {
		told.SetNobodyTold()
	}
	if !a.json {
		var text strings.Builder
		if err := t.WriteText(&text); err != nil {
			return err
		}
		if tells && told.SaysNobodyTold() && !strings.Contains(text.String(), words.NobodyTold) {
			text.WriteString(words.NobodyTold + "\n")
		}
		_, err := io.WriteString(a.out, text.String())
		return err
	}
	enc := json.NewEncoder(a.out)
	enc.SetIndent("", "  ")
	return enc.Encode(t)
}
