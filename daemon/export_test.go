package daemon

import (
	"archive/zip"
	"context"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/daemon/demo"
	"antidotary/daemon/scale"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func exporting(t testing.TB, database string) Options {
	t.Helper()
	opt := Options{Config: config.Default(), Clock: func() time.Time { return time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC) }}
	opt.Config.Database = database
	return opt
}

// recordedIn commits changes.
func recordedIn(t *testing.T, opt Options, changes ...compliance.Change) {
	t.Helper()
	opt.settle()
	st, err := opt.open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if _, err := st.Commit(t.Context(), store.Actor{ID: "test"}, changes...); err != nil {
		t.Fatal(err)
	}
}

func exported(t *testing.T, opt Options, to string) map[string]string {
	t.Helper()
	if _, err := Export(t.Context(), opt, to); err != nil {
		t.Fatal(err)
	}
	return filesOf(t, to)
}

// filesOf gives what is in a folder or a workbook, and holds that nobody else
// may read it.
func filesOf(t *testing.T, at string) map[string]string {
	t.Helper()
	out := make(map[string]string)
	err := filepath.WalkDir(at, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: %s", path, info.Mode())
		}
		if d.IsDir() {
			return nil
		}
		data, err := os.ReadFile(path)
		out[d.Name()] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestExportsComeBack: into an empty database of either kind, of which the
// same files leave again; into the same, nothing.
func TestExportsComeBack(t *testing.T) {
	today := day.MustParse("2026-11-25")
	houses := map[string]compliance.Batch{
		"the demo house": demo.House(today, day.Embedded()), "the small house": demo.Small(today, day.Embedded()),
		"a network": batchOf(scale.Network(scale.Medium, today)),
	}
	for dialect, fresh := range importDatabases {
		for name, house := range houses {
			t.Run(dialect+" "+name, func(t *testing.T) {
				opt := exporting(t, fresh(t))
				recordedIn(t, opt, house...)
				folder := t.TempDir()
				first := exported(t, opt, filepath.Join(folder, "first"))
				at := position(t, opt)
				if a := imported(t, opt, ImportRequest{From: filepath.Join(folder, "first"), Actor: store.Actor{ID: "marta"}}); a.Recorded != 0 || a.RowsRefused() != 0 {
					t.Errorf("into its own database: %d recorded, %q", a.Recorded, a.Refused)
				}
				if now := position(t, opt); now != at {
					t.Errorf("the journal went from %d to %d", at, now)
				}
				exported(t, opt, filepath.Join(folder, "first.xlsx"))
				for _, from := range []string{"first", "first.xlsx"} {
					empty := exporting(t, fresh(t))
					if a := imported(t, empty, ImportRequest{From: filepath.Join(folder, from), Actor: store.Actor{ID: "marta"}}); a.RowsRefused() != 0 {
						t.Fatal(a.Refused)
					}
					if diff := cmp.Diff(first, exported(t, empty, filepath.Join(folder, "of "+filepath.Ext(from)+" again"))); diff != "" {
						t.Errorf("from %s: %s", from, diff)
					}
				}
			})
		}
	}
}

// batchOf gives the records of a snapshot as changes.
func batchOf(s *compliance.Snapshot) (out compliance.Batch) {
	put(&out, s.Organisations)
	put(&out, s.Sites)
	put(&out, s.Enclosures)
	put(&out, s.Species)
	put(&out, s.People)
	put(&out, s.Animals)
	put(&out, s.Products)
	put(&out, s.Coverage)
	put(&out, s.Places)
	put(&out, s.Lots)
	put(&out, s.Planned)
	put(&out, s.Authorities)
	put(&out, s.Permits)
	put(&out, s.Activities)
	put(&out, s.Feeds)
	put(&out, s.NotWatched)
	put(&out, s.Decisions)
	return out
}

func put[T inventory.Record](to *compliance.Batch, records inventory.Table[T]) {
	for rec := range records.All() {
		*to = append(*to, compliance.Record(*rec))
	}
}

// TestTheErasedStayErased: what somebody was called stands in no export once
// the record says otherwise and its history is erased; nor does it before the
// erasure, for an export has no history.
func TestTheErasedStayErased(t *testing.T) {
	opt := exporting(t, filepath.Join(t.TempDir(), "antidotary.db"))
	house := inventory.Organisation{ID: inventory.NewID(), Title: "Thornbury Lane collection", Victims: 1}
	person := compliance.Person{ID: inventory.NewID(), Called: "Ottoline Farthingale", Email: "ottoline@thornbury.example"}
	recordedIn(t, opt, compliance.Record(house), compliance.Record(person))
	folder := t.TempDir()
	if files := exported(t, opt, filepath.Join(folder, "before")); !strings.Contains(files["people.csv"], "Ottoline") {
		t.Fatal("the name was never there")
	}
	person.Called, person.Email = "somebody who left", ""
	recordedIn(t, opt, compliance.Record(person))
	opt.settle()
	st, err := opt.open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if n, err := st.Erase(t.Context(), person.Ref().String()); err != nil || n != 2 {
		t.Fatalf("erased %d, %v", n, err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	for name, text := range exported(t, opt, filepath.Join(folder, "after")) {
		if strings.Contains(strings.ToLower(text), "ottoline") {
			t.Errorf("%s has the name", name)
		}
	}
	exported(t, opt, filepath.Join(folder, "after.xlsx"))
	book, err := zip.OpenReader(filepath.Join(folder, "after.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	found := false
	for _, part := range book.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(strings.ToLower(string(text)), "ottoline") {
			t.Errorf("%s has the name", part.Name)
		}
		found = found || strings.Contains(string(text), "somebody who left")
	}
	if !found {
		t.Error("the workbook does not have the record")
	}
}

// TestExportLeavesNothingHalf: where it fails, nothing has the name, and
// nothing is left beside.
func TestExportLeavesNothingHalf(t *testing.T) {
	opt := exporting(t, filepath.Join(t.TempDir(), "antidotary.db"))
	recordedIn(t, opt, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "Thornbury Lane collection", Victims: 1}))
	folder := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Export(ctx, opt, filepath.Join(folder, "house")); err == nil {
		t.Error("a cancelled export ends well")
	}
	fails := func(partial string) error {
		if err := os.WriteFile(partial, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
		return io.ErrShortWrite
	}
	if err := publish(filepath.Join(folder, "house"), fails); err == nil {
		t.Error("what could not be written was published")
	}
	left, err := os.ReadDir(folder)
	if err != nil || len(left) > 0 {
		t.Errorf("%v, %v", left, err)
	}
	file := filepath.Join(folder, "house.xlsx")
	if err := os.WriteFile(file, []byte("somebody's"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Export(t.Context(), opt, file); err == nil {
		t.Error("a file was overwritten")
	}
	if data, err := os.ReadFile(file); err != nil || string(data) != "somebody's" {
		t.Errorf("%q, %v", data, err)
	}
}
