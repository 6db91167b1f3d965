package deploy

import (
	"io/fs"
	"os"
	"strings"
	"testing"

	"antidotary/compliance"
)

// TestTheCoveragePageListsEveryPack: each pack has its row, with the place it
// is for and how firm the weakest of its citations is. R2 is weaker than R, as
// text too; nothing else is law in these packs.
func TestTheCoveragePageListsEveryPack(t *testing.T) {
	text, err := os.ReadFile("rules/coverage.md")
	if err != nil {
		t.Fatal(err)
	}
	rows := make(map[string][]string) // by the pack's file
	for line := range strings.Lines(string(text)) {
		if cells := strings.Split(line, "|"); len(cells) == 7 {
			rows[strings.Trim(cells[2], " `")] = cells
		}
	}
	files, err := fs.Glob(Rules(), "*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b := book(t)
	if len(files) != len(b.Packs) {
		t.Fatalf("%d files, %d packs", len(files), len(b.Packs))
	}
	for _, p := range b.Packs {
		file := strings.ReplaceAll(p.Name, ".", "-") + ".yaml"
		if p.Layer != compliance.Law && p.Ladder == nil {
			file = "house-guidance.yaml"
		}
		row := rows[file]
		if row == nil {
			t.Errorf("the page has no row for %s", file)
			continue
		}
		if p.Area != "" && !strings.HasSuffix(strings.TrimSpace(row[1]), "("+p.Area+")") {
			t.Errorf("%s is for %s, the page says %q", file, p.Area, row[1])
		}
		weakest := ""
		for _, r := range p.Rules {
			weakest = max(weakest, string(r.Citation.Certainty))
		}
		if said := strings.TrimSpace(row[3]); p.Layer == compliance.Law && said != weakest {
			t.Errorf("%s: the weakest citation is %s, the page says %s", file, weakest, said)
		}
		delete(rows, file)
	}
	delete(rows, "pack")
	delete(rows, "---")
	for file := range rows {
		t.Errorf("the page has a row for %s, which is no pack", file)
	}
}
