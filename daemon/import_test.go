package daemon

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/daemon/intake"
	"antidotary/daemon/store"
	"antidotary/inventory"
)

// importing gives a folder with lists, and what to ask of it first.
func importing(t *testing.T, files map[string]string) (Options, ImportRequest) {
	t.Helper()
	folder := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	opt := Options{Config: config.Default(), Clock: func() time.Time { return time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC) }}
	opt.Config.Database = filepath.Join(t.TempDir(), "antidotary.db")
	return opt, ImportRequest{From: folder, Actor: store.Actor{ID: "marta"},
		Settings: intake.Settings{House: "Thornbury Lane collection", Site: "Thornbury Lane", Zone: "Europe/London", NewSpecies: true}}
}

var twoAnimals = map[string]string{"animals.csv": "accession,species,arrived\nA1,Naja kaouthia,2025-01-05\nA2,Naja kaouthia,2025-01-06\n"}

func imported(t *testing.T, opt Options, req ImportRequest) *ImportAnswer {
	t.Helper()
	a, err := Import(context.Background(), opt, req)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func position(t *testing.T, opt Options) int64 {
	t.Helper()
	opt.settle()
	st, err := opt.asked(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	report, err := st.Verify(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return report.Head.Position
}

// importDatabases give where a new database may be, one test's alone.
var importDatabases = map[string]func(testing.TB) string{
	"sqlite": func(t testing.TB) string { return filepath.Join(t.TempDir(), "antidotary.db") },
	"postgres": func(t testing.TB) string {
		server := os.Getenv("ANTIDOTARY_POSTGRES")
		if server == "" {
			t.Skip("NOT TESTED ON POSTGRESQL: ANTIDOTARY_POSTGRES is not set; see DEVELOPERS.md, Tests")
		}
		u, err := url.Parse(server)
		if err != nil {
			t.Fatal(err)
		}
		db, err := sql.Open("postgres", server)
		if err != nil {
			t.Fatal(err)
		}
		id := inventory.NewID()
		name := fmt.Sprintf("antidotary_%x", id[:])
		if _, err := db.Exec("CREATE DATABASE " + name); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if _, err := db.Exec("DROP DATABASE " + name + " WITH (FORCE)"); err != nil {
				t.Error(err)
			}
			db.Close()
		})
		u.Path = "/" + name
		return u.String()
	},
}

// TestImportAgainWritesNothing: not even an entry of the journal.
func TestImportAgainWritesNothing(t *testing.T) {
	for dialect, fresh := range importDatabases {
		t.Run(dialect, func(t *testing.T) {
			opt, req := importing(t, twoAnimals)
			opt.Config.Database = fresh(t)
			if a := imported(t, opt, req); a.Recorded != 6 || a.Position != 6 { // house, site, enclosure, species, two animals
				t.Errorf("recorded %d, at %d; want 6 and 6", a.Recorded, a.Position)
			}
			if a := imported(t, opt, req); a.Recorded != 0 || a.Lists[0].Same != 2 {
				t.Errorf("again: %+v", a.Lists)
			}
			if at := position(t, opt); at != 6 {
				t.Errorf("the journal is at %d; want 6", at)
			}
		})
	}
}

// TestImportLeavesNoRejectsWhenNothingIsRecorded: whoever sees the file may
// trust that the other rows are in.
func TestImportLeavesNoRejectsWhenNothingIsRecorded(t *testing.T) {
	files := map[string]string{"animals.csv": "accession,species,arrived\nA1,Naja kaouthia,soon\nA2,Naja kaouthia,\n"}
	for _, c := range []struct {
		name   string
		change func(*ImportRequest)
		failed bool
	}{
		{"a preview", func(r *ImportRequest) { r.DryRun = true }, false},
		{"all or nothing", func(r *ImportRequest) { r.AllOrNothing = true }, false},
		{"nobody says who", func(r *ImportRequest) { r.Actor = store.Actor{} }, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			opt, req := importing(t, files)
			if _, _, err := MigrateUp(context.Background(), opt); err != nil {
				t.Fatal(err)
			}
			c.change(&req)
			if _, err := Import(context.Background(), opt, req); (err != nil) != c.failed {
				t.Fatal(err)
			}
			left, err := filepath.Glob(filepath.Join(req.From, "*rejects*"))
			if err != nil || len(left) > 0 {
				t.Errorf("%v, %v", left, err)
			}
			if at := position(t, opt); at != 0 {
				t.Errorf("the journal is at %d; want 0", at)
			}
		})
	}
}

// TestImportNeverOverwrites rejects files, mapping files, or a template.
func TestImportNeverOverwrites(t *testing.T) {
	opt, req := importing(t, map[string]string{"animals.csv": "accession,species,arrived\nA1,Naja kaouthia,soon\n"})
	first, second := imported(t, opt, req), imported(t, opt, req)
	if len(first.Rejects) != 1 || len(second.Rejects) != 1 || filepath.Base(second.Rejects[0]) != "animals.rejects-2.csv" {
		t.Errorf("%q, then %q", first.Rejects, second.Rejects)
	}
	req.DryRun, req.SaveMap = true, filepath.Join(req.From, "animals.csv")
	if _, err := Import(context.Background(), opt, req); !errors.Is(err, os.ErrExist) {
		t.Errorf("%v; want that the file exists", err)
	}
	if _, err := ImportTemplate(req.From); !errors.Is(err, os.ErrExist) {
		t.Errorf("%v; want that the folder exists", err)
	}
}

// TestImportTellsHowFarItIs about once a second of the clock that it is given.
func TestImportTellsHowFarItIs(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("accession,species\n")
	for i := range 2000 {
		rows.WriteString("A" + strings.Repeat("x", i%7) + time.Duration(i).String() + ",Naja kaouthia\n")
	}
	opt, req := importing(t, map[string]string{"animals.csv": rows.String()})
	var log bytes.Buffer
	now := opt.Clock()
	opt.Err = &log
	opt.Clock = func() time.Time { now = now.Add(time.Second / 2); return now }
	imported(t, opt, req)
	if n := strings.Count(log.String(), "of 2000 rows"); n < 3 || n > 4 { // 7 looks at the clock, half a second apart
		t.Errorf("told %d times:\n%s", n, log.String())
	}
}

// TestImportShowsAtMostFifty mistakes, and counts the rest.
func TestImportShowsAtMostFifty(t *testing.T) {
	opt, req := importing(t, map[string]string{"animals.csv": "accession,species\n" + strings.Repeat(",Naja kaouthia\n", 63)})
	var out strings.Builder
	if err := imported(t, opt, req).WriteText(&out); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(out.String(), "accession: is blank"); n != 50 || !strings.Contains(out.String(), "and 13 more") {
		t.Errorf("%d shown:\n%s", n, out.String())
	}
}

// TestImportBesideADaemon: what happened can be recorded while a daemon holds
// the database, and the daemon sees it.
func TestImportBesideADaemon(t *testing.T) {
	for dialect, fresh := range importDatabases {
		t.Run(dialect, func(t *testing.T) {
			opt, req := importing(t, twoAnimals)
			opt.Config.Database = fresh(t)
			opt.settle()
			daemon, err := opt.open(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			defer daemon.Close()
			if a := imported(t, opt, req); a.Recorded != 6 {
				t.Errorf("recorded %d", a.Recorded)
			}
			view, err := daemon.Read(t.Context())
			if err != nil || view.Snapshot.Animals.Len() != 2 {
				t.Fatalf("the daemon reads %d animals, %v", view.Snapshot.Animals.Len(), err)
			}
			if _, err := daemon.Commit(t.Context(), store.Actor{ID: "daemon"}, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis arietans"})); err != nil {
				t.Errorf("the daemon writes no more: %v", err)
			}
			if at := position(t, opt); at != 7 {
				t.Errorf("the journal is at %d; want 7", at)
			}
		})
	}
}
