package store

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
)

func openedBeside(t *testing.T, database string) *Store {
	t.Helper()
	st, err := OpenBeside(t.Context(), database, Options{Clock: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	return st
}

// TestBesideADaemon: what people record while a daemon runs is there for it at
// once, nothing of what several record at a time is lost, and the journal
// holds.
func TestBesideADaemon(t *testing.T) {
	both(t, func(t *testing.T, database string, daemon *Store, _ *time.Time) {
		const writers, each = 4, 8
		var all sync.WaitGroup
		failed := make(chan error, writers*each)
		for w := range writers {
			st := daemon
			if w > 0 {
				st = openedBeside(t, database)
			}
			all.Go(func() {
				for i := range each {
					rec := compliance.Authority{ID: inventory.NewID(), Title: fmt.Sprint("office ", w, " ", i), Zone: "UTC"}
					if _, err := st.Commit(t.Context(), Actor{ID: fmt.Sprint("clerk ", w)}, compliance.Record(rec)); err != nil {
						failed <- err
					}
				}
			})
		}
		all.Wait()
		close(failed)
		for err := range failed {
			t.Error(err)
		}
		records, _, err := daemon.Snapshot(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if n := records.Authorities.Len(); n != writers*each {
			t.Errorf("the daemon sees %d records, want %d", n, writers*each)
		}
		if r, err := daemon.Verify(t.Context()); err != nil || r.Problem != "" || r.Entries != writers*each {
			t.Errorf("the journal: %+v, %v", r, err)
		}
	})
}

// TestBesideNobody leaves the file to whoever comes next.
func TestBesideNobody(t *testing.T) {
	database := fresh["sqlite"](t)
	st := openedBeside(t, database)
	committed(t, st, compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: "office", Zone: "UTC"}))
	daemon, err := Open(t.Context(), database, Options{Clock: time.Now})
	if err != nil {
		t.Fatalf("a daemon beside a command: %v", err)
	}
	defer daemon.Close()
	committed(t, st, compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: "another", Zone: "UTC"}))
	if _, err := Open(t.Context(), database, Options{Clock: time.Now}); !errors.Is(err, ErrBusy) {
		t.Errorf("a second daemon: %v, want ErrBusy", err)
	}
}

// TestBesideAnotherProgram: a daemon of another version keeps its schema.
func TestBesideAnotherProgram(t *testing.T) {
	database := fresh["sqlite"](t)
	daemon, err := Open(t.Context(), database, Options{Clock: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer daemon.Close()
	run(t, outsider(t, database), `UPDATE schema_version SET number = number + 1000`)
	if _, err := OpenBeside(t.Context(), database, Options{Clock: time.Now}); !errors.Is(err, ErrNewer) {
		t.Errorf("%v, want ErrNewer", err)
	}
}
