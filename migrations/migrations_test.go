package migrations

import (
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var named = regexp.MustCompile(`^\d{4}_[a-z0-9_]+\.tx\.up\.sql$`)

// dialects are the folders that there are.
func dialects(t *testing.T) []string {
	t.Helper()
	entries, err := fs.ReadDir(files, ".")
	if err != nil || len(entries) == 0 {
		t.Fatalf("%d dialects, %v", len(entries), err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func namesOf(t *testing.T, dialect string) []string {
	t.Helper()
	folder, err := For(dialect)
	if err != nil {
		t.Fatal(err)
	}
	names, err := fs.Glob(folder, "*")
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// TestNumbersCountUp from 0001 without a gap, so that two branches that both
// add a migration clash here and not in somebody's database.
func TestNumbersCountUp(t *testing.T) {
	for _, dialect := range dialects(t) {
		for i, name := range namesOf(t, dialect) {
			if !named.MatchString(name) || !strings.HasPrefix(name, fmt.Sprintf("%04d_", i+1)) {
				t.Errorf("%s/%s: want %04d_name.tx.up.sql", dialect, name, i+1)
			}
		}
	}
}

// TestEveryDialectHasTheSame migrations, by number and name.
func TestEveryDialectHasTheSame(t *testing.T) {
	all := dialects(t)
	first := strings.Join(namesOf(t, all[0]), "\n")
	for _, dialect := range all[1:] {
		if other := strings.Join(namesOf(t, dialect), "\n"); other != first {
			t.Errorf("%s has\n%s\nand %s has\n%s", all[0], first, dialect, other)
		}
	}
}

// TestNoMigrationTakesAnythingAway: version N-1 of the program runs on schema
// N, and there is no way back but a restore.
func TestNoMigrationTakesAnythingAway(t *testing.T) {
	// SQLite drops no rule of a table: its table is made again, with every row.
	madeAgain := []string{"sqlite/0009_supply_order_agreement.tx.up.sql"}
	taking := regexp.MustCompile(`(?i)\bDROP\s+(TABLE|COLUMN)\b|\bRENAME\b|\bDELETE\s+FROM\b`)
	for _, dialect := range dialects(t) {
		folder, _ := For(dialect)
		for _, name := range namesOf(t, dialect) {
			text, err := fs.ReadFile(folder, name)
			if err != nil {
				t.Fatal(err)
			}
			if found := taking.Find(text); found != nil && !slices.Contains(madeAgain, dialect+"/"+name) {
				t.Errorf("%s/%s: %s", dialect, name, found)
			}
		}
	}
}

// TestNoOtherDialect is made up.
func TestNoOtherDialect(t *testing.T) {
	for _, dialect := range []string{"oracle", "", "../store", "sqlite/0001_init.tx.up.sql"} {
		if folder, err := For(dialect); err == nil {
			t.Errorf("%q gives %v", dialect, folder)
		}
	}
}
