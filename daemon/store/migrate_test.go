package store

import (
	"context"
	"path/filepath"
	"testing"

	"antidotary/compliance"
	"antidotary/daemon/store/faults"
	"antidotary/inventory"
)

// TestAMigrationThatIsKilled, at any operation of making a database: whoever
// starts next finds it whole or makes the rest, and works with it.
func TestAMigrationThatIsKilled(t *testing.T) {
	nothing := func(context.Context, *Store) error { return nil }
	count := &faults.Plan{}
	if err := lived(t, filepath.Join(t.TempDir(), "new.db"), count, noon, nothing); err != nil {
		t.Fatal(err)
	}
	whole, path := opened(t)
	want, tables := schemaOf(t, whole)
	if list, err := known(sqliteDialect); err != nil || want != len(list) || count.Operations() < int64(3*len(list)) {
		t.Fatalf("%s has the schema %d of %d, made in %d operations (%v)", path, want, len(list), count.Operations(), err)
	}
	for n := int64(1); n <= count.Operations(); n++ {
		for _, performed := range []bool{false, true} {
			path, plan := filepath.Join(t.TempDir(), "new.db"), &faults.Plan{At: n, After: performed}
			if err := lived(t, path, plan, noon, nothing); !plan.Dead() {
				t.Fatalf("operation %d: the death did not come (%v)", n, err)
			}
			st := reopened(t, path)
			if at, have := schemaOf(t, st); at != want || have != tables {
				t.Errorf("operation %d, performed %t: the schema is %d with %d tables, want %d with %d", n, performed, at, have, want, tables)
			}
			committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
			if err := st.Close(); err != nil {
				t.Fatal(err)
			}
		}
	}
}
