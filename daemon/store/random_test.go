package store

import (
	"database/sql"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestWhateverIsPutComesBack: random records of every kind, put in random
// portions, corrected, and refused by the way, read back by another process
// equal what the changes alone say.
func TestWhateverIsPutComesBack(t *testing.T) {
	folder, house := t.TempDir(), 0
	kinds := make(map[inventory.Kind]int)
	rapid.Check(t, func(rt *rapid.T) {
		house++
		path := filepath.Join(folder, fmt.Sprint(house))
		st := openedAt(rt, path)
		want, sets := &compliance.Snapshot{}, []keys{newKeys(), newKeys()}
		for range rapid.IntRange(1, 6).Draw(rt, "commits") {
			batch := randomBatch(rt, sets, &want)
			if _, err := st.Commit(t.Context(), Actor{ID: "test"}, batch...); err != nil {
				rt.Fatalf("the changes apply, and the store refuses: %v", err)
			}
		}
		if err := st.Close(); err != nil {
			rt.Fatal(err)
		}
		again := openedAt(rt, path)
		got, _, err := again.Snapshot(t.Context())
		if err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(recordsIn(want), recordsIn(got)); diff != "" {
			rt.Fatalf("(-put +read):\n%s", diff)
		}
		if r, err := again.Verify(t.Context()); err != nil || r.Problem != "" {
			rt.Fatalf("%+v, %v", r, err)
		}
		for _, rec := range recordsIn(got) {
			kinds[rec.Ref().Kind]++
		}
		again.Close()
		os.Remove(path)
	})
	for _, kind := range inventory.Kinds() {
		if kinds[kind] == 0 {
			t.Errorf("no %s was ever put: the property proves less than it says", kind)
		}
	}
}

// contractWhateverIsPutComesBack: the same, for some houses, on each database.
func contractWhateverIsPutComesBack(t *testing.T, open opener) {
	for seed := range 8 {
		each(t, fmt.Sprint("house ", seed), func(t *testing.T) {
			st, want, sets := open(t), &compliance.Snapshot{}, []keys{newKeys(), newKeys()}
			for part := range 4 {
				batch := rapid.Custom(func(rt *rapid.T) *compliance.Batch {
					next := want
					b := randomBatch(rt, sets, &next)
					return &b
				}).Example(4*seed + part)
				next, err := batch.Apply(want)
				ok(t, err)
				committed(t, st, *batch...)
				want = next
			}
			st.Forget()
			got, _, err := st.Snapshot(t.Context())
			ok(t, err)
			if diff := cmp.Diff(recordsIn(want), recordsIn(got)); diff != "" || len(recordsIn(want)) == 0 {
				t.Errorf("%d records (-put +read):\n%s", len(recordsIn(want)), diff)
			}
			if r := verified(t, st); r.Problem != "" {
				t.Error(r.Problem)
			}
		})
	}
}

func openedAt(rt *rapid.T, path string) *Store {
	rt.Helper()
	st, err := Open(rt.Context(), path, Options{Clock: func() time.Time { return noon }})
	if err != nil {
		rt.Fatal(err)
	}
	return st
}

// randomBatch gives changes that apply one after the other, and moves the
// snapshot on by them. Each is a full or bare record with a few fields altered;
// what is refused is left out.
func randomBatch(rt *rapid.T, sets []keys, at **compliance.Snapshot) (batch compliance.Batch) {
	set := rapid.IntRange(0, len(sets)-1).Draw(rt, "set")
	records := slices.Concat(fullRecords(sets[set]), bareRecords(sets[set]))
	for range rapid.IntRange(1, 60).Draw(rt, "changes") {
		i := rapid.IntRange(0, len(records)-1).Draw(rt, "record")
		rec := altered(rt, records[i], set)
		change := changeOf(rec)
		if site, ok := rec.(inventory.Site); ok && site.Organisation == (inventory.ID{}) {
			continue // its own check lets it be unset, and the table does not
		}
		if next, err := change.Apply(*at); err == nil && storable(rec) == nil {
			*at, batch = next, append(batch, change)
		}
	}
	return batch
}

// altered gives the record with up to three of its own fields emptied or made
// random, and a name that the other set of records does not have.
func altered(rt *rapid.T, rec inventory.Record, set int) inventory.Record {
	v := reflect.New(reflect.TypeOf(rec)).Elem()
	v.Set(reflect.ValueOf(rec))
	for range rapid.IntRange(0, 3).Draw(rt, "fields") {
		alter(rt, v.Field(rapid.IntRange(1, v.NumField()-1).Draw(rt, "field"))) // 0 is the identifier
	}
	for _, name := range []string{"Title", "Accession", "Type", "Number"} {
		if f := v.FieldByName(name); f.IsValid() && f.String() != "" && set > 0 {
			f.SetString(f.String() + fmt.Sprint(set))
		}
	}
	if f := v.FieldByName("GTINs"); f.IsValid() && f.Len() > 0 && set > 0 {
		f.Set(reflect.ValueOf([]string{"12345678901231"}))
	}
	if f := v.FieldByName("Accepted"); f.IsValid() && set > 0 {
		f.SetString("Bitis arietans")
	}
	return v.Interface().(inventory.Record)
}

func alter(rt *rapid.T, f reflect.Value) {
	if rapid.Bool().Draw(rt, "empty") {
		f.SetZero()
		return
	}
	switch f.Type() {
	case reflect.TypeFor[string]():
		f.SetString(rapid.String().Draw(rt, "text"))
	case reflect.TypeFor[bool]():
		f.SetBool(rapid.Bool().Draw(rt, "yes"))
	case reflect.TypeFor[int]():
		f.SetInt(rapid.Int64Range(-1<<31, 1<<31).Draw(rt, "number"))
	case reflect.TypeFor[day.Day]():
		f.SetInt(rapid.Int64Range(int64(day.First), int64(day.Last)).Draw(rt, "day"))
	case reflect.TypeFor[day.End]():
		f.Set(reflect.ValueOf(rapid.SampledFrom([]day.End{{}, day.Forever(), day.Until(day.First), day.Until(day.Last)}).Draw(rt, "end")))
	case reflect.TypeFor[[]string]():
		f.Set(reflect.ValueOf(rapid.SliceOfN(rapid.String(), 1, 4).Draw(rt, "list")))
	}
}

// altered entries are those that differ from what was saved by more than an
// erasure, were added, or are gone.
const alteredEntries = `SELECT count(*) FROM saved s FULL JOIN journal j USING (position) WHERE NOT coalesce(
	s.id = j.id AND s.at = j.at AND s.change = j.change AND s.subject = j.subject AND s.schema = j.schema
	AND s.digest = j.digest AND s.chain = j.chain AND s.actor_digest = j.actor_digest
	AND (s.payload = j.payload AND s.salt = j.salt OR j.payload IS NULL AND j.salt IS NULL)
	AND (s.actor = j.actor AND s.actor_salt = j.actor_salt OR j.actor = '' AND j.actor_salt IS NULL), 0)`

// TestAnyTamperingsTogetherShow: several at once, which might hide each other,
// unless all that they did is to undo one another or to erase.
func TestAnyTamperingsTogetherShow(t *testing.T) {
	st, path, _ := journalOf(t)
	db, all, shown := intruder(t, path), tamperings(), 0
	names := slices.Sorted(maps.Keys(all))
	rapid.Check(t, func(rt *rapid.T) {
		for range 20 {
			restore(t, db)
			var done []string
			for _, name := range rapid.SliceOfN(rapid.SampledFrom(names), 1, 4).Draw(rt, "tamperings") {
				for _, statement := range all[name] {
					if _, err := db.ExecContext(t.Context(), statement); err == nil {
						done = append(done, statement)
					}
				}
			}
			var differ int
			if err := db.QueryRowContext(t.Context(), alteredEntries).Scan(&differ); err != nil {
				rt.Fatal(err)
			}
			r := verified(t, st)
			switch whole := r.Problem == "" && r.Entries == entries; {
			case differ == 0 && !whole:
				rt.Fatalf("%q: nothing differs but what was erased, and it does not hold: %+v", done, r)
			case differ > 0 && whole:
				rt.Fatalf("%q: it still holds: %+v", done, r)
			case differ > 0 && r.Problem == "" && !cutOff(t, db):
				rt.Fatalf("%q: it still holds in part: %+v", done, r)
			case differ > 0:
				shown++
			}
		}
	})
	if t.Logf("%d tamperings", shown); shown < 300 {
		t.Errorf("only %d tamperings altered the journal", shown)
	}
}

// cutOff says that the journal is what it was but for its tail: that shows
// against a noted head alone.
func cutOff(t *testing.T, db *sql.DB) bool {
	t.Helper()
	var last, gaps int
	if err := db.QueryRowContext(t.Context(), `SELECT max(position), max(position) - count(*) FROM journal`).Scan(&last, &gaps); err != nil {
		t.Fatal(err)
	}
	var differ int
	if err := db.QueryRowContext(t.Context(), alteredEntries).Scan(&differ); err != nil {
		t.Fatal(err)
	}
	return gaps == 0 && differ == entries-last
}
