package main

import (
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/store"
)

func (a *app) undoCommand() *cobra.Command {
	var as string
	var let bool
	cmd := &cobra.Command{
		Use:   "undo ENTRY",
		Short: "Take back what was recorded by mistake, by a counter-entry",
		Long: `Take back what one entry of the journal recorded: every record that it touched is
again as it was before. Nothing leaves the journal, and an undoing can be undone.
It is refused where one of the records was changed since. antidotary journal
show lists the entries.`,
		Args: one("ENTRY"),
		RunE: func(cmd *cobra.Command, args []string) error {
			entry, err := strconv.ParseInt(args[0], 10, 64)
			if err != nil || entry < 1 {
				return usageError{fmt.Errorf("%q is not an entry of the journal: write its number", args[0])}
			}
			if as == "" {
				return usageError{errors.New("--as is needed: say who takes it back")}
			}
			opt, err := a.options()
			if err != nil {
				return err
			}
			opt.LetFall = let
			done, err := daemon.Undo(cmd.Context(), opt, store.Actor{ID: as}, entry)
			if err != nil {
				return err
			}
			return a.print(done)
		},
	}
	cmd.Flags().BoolVar(&let, "let-fall", false, letFall)
	cmd.Flags().StringVar(&as, "as", "", "who takes it back: your name")
	return cmd
}
