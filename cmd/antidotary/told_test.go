package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"antidotary/notify/words"
)

// silent are the commands that need not say that nobody is told, and why.
var silent = map[string]string{
	"antidotary":                       "prints its help",
	"antidotary help":                  "prints help",
	"antidotary completion bash":       "prints a script for a shell to read",
	"antidotary completion zsh":        "prints a script for a shell to read",
	"antidotary completion fish":       "prints a script for a shell to read",
	"antidotary completion powershell": "prints a script for a shell to read",
	"antidotary mail test":             "refuses, and says so: see mail.txtar",
	"antidotary health":                "prints what the health pages of another process say, for machines",
}

// deedWords begin the commands that record a deed. All of them print one kind
// of answer through one function (record), so one is asked for all.
var deedWords = []string{"activity", "agreement", "animal", "certificate", "counted", "coverage", "decision", "drill", "enclosure", "list", "lot", "order", "permit", "person", "place", "seal", "session", "species", "supply", "watching"}

// asked says with what each of the other commands is run, in a folder with
// the demo house and the built-in configuration, which sends no mail. None
// sees what another did but in this order.
var asked = []struct {
	command string
	args    []string
	json    bool // answers in JSON too
}{
	{"antidotary demo", []string{"--once", "--house", "small"}, false},
	{"antidotary check", nil, true},
	{"antidotary ahead", nil, true},
	{"antidotary explain", []string{"WP-105"}, true},
	{"antidotary cover", nil, true},
	{"antidotary open", []string{"E-005", "--site", "Larkspur House"}, true},
	{"antidotary matrix", nil, true},
	{"antidotary ladder", nil, true},
	{"antidotary reorder", []string{"--site", "Larkspur House"}, true},
	{"antidotary import", []string{"lists", "--dry-run", "--new-species"}, true},
	{"antidotary import", []string{"--template", "empties"}, false},
	{"antidotary sweep", nil, true},
	{"antidotary week", []string{"week"}, true},
	{"antidotary export", []string{"exported"}, false},
	{"antidotary export", []string{"exported.xlsx", "--json"}, false},
	{"antidotary new", append([]string{"founded"}, newHouse...), false},
	{"antidotary new", append([]string{"founded-too", "--json"}, newHouse...), false},
	{"antidotary lot pick", []string{"Crotalus atrox", "--site", "Larkspur House"}, true},
	{"antidotary drill held", []string{"escape", "Larkspur House", "--as", "test"}, true},
	{"antidotary undo", []string{lastEntry, "--as", "test"}, false},
	{"antidotary undo", []string{lastEntry, "--as", "test", "--json"}, false},
	{"antidotary journal show", nil, true},
	{"antidotary journal verify", nil, true},
	{"antidotary outbox", nil, true},
	{"antidotary outbox release", []string{"--as", "test"}, true},
	{"antidotary migrate status", nil, true},
	{"antidotary migrate up", nil, false},
	{"antidotary config check", nil, false},
	{"antidotary config print", nil, false},
	{"antidotary rules lint", nil, true},
	{"antidotary rules test", nil, true},
	{"antidotary rules explain", []string{"guidance.cover"}, true},
	{"antidotary rules diff", []string{"loaded"}, true},
	{"antidotary rules copy", []string{"copied"}, false},
	{"antidotary rules copy", []string{"copied-too", "--json"}, false},
	{"antidotary rules recheck", []string{"copied/us.yaml", "--as", "test"}, true},
	{"antidotary rules new", append([]string{"packs"}, newPack...), false},
	{"antidotary rules new", append([]string{"packs-too", "--json"}, newPack...), false},
	{"antidotary backup", []string{"one.db"}, false},
	{"antidotary backup", []string{"two.db", "--json"}, false},
	{"antidotary restore", []string{"one.db", "--config", "restored.yaml"}, false},
	{"antidotary restore", []string{"two.db", "--config", "again.yaml", "--json"}, false},
	{"antidotary move", []string{"moved.db", "--config", "restored.yaml"}, false},
	{"antidotary move", []string{"moved-again.db", "--config", "again.yaml", "--json"}, false},
	{"antidotary serve", []string{"--config", "serve.yaml"}, false},
}

// TestEveryCommandSaysThatNobodyIsTold: without mail, whatever is asked. A new
// command must be asked here too, or give its reason above.
func TestEveryCommandSaysThatNobodyIsTold(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{
		"antidotary.yaml":   "format: 1\ndatabase: kept/antidotary.db\n",
		"restored.yaml":     "format: 1\ndatabase: restored.db\n",
		"again.yaml":        "format: 1\ndatabase: again.db\n",
		"serve.yaml":        "format: 1\ndatabase: kept/antidotary.db\nlisten: 127.0.0.1:0\n",
		"lists/animals.csv": "Accession,Species,Site\nX-1,Naja kaouthia,Larkspur House\n",
	} {
		if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if code, _, errs := answered(t, "demo", "--once", "--keep", "kept"); code != 0 {
		t.Fatal(errs)
	}
	known := make(map[string]bool)
	for _, q := range asked {
		known[q.command] = true
		args := append(strings.Fields(q.command)[1:], q.args...)
		mustSaySo(t, args)
		if q.json {
			mustSaySo(t, append(args, "--json"))
		}
	}
	root := (&app{}).root()
	root.InitDefaultCompletionCmd()
	root.InitDefaultHelpCmd()
	for _, path := range commands(root) {
		if slices.Contains(deedWords, strings.Fields(path + " -")[1]) {
			continue
		}
		if why, ok := silent[path]; ok == known[path] {
			t.Errorf("%s: ask it in this test, or say there why it need not say that nobody is told (%q)", path, why)
		}
	}
}

// commands gives every command that does something.
func commands(cmd *cobra.Command) (paths []string) {
	if cmd.Runnable() {
		paths = append(paths, cmd.CommandPath())
	}
	for _, c := range cmd.Commands() {
		paths = append(paths, commands(c)...)
	}
	return paths
}

var newHouse = []string{"--no-questions", "--house", "Fern collection", "--site", "Fernhill", "--zone", "Europe/London", "--head", "Ada Fern"}

var newPack = []string{"--no-questions", "--pack", "fern", "--pack-title", "Fern", "--layer", "house", "--edition", "1", "--id", "fern.drill", "--requirement", "drill.fern",
	"--title", "A drill", "--consequence", "Nobody knows.", "--severity", "notice", "--owner", "head", "--kind", "recurring", "--subject", "site",
	"--citation-text", "common practice, no source", "--citation-certainty", "M", "--recurring-activity", "drill.fern", "--recurring-every", "6 months"}

// lastEntry stands for the journal's last entry.
const lastEntry = "LAST"

// entered puts the journal's last entry where it is asked for.
func entered(t *testing.T, args []string) []string {
	t.Helper()
	at := slices.Index(args, lastEntry)
	if at < 0 {
		return args
	}
	_, out, errs := answered(t, "journal", "show", "--json")
	var doc struct{ Entries []struct{ Entry int64 } }
	if err := json.Unmarshal([]byte(out), &doc); err != nil || len(doc.Entries) == 0 {
		t.Fatalf("%v: %s%s", err, out, errs)
	}
	args = slices.Clone(args)
	args[at] = fmt.Sprint(doc.Entries[0].Entry)
	return args
}

func mustSaySo(t *testing.T, args []string) {
	t.Helper()
	args = entered(t, args)
	code, out, errs := answered(t, args...)
	if code == exitFailed || code == exitUsage {
		t.Errorf("%q: exit %d: %s", args, code, errs)
		return
	}
	if !slices.Contains(args, "--json") {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), words.NobodyTold) {
			t.Errorf("%q does not say that nobody is told:\n%s", args, out)
		}
		return
	}
	var doc struct {
		Format     int
		NobodyTold bool `json:"nobody_told"`
	}
	if err := json.Unmarshal([]byte(out), &doc); err != nil || doc.Format != 1 || !doc.NobodyTold {
		t.Errorf("%q: %v; format and nobody_told: %+v\n%s", args, err, doc, out)
	}
}

// answered runs a command until it ends, or, if it does not end by itself,
// until it has said that nobody is told.
func answered(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	var log bytes.Buffer
	said := &untilSaid{enough: cancel}
	at := now.Add(time.Duration(turn.Add(1)) * time.Minute) // two sweeps of one instant would be one
	code = run(ctx, args, terminal{said, &log, func() time.Time { return at }})
	return code, said.text.String(), log.String()
}

var turn atomic.Int64

type untilSaid struct {
	mu     sync.Mutex
	text   bytes.Buffer
	enough func()
}

func (u *untilSaid) Write(p []byte) (int, error) {
	u.mu.Lock()
	defer u.mu.Unlock()
	n, err := u.text.Write(p)
	if strings.HasPrefix(u.text.String(), "antidotary watches") && strings.Contains(u.text.String(), words.NobodyTold) {
		u.enough()
	}
	return n, err
}
