package main

import "github.com/spf13/cobra"

// rulesCommand is about rule packs: files that say what is asked. None of its
// commands changes a record.
func (a *app) rulesCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "rules", Short: "Look after rule packs: check, test, explain, compare and write them"}
	cmd.AddCommand(a.rulesLint(), a.rulesTest(), a.rulesExplain(), a.rulesDiff(),
		a.rulesNew(), a.rulesCopy(), a.rulesRecheck())
	return cmd
}
