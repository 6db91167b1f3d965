package main

import (
	"io"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"antidotary/compliance/deed"
)

// TestEachDeedIsACommand of the same words, which asks who records it; and no
// command that asks so has other words, but for lot scanned, another way to say
// lot received.
func TestEachDeedIsACommand(t *testing.T) {
	a := &app{terminal: terminal{out: io.Discard, err: io.Discard, clock: time.Now}}
	asking := make(map[string]bool)
	var walk func(*cobra.Command)
	walk = func(cmd *cobra.Command) {
		if cmd.Flags().Lookup("as") != nil {
			asking[strings.TrimPrefix(cmd.CommandPath(), "antidotary ")] = true
		}
		for _, c := range cmd.Commands() {
			walk(c)
		}
	}
	walk(a.root())
	for _, words := range deed.All {
		if words == deed.WordsHouseFounded { // by the command new
			words = "new"
		}
		if !asking[words] {
			t.Errorf("no command of the words %q asks who records it", words)
		}
		delete(asking, words)
	}
	for words := range asking {
		if words != "undo" && words != "outbox release" && words != "rules recheck" && words != "lot scanned" {
			t.Errorf("command %q asks who records it, and is no deed", words)
		}
	}
}
