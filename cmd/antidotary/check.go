package main

import (
	"encoding/json"
	"io"

	"github.com/spf13/cobra"

	"antidotary/compliance"
	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/inventory/day"
)

func (a *app) checkCommand() *cobra.Command {
	var asOf string
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Say what is out of order, what cannot be told and what is due",
		Long: `Say what is out of order, what cannot be told, and what somebody must do soon:
what, by when, what follows if not, whose it is, by which rule, on which facts.

--as-of answers for another day from the records as they are known now.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			on, err := dayFlag("as-of", asOf)
			if err != nil {
				return err
			}
			r, err := a.report(cmd.Context(), daemon.Question{On: on})
			if err != nil {
				return err
			}
			c := answer.NewCheck(r)
			if off, err := a.mailOff(); err != nil {
				return err
			} else if off {
				c.NobodyTold = true
			}
			a.code = exitCode(c.Worst())
			return a.print(c)
		},
	}
	cmd.Flags().StringVar(&asOf, "as-of", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	a.demoFlag(cmd)
	return cmd
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

type flagError struct {
	flag string
	err  error
}

func (e flagError) Error() string { return "--" + e.flag + ": " + e.err.Error() }

// texter is an answer that prints itself for a terminal.
type texter interface{ WriteText(io.Writer) error }

func (a *app) print(t texter) error {
	if !a.json {
		return t.WriteText(a.out)
	}
	enc := json.NewEncoder(a.out)
	enc.SetIndent("", "  ")
	return enc.Encode(t)
}
