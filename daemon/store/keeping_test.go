package store

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

var noon = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

func opened(t *testing.T) (*Store, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "house.db")
	return reopened(t, path), path
}

func reopened(t *testing.T, path string) *Store {
	t.Helper()
	st, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	return st
}

func committed(t *testing.T, st *Store, changes ...compliance.Change) Head {
	t.Helper()
	head, err := st.Commit(t.Context(), Actor{ID: "test"}, changes...)
	if err != nil {
		t.Fatal(err)
	}
	return head
}

// TestARefusedChangeWritesNothing: neither a record nor a journal entry.
func TestARefusedChangeWritesNothing(t *testing.T) {
	st, _ := opened(t)
	good := compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1})
	bad := compliance.Record(inventory.Site{ID: inventory.NewID(), Organisation: inventory.NewID(), Title: "X", Zone: "UTC"})
	_, err := st.Commit(t.Context(), Actor{ID: "test"}, good, bad)
	var refusal *compliance.Refusal
	if !errors.As(err, &refusal) {
		t.Fatalf("%v, want a refusal", err)
	}
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if view.Snapshot.Organisations.Len() != 0 || view.Head != (Head{}) {
		t.Errorf("a refused change left %d organisations and the head %s", view.Snapshot.Organisations.Len(), view.Head)
	}
}

// journalOf makes a journal of several entries.
func journalOf(t *testing.T) (*Store, Head) {
	t.Helper()
	st, _ := opened(t)
	var head Head
	for i := range 6 {
		head = committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: fmt.Sprintf("Naja kaouthi%c", 'a'+i)}))
	}
	return st, head
}

// tampered runs SQL as somebody with the file in hands would.
func tampered(t *testing.T, st *Store, statements ...string) {
	t.Helper()
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		for _, s := range append([]string{"DROP TRIGGER journal_stays", "DROP TRIGGER journal_erases_only"}, statements...) {
			if _, err := tx.ExecContext(ctx, s); err != nil {
				return fmt.Errorf("%s: %w", s, err)
			}
		}
		return nil
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
}

// TestEveryTamperingShows: whatever is done to one entry of the journal, the
// chain does not hold any more.
func TestEveryTamperingShows(t *testing.T) {
	for name, statement := range map[string]string{
		"the payload":       `UPDATE journal SET payload = replace(payload, 'Naja', 'Maja') WHERE position = 3`,
		"the salt":          `UPDATE journal SET salt = randomblob(16) WHERE position = 3`,
		"the instant":       `UPDATE journal SET at = at + 1 WHERE position = 3`,
		"the actor":         `UPDATE journal SET actor = 'somebody' WHERE position = 3`,
		"what was done":     `UPDATE journal SET change = 'put permit' WHERE position = 3`,
		"the subject":       `UPDATE journal SET subject = subject || '0' WHERE position = 3`,
		"the schema":        `UPDATE journal SET schema = 2 WHERE position = 3`,
		"the identifier":    `UPDATE journal SET id = randomblob(16) WHERE position = 3`,
		"the digest":        `UPDATE journal SET digest = randomblob(32) WHERE position = 3`,
		"the chain":         `UPDATE journal SET chain = randomblob(32) WHERE position = 3`,
		"the first removed": `DELETE FROM journal WHERE position = 1`,
		"one removed":       `DELETE FROM journal WHERE position = 3`,
		"two swapped":       `UPDATE journal SET position = CASE position WHEN 2 THEN 3 WHEN 3 THEN 2 ELSE position END WHERE position IN (2, 3) AND 0 = (SELECT 0)`,
		"one before all":    `INSERT INTO journal SELECT 0, randomblob(16), at, actor, change, subject, schema, payload, salt, digest, chain FROM journal WHERE position = 1`,
		"one put behind":    `INSERT INTO journal SELECT 7, randomblob(16), at, actor, change, subject, schema, payload, salt, digest, chain FROM journal WHERE position = 6`,
	} {
		t.Run(name, func(t *testing.T) {
			st, _ := journalOf(t)
			if r, err := st.Verify(t.Context()); err != nil || r.Problem != "" || r.Entries != 6 {
				t.Fatalf("untouched: %+v, %v", r, err)
			}
			if name == "two swapped" { // in steps, for positions are unique
				tampered(t, st, `UPDATE journal SET position = 99 WHERE position = 2`, `UPDATE journal SET position = 2 WHERE position = 3`, `UPDATE journal SET position = 3 WHERE position = 99`)
			} else {
				tampered(t, st, statement)
			}
			if r, err := st.Verify(t.Context()); err != nil || r.Problem == "" {
				t.Errorf("it still holds: %+v, %v", r, err)
			}
		})
	}
}

// TestATailCutOffShowsAgainstANotedHead, and only there.
func TestATailCutOffShowsAgainstANotedHead(t *testing.T) {
	st, head := journalOf(t)
	if r, err := st.VerifyAgainst(t.Context(), head); err != nil || r.Problem != "" {
		t.Fatalf("untouched: %+v, %v", r, err)
	}
	tampered(t, st, `DELETE FROM journal WHERE position > 4`)
	if r, _ := st.Verify(t.Context()); r.Problem != "" {
		t.Fatalf("a shorter chain is a chain: %+v", r)
	}
	if r, err := st.VerifyAgainst(t.Context(), head); err != nil || r.Problem == "" {
		t.Errorf("the cut does not show: %+v, %v", r, err)
	}
}

// TestTheJournalRefusesEdits: its own triggers are the first line.
func TestTheJournalRefusesEdits(t *testing.T) {
	st, _ := journalOf(t)
	for _, statement := range []string{`DELETE FROM journal WHERE position = 3`, `UPDATE journal SET actor = 'x' WHERE position = 3`, `UPDATE journal SET payload = NULL WHERE position = 3`} {
		err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
			_, err := tx.ExecContext(ctx, statement)
			return err
		}, nil)
		if err == nil {
			t.Errorf("%s was taken", statement)
		}
	}
}

// TestErasingKeepsTheChain: what one person's entries said is gone, and the
// journal holds.
func TestErasingKeepsTheChain(t *testing.T) {
	st, _ := opened(t)
	p := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	committed(t, st, compliance.Record(p))
	p.Email = "somebody@house.example"
	head := committed(t, st, compliance.Record(p), compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
	n, err := st.Erase(t.Context(), p.Ref().String())
	if err != nil || n != 2 {
		t.Fatalf("erased %d, %v; want 2", n, err)
	}
	r, err := st.VerifyAgainst(t.Context(), head)
	if err != nil || r.Problem != "" || r.Erased != 2 || r.Entries != 3 {
		t.Errorf("after erasing: %+v, %v", r, err)
	}
}

// TestOneProcessWrites: a second one is refused; one that only asks is not.
func TestOneProcessWrites(t *testing.T) {
	st, path := opened(t)
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	if _, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon }}); !errors.Is(err, ErrBusy) {
		t.Errorf("a second writer: %v, want ErrBusy", err)
	}
	asks, err := OpenReadOnly(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer asks.Close()
	if v, err := asks.Read(t.Context()); err != nil || v.Snapshot.Organisations.Len() != 1 {
		t.Errorf("asking beside a writer: %v", err)
	}
	if _, err := asks.Commit(t.Context(), Actor{ID: "test"}); err == nil {
		t.Error("a store opened to be asked was written to")
	}
}

// TestANewerSchemaIsRefused.
func TestANewerSchemaIsRefused(t *testing.T) {
	st, path := opened(t)
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO schema_version VALUES (9999, 'future')`)
		return err
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	st.Close()
	if _, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon }}); !errors.Is(err, ErrNewer) {
		t.Errorf("%v, want ErrNewer", err)
	}
	if _, err := OpenReadOnly(t.Context(), path); !errors.Is(err, ErrNewer) {
		t.Errorf("%v, want ErrNewer", err)
	}
}

// TestForeignKeysHoldOnEveryConnection: a PRAGMA by Exec would reach one.
func TestForeignKeysHoldOnEveryConnection(t *testing.T) {
	st, _ := opened(t)
	var held []*bun.Conn
	for range 4 {
		c, err := st.reader.Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		held = append(held, &c)
		var on int
		if err := c.QueryRowContext(t.Context(), `PRAGMA foreign_keys`).Scan(&on); err != nil || on != 1 {
			t.Errorf("foreign_keys is %d, %v", on, err)
		}
	}
	for _, c := range held {
		c.Close()
	}
}
