package main

import (
	"bufio"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/asking"
	"antidotary/daemon/drafting"
	"antidotary/inventory/day"
)

func (a *app) rulesNew() *cobra.Command {
	var quiet bool
	cmd := &cobra.Command{
		Use:   "new FOLDER",
		Short: "Write a rule pack: a few questions, then a file",
		Long: `Write a rule pack of your own into FOLDER, and the schema that lets an editor
check and complete it. What is not given as a flag is asked; with --no-questions
it takes its default or is left out. Flags of several rules are given several
times: the second of each is the second rule's. deploy/rules/README.md tells
what everything means. What was typed is never lost: where it makes no pack it is
kept as a draft, which nothing loads, with what is wrong in it.`,
		Args: one("FOLDER"),
	}
	f := cmd.Flags()
	f.BoolVar(&quiet, "no-questions", false, "ask nothing")
	pack, rule := drafting.Questions(0)
	given := make(map[string]*[]string)
	for _, q := range append(pack, rule...) {
		given[q.Flag] = f.StringArray(q.Flag, nil, q.Ask)
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		from := asking.From{Given: make(map[string][]string), Out: a.out}
		for flag, texts := range given {
			if cmd.Flags().Changed(flag) {
				from.Given[flag] = *texts
			}
		}
		if !quiet {
			from.In = bufio.NewReader(cmd.InOrStdin())
		}
		answers, err := drafting.Answer(from, day.In(a.clock(), time.UTC))
		if errors.Is(err, asking.ErrMissing) {
			return usageError{err}
		}
		var ended *asking.Ended
		if errors.As(err, &ended) {
			return daemon.KeepDraft(args[0], answers, fmt.Errorf("the answers ended at %q (--%s), before there was a pack", ended.Ask, ended.Flag))
		}
		if err != nil {
			return err
		}
		done, err := daemon.NewRules(args[0], answers, !quiet)
		if err != nil {
			return err
		}
		return a.print(done)
	}
	return cmd
}
