package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// TestThePageIsTrue: who follows the page on rule packs, command by command,
// gets the pack that it promises.
func TestThePageIsTrue(t *testing.T) {
	text, err := os.ReadFile("../../deploy/rules/README.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllStringSubmatch(string(text), -1)
	if len(blocks) != 2 {
		t.Fatalf("%d blocks to copy; the page has two", len(blocks))
	}
	table := make(map[string]string) // what is answered in backquotes, by what is asked
	for _, row := range regexp.MustCompile(`(?m)^\| ([a-z, ]+) \| (.*) \|$`).FindAllStringSubmatch(string(text), -1) {
		answers := regexp.MustCompile("`([^`]*)`").FindAllStringSubmatch(row[2], -1)
		for i, asked := range strings.Split(row[1], ", ") {
			if i < len(answers) {
				table[asked] = answers[i][1]
			}
		}
	}
	t.Chdir(t.TempDir())
	if err := os.WriteFile("antidotary.yaml", []byte("format: 1\nrules: [packs]\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{"rules", "new", "packs", "--no-questions"}
	for asked, flag := range map[string]string{"pack": "pack", "pack title": "pack-title", "layer": "layer", "jurisdiction": "jurisdiction", "edition": "edition", "id": "id",
		"requirement": "requirement", "title": "title", "consequence": "consequence", "severity": "severity", "owner": "owner", "kind": "kind", "subject": "subject", "scope": "scope",
		"citation text": "citation-text", "citation read on": "citation-read-on", "certainty": "citation-certainty", "class": "permit-class", "renewal lead": "permit-renewal-lead"} {
		if table[asked] == "" {
			t.Fatalf("the page does not say what to answer to %q", asked)
		}
		args = append(args, "--"+flag, table[asked])
	}
	mustRun(t, args...)
	file := filepath.Join("packs", "quill.yaml")
	pack, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte(string(pack)+"\n"+blocks[0][1]+"\n"+blocks[1][1]), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ command, want string }{
		{"rules lint packs/quill.yaml", "0 mistakes"},
		{"rules test packs/quill.yaml", "6 of 6 tests hold"},
		{"config check", "District of Quill (law, xx/quill): 4 rules"},
		{"rules explain quill.permit --demo", "30 days. How long before the last day"},
		{"rules recheck packs/quill.yaml --as Ada", "read again by Ada"},
		{"rules diff loaded packs/quill.yaml --demo", "No rule differs"},
		{"rules copy packs", "shipped_rules: false"},
	} {
		if out := mustRun(t, strings.Fields(c.command)...); !strings.Contains(out, c.want) {
			t.Errorf("antidotary %s says\n%s\nand not %q", c.command, out, c.want)
		}
	}
}

func mustRun(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), args, terminal{&out, &errs, func() time.Time { return now }}); code != exitInOrder {
		t.Fatalf("antidotary %q exited %d: %s%s", args, code, errs.String(), out.String())
	}
	return out.String()
}
