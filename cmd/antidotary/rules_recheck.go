package main

import (
	"errors"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) rulesRecheck() *cobra.Command {
	var as string
	cmd := &cobra.Command{
		Use:   "recheck PACK --as WHO",
		Short: "Note that a pack's text was read again and is unchanged",
		Long: `Note in a pack that its text was read again today and is unchanged: read_on is
today, and review_by moves by the same span as before. Nothing else in the file
changes. PACK is a file, or the name of a pack of your own that is loaded. First
read the text: antidotary does not.`,
		Args: one("PACK"),
		RunE: func(_ *cobra.Command, args []string) error {
			if as == "" {
				return usageError{errors.New("--as: say who read the text again")}
			}
			opt, err := a.options()
			if err != nil {
				return err
			}
			rechecked, err := daemon.RecheckRules(opt, args[0], as)
			if err != nil {
				return err
			}
			return a.print(rechecked)
		},
	}
	cmd.Flags().StringVar(&as, "as", "", "who read it")
	return cmd
}

func (a *app) rulesCopy() *cobra.Command {
	return &cobra.Command{
		Use:   "copy FOLDER",
		Short: "Copy the packs that come along, to make them your own",
		Long: `Copy the packs that come along into FOLDER, with the schema for editors. Nothing
is overwritten. What to write in the configuration, so that the copies stand in
the place of the others, is said.`,
		Args: one("FOLDER"),
		RunE: func(_ *cobra.Command, args []string) error {
			copied, err := daemon.CopyRules(args[0])
			if err != nil {
				return err
			}
			return a.print(copied)
		},
	}
}
