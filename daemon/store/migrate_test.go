package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/daemon/store/faults"
)

// everyObject asks for all that migrations make.
var everyObject = map[bool]string{
	false: `SELECT type, name, coalesce(sql, '') FROM sqlite_schema`,
	true: `SELECT 'column', table_name, concat_ws(' ', column_name, data_type, is_nullable, column_default) FROM information_schema.columns WHERE table_schema = 'public'
		UNION ALL SELECT 'index', indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'
		UNION ALL SELECT 'constraint', conname, pg_get_constraintdef(oid) FROM pg_constraint WHERE connamespace = 'public'::regnamespace
		UNION ALL SELECT 'trigger', tgname, pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
		UNION ALL SELECT 'function', proname, prosrc FROM pg_proc WHERE pronamespace = 'public'::regnamespace`,
}

// standing is how far a database's schema is, by its own marks and by what is
// there.
type standing struct {
	At      int
	Objects []string
}

func standingOf(t *testing.T, database string) (s standing) {
	t.Helper()
	db := besides(t, database)
	defer db.Close()
	for _, object := range asked(t, db, everyObject[IsServer(database)]) {
		s.Objects = append(s.Objects, strings.Join(object, " "))
		if object[1] == "schema_version" && s.At == 0 {
			ok(t, db.QueryRowContext(t.Context(), `SELECT coalesce(max(number), 0) FROM schema_version`).Scan(&s.At))
		}
	}
	slices.Sort(s.Objects)
	return s
}

// steps gives the standing after each number of migrations, run one by one.
func steps(t *testing.T, database string) (out []standing) {
	t.Helper()
	st := &Store{clock: func() time.Time { return noon }}
	ok(t, st.open(t.Context(), database, Options{}, false))
	defer st.Close()
	list, err := known(st.dialect)
	ok(t, err)
	out = append(out, standingOf(t, database))
	for n := range list {
		done, err := migrateOne(t.Context(), st.writer, st.dialect, list[:n+1])
		if err != nil || done {
			t.Fatalf("migration %s: done before it ran %t, %v", list[n], done, err)
		}
		out = append(out, standingOf(t, database))
	}
	return out
}

// blank gives databases with nothing in them, one after the other: on a server
// the same one, emptied.
func blank(t *testing.T, name string) func() string {
	if name == "sqlite" {
		return func() string { return fresh["sqlite"](t) }
	}
	database := onServer(t)
	db := besides(t, database)
	return func() string {
		_, err := db.ExecContext(t.Context(), `DROP SCHEMA public CASCADE; CREATE SCHEMA public`)
		ok(t, err)
		return database
	}
}

// begun is the start of a process by a plan.
func begun(t *testing.T, database string, plan *faults.Plan) (*Store, error) {
	t.Helper()
	base := "sqlite"
	if IsServer(database) {
		base = "postgres"
	}
	driver, err := faults.Register(base, plan)
	ok(t, err)
	return Open(t.Context(), database, Options{Clock: func() time.Time { return noon }, Driver: driver})
}

// TestInvariant15MigrationKilledAtEachStatement: a process that makes a new
// database is killed at each operation, done and not done. A whole number of
// migrations is there with their marks, and nothing of the next one; whoever
// only wants to read is told that the database is older, unless all are there;
// whoever starts next runs the rest, and works with it.
func TestInvariant15MigrationKilledAtEachStatement(t *testing.T) {
	for name := range fresh {
		t.Run(name, func(t *testing.T) {
			place := blank(t, name)
			want := steps(t, place())
			count := &faults.Plan{}
			st, err := begun(t, place(), count)
			ok(t, err)
			ok(t, st.Close())
			log, ends, killed := count.Log(), make(map[int]int), 0
			for n, op := range log {
				if !everyOperation && n%10 != 0 && op.Kind != faults.Commit {
					continue
				}
				for _, performed := range []bool{false, true} {
					database := place()
					killAndStartAgain(t, database, &faults.Plan{At: int64(n + 1), After: performed}, want, ends)
					if killed++; t.Failed() {
						t.Fatalf("that was operation %d of %d (%s), performed %t", n+1, len(log), op, performed)
					}
				}
			}
			if len(ends) != len(want) {
				t.Errorf("killed with so many migrations done: %v; some number of %d is not among them", ends, len(want)-1)
			}
			t.Logf("%d operations, %d deaths; migrations done then: %v", len(log), killed, ends)
		})
	}
}

func killAndStartAgain(t *testing.T, database string, plan *faults.Plan, want []standing, ends map[int]int) {
	t.Helper()
	last := len(want) - 1
	if st, err := begun(t, database, plan); err == nil {
		ok(t, st.Close()) // killed after all was done
	}
	if !plan.Dead() {
		t.Fatal("the death did not come")
	}
	is := standingOf(t, database)
	ends[is.At]++
	if diff := cmp.Diff(want[is.At], is); diff != "" {
		t.Errorf("it is half way (-%d migrations +got):\n%s", is.At, diff)
	}
	asks, err := OpenReadOnly(t.Context(), database, Options{})
	if is.At == last && err != nil || is.At < last && !errors.Is(err, ErrOlder) {
		t.Errorf("asking with %d of %d migrations done: %v", is.At, last, err)
	}
	if err == nil {
		ok(t, asks.Close())
	}
	st := reopened(t, database)
	defer st.Close()
	if diff := cmp.Diff(want[last], standingOf(t, database)); diff != "" {
		t.Errorf("started again (-whole +got):\n%s", diff)
	}
	committed(t, st, anOffice())
}

// TestInvariant15ManyStartAtOnce: of five daemons on a new database of a
// server each migration is run by one, and all five work; on a file one works,
// and the others are refused by the lock.
func TestInvariant15ManyStartAtOnce(t *testing.T) {
	const daemons = 5
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := place(t)
			plans, stores, errs := make([]faults.Plan, daemons), make([]*Store, daemons), make([]error, daemons)
			var all, start sync.WaitGroup
			start.Add(1)
			for i := range daemons {
				driver, err := faults.Register(name, &plans[i])
				ok(t, err)
				all.Go(func() {
					start.Wait()
					stores[i], errs[i] = Open(t.Context(), database, Options{Clock: func() time.Time { return noon }, Driver: driver})
				})
			}
			start.Done()
			all.Wait()
			works, marks := 0, make(map[string]int)
			for i, st := range stores {
				for _, op := range plans[i].Log() {
					if strings.HasPrefix(op.Query, "INSERT INTO schema_version") {
						marks[op.Query]++
					}
				}
				switch {
				case errs[i] == nil:
					works++
					defer st.Close()
					committed(t, st, anOffice())
				case IsServer(database) || !errors.Is(errs[i], ErrBusy):
					t.Errorf("daemon %d: %v", i+1, errs[i])
				}
			}
			if want := map[string]int{"sqlite": 1, "postgres": daemons}[name]; works != want {
				t.Errorf("%d daemons work, want %d", works, want)
			}
			wantMarkedOnce(t, database, marks)
		})
	}
}

// wantMarkedOnce: each migration was marked by one daemon, and by none twice.
func wantMarkedOnce(t *testing.T, database string, marks map[string]int) {
	t.Helper()
	st := reopenedToAsk(t, database)
	list, err := known(st.dialect)
	ok(t, err)
	if len(marks) != len(list) {
		t.Errorf("%d migrations were marked, want %d", len(marks), len(list))
	}
	for mark, times := range marks {
		if times != 1 {
			t.Errorf("%d times: %s", times, mark)
		}
	}
}

func reopenedToAsk(t *testing.T, database string) *Store {
	t.Helper()
	st, err := OpenReadOnly(t.Context(), database, Options{})
	ok(t, err)
	t.Cleanup(func() { st.Close() })
	return st
}

// TestInvariant15ANewerSchemaIsRefused by whoever writes, asks, or lists
// migrations, and is left as it is; marked back, it works again.
func TestInvariant15ANewerSchemaIsRefused(t *testing.T) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := place(t)
			ok(t, reopened(t, database).Close())
			db := besides(t, database)
			mark := func(statement string) {
				_, err := db.ExecContext(context.Background(), statement)
				ok(t, err)
			}
			mark(`INSERT INTO schema_version (number, name) VALUES (9000, 'from_later')`)
			was := standingOf(t, database)
			for who, opens := range map[string]func() (*Store, error){
				"a writer": func() (*Store, error) {
					return Open(t.Context(), database, Options{Clock: func() time.Time { return noon }})
				},
				"a reader": func() (*Store, error) { return OpenReadOnly(t.Context(), database, Options{}) },
				"a list": func() (*Store, error) {
					_, err := Migrations(t.Context(), database, Options{})
					return nil, err
				},
			} {
				if _, err := opens(); !errors.Is(err, ErrNewer) || !strings.Contains(fmt.Sprint(err), "install the newer program") {
					t.Errorf("%s: %v, want ErrNewer and what to do", who, err)
				}
			}
			if diff := cmp.Diff(was, standingOf(t, database)); diff != "" {
				t.Errorf("it was altered (-before +after):\n%s", diff)
			}
			mark(`DELETE FROM schema_version WHERE number = 9000`)
			committed(t, reopened(t, database), anOffice())
		})
	}
}
