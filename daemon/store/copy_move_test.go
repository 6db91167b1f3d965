package store

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// moved gives where a store was moved to, and the error of it.
func moved(t *testing.T, from, to string) (Copied, error) {
	t.Helper()
	return Move(t.Context(), from, atNoon(), to, atNoon(), "moved to the new one")
}

// TestAMove between the databases: everything is there, mail is held in the
// old one, and not in the new one.
func TestAMove(t *testing.T) {
	for _, way := range [][2]string{{"sqlite", "postgres"}, {"postgres", "sqlite"}, {"sqlite", "sqlite"}} {
		t.Run(way[0]+" to "+way[1], func(t *testing.T) {
			from, to := fresh[way[0]](t), fresh[way[1]](t)
			inEveryTable(t, from).Close()
			want := everything(t, from)
			c, err := moved(t, from, to)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, everything(t, to)); diff != "" {
				t.Errorf("(-there +moved):\n%s", diff)
			}
			old, st := reopened(t, from), reopened(t, to)
			if h, in, err := old.Hold(t.Context()); err != nil || !in || h.Why != "moved to the new one" {
				t.Errorf("the old one: %+v, %t, %v", h, in, err)
			}
			if h, in, err := st.Hold(t.Context()); err != nil || in {
				t.Errorf("the new one: %+v, %t, %v", h, in, err)
			}
			if mails := claim(t, st); len(mails) != 1 || len(claim(t, old)) != 0 {
				t.Errorf("%d mails go out of the new one, want 1, and none out of the old one", len(mails))
			}
			goesOn(t, st, c.Head)
		})
	}
}

// TestAMoveOfADatabaseOnHold: what holds the mail there holds it here.
func TestAMoveOfADatabaseOnHold(t *testing.T) {
	from, to := fresh["sqlite"](t), fresh["sqlite"](t)
	st := reopened(t, from)
	held(t, st, "restored")
	st.Close()
	if _, err := moved(t, from, to); err != nil {
		t.Fatal(err)
	}
	for database, want := range map[string]string{from: "moved to the new one", to: "restored"} {
		if h, in, err := reopened(t, database).Hold(t.Context()); err != nil || !in || h.Why != want {
			t.Errorf("%+v, %t, %v, want %q", h, in, err, want)
		}
	}
}

// TestADatabaseInUseIsNotMoved, and nothing is made of it.
func TestADatabaseInUseIsNotMoved(t *testing.T) {
	lease := micros(noon.Add(time.Minute))
	for _, c := range []struct {
		name, on string
		use      func(t *testing.T, st *Store)
		want     error
	}{
		{"a daemon on the file", "sqlite", func(*testing.T, *Store) {}, ErrBusy},
		{"a daemon on the server", "postgres", func(*testing.T, *Store) {}, ErrInUse},
		{"a job that runs", "postgres", func(t *testing.T, st *Store) {
			err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
				return insertAll(ctx, tx, st.dialect, []jobRunRow{{ID: key(inventory.NewID()), Job: "sweep", State: string(RunRunning), LeaseUntil: &lease}})
			}, nil)
			if err != nil {
				t.Fatal(err)
			}
			st.Close()
		}, ErrInUse},
	} {
		t.Run(c.name, func(t *testing.T) {
			from, to := fresh[c.on](t), filepath.Join(t.TempDir(), "new.db")
			c.use(t, inEveryTable(t, from))
			if _, err := moved(t, from, to); !errors.Is(err, c.want) {
				t.Errorf("%v, want %v", err, c.want)
			}
			if _, err := os.Stat(to); err == nil {
				t.Error("something was made")
			}
			if h, in, err := readOnly(t, from).Hold(t.Context()); err != nil || in {
				t.Errorf("%+v, %t, %v", h, in, err)
			}
		})
	}
}

func readOnly(t *testing.T, database string) *Store {
	t.Helper()
	st, err := OpenReadOnly(t.Context(), database, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	return st
}

// TestWhatChangedWhileItWasMoved stays in the old one, which goes on.
func TestWhatChangedWhileItWasMoved(t *testing.T) {
	st := inEveryTable(t, fresh["sqlite"](t))
	c := copiedTo(t, st, fresh["sqlite"](t))
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
	if err := st.retire(t.Context(), c, "moved"); !errors.Is(err, ErrMoved) {
		t.Errorf("%v, want ErrMoved", err)
	}
	if _, in, err := st.Hold(t.Context()); err != nil || in {
		t.Errorf("held %t, %v", in, err)
	}
}
