package store

import (
	"bytes"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory"
)

// entries is how long the journals of these tests are.
const entries = 6

// journalOf makes a journal of several commits, one of them of two entries.
func journalOf(t *testing.T) (st *Store, path string, heads []Head) {
	t.Helper()
	return journalOn(t, func(t *testing.T) *Store { st, _ := opened(t); return st })
}

// journalOn makes such a journal in a new database.
func journalOn(t *testing.T, open opener) (st *Store, database string, heads []Head) {
	t.Helper()
	st = open(t)
	species := func(i int) compliance.Change {
		return compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: fmt.Sprintf("Naja kaouthi%c", 'a'+i)})
	}
	for i := range entries - 2 {
		heads = append(heads, committed(t, st, species(i)))
	}
	heads = append(heads, committed(t, st, species(entries-2), species(entries-1)))
	return st, placeOf(t, st), heads
}

// intruder is somebody with the database in hands: a connection of its own,
// and the triggers do nothing any more.
func intruder(t *testing.T, database string) *sql.DB {
	t.Helper()
	db := outsider(t, database)
	run(t, db, `DROP TRIGGER journal_stays`)
	run(t, db, `DROP TRIGGER journal_erases_only`)
	run(t, db, `CREATE TABLE saved AS SELECT * FROM journal`)
	return db
}

// outsider is a second connection to a database.
func outsider(t *testing.T, database string) *sql.DB {
	t.Helper()
	if IsServer(database) {
		return besides(t, database)
	}
	db, err := sql.Open("sqlite", "file:"+database+"?_pragma=busy_timeout(5000)&_pragma=synchronous(OFF)")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// run executes a statement, in the words of SQLite.
func run(t *testing.T, db *sql.DB, statement string, args ...any) {
	t.Helper()
	if _, err := db.ExecContext(t.Context(), speak(db, statement), args...); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}

// restore undoes what the intruder did.
func restore(t *testing.T, db *sql.DB) {
	t.Helper()
	run(t, db, `DELETE FROM journal`)
	run(t, db, `INSERT INTO journal SELECT * FROM saved`)
}

// edits gives what may be done to one entry, by column: SQL for its new value.
var edits = map[string][]string{
	"position":     {"0", "-1", "position + 1000", "9223372036854775807"},
	"id":           {"randomblob(16)", "zeroblob(16)"},
	"at":           {"at + 1", "at - 1", "0", "at + 3600000000"},
	"actor":        {"''", "actor || ' '", "'somebody else'"},
	"actor_salt":   {"NULL", "randomblob(16)", "x''"},
	"actor_digest": {"NULL", "randomblob(32)", "zeroblob(32)"},
	"change":       {"''", "'put permit'", "change || 's'"},
	"subject":      {"''", "subject || '0'", "upper(subject)"},
	"schema":       {"0", "1", "-1"},
	"payload":      {"''", "payload || ' '", "replace(payload, 'Naja', 'Maja')", "'null'"},
	"salt":         {"randomblob(16)", "randomblob(15)", "x''", "CAST(salt || x'00' AS BLOB)"},
	"digest":       {"randomblob(32)", "zeroblob(32)"},
	"chain":        {"randomblob(32)", "zeroblob(32)"},
}

// tamperings is every edit of one column of one entry, every removal, every
// swap of two entries, and every insertion.
func tamperings() map[string][]string {
	all := make(map[string][]string)
	for p := 1; p <= entries; p++ {
		for column, values := range edits {
			for _, value := range values {
				all[fmt.Sprintf("%s of entry %d becomes %s", column, p, value)] = []string{fmt.Sprintf(`UPDATE journal SET %s = %s WHERE position = %d`, column, value, p)}
			}
		}
		if p < entries {
			all[fmt.Sprintf("entry %d removed", p)] = []string{fmt.Sprintf(`DELETE FROM journal WHERE position = %d`, p)}
			all[fmt.Sprintf("entry %d removed and the rest moved up", p)] = []string{
				fmt.Sprintf(`DELETE FROM journal WHERE position = %d`, p),
				fmt.Sprintf(`UPDATE journal SET position = -position WHERE position > %d`, p),
				`UPDATE journal SET position = -position - 1 WHERE position < 0`,
			}
		}
		for q := p + 1; q <= entries; q++ {
			all[fmt.Sprintf("entries %d and %d swapped", p, q)] = []string{
				fmt.Sprintf(`UPDATE journal SET position = 99 WHERE position = %d`, p),
				fmt.Sprintf(`UPDATE journal SET position = %d WHERE position = %d`, p, q),
				fmt.Sprintf(`UPDATE journal SET position = %d WHERE position = 99`, q),
			}
		}
		all[fmt.Sprintf("entry %d again at the end", p)] = []string{again(entries+1, p)}
		all[fmt.Sprintf("entry %d again before all", p)] = []string{again(0, p)}
		all[fmt.Sprintf("entry %d twice, the rest moved down", p)] = []string{
			fmt.Sprintf(`UPDATE journal SET position = -position WHERE position > %d`, p),
			`UPDATE journal SET position = 1 - position WHERE position < 0`,
			again(p+1, p),
		}
	}
	return all
}

// again puts a copy of an entry at a position.
func again(at, of int) string {
	return fmt.Sprintf(`INSERT INTO journal (%s) SELECT %d, randomblob(16), at, actor, change, subject, schema, payload, salt, digest, chain, actor_salt, actor_digest FROM journal WHERE position = %d`, journalColumns, at, of)
}

const journalColumns = `position, id, at, actor, change, subject, schema, payload, salt, digest, chain, actor_salt, actor_digest`

// TestWhatIsErasedIsNotInTheFile: neither in free pages nor in the log.
func TestWhatIsErasedIsNotInTheFile(t *testing.T) {
	st, path := opened(t)
	p := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	committed(t, st, compliance.Record(p))
	p.Called = "staff 7"
	committed(t, st, compliance.Record(p))
	if !inFiles(t, path, "Somebody Invented") {
		t.Fatal("it is nowhere even before: the search is wrong")
	}
	if _, err := st.Erase(t.Context(), p.Ref().String()); err != nil {
		t.Fatal(err)
	}
	if inFiles(t, path, "Somebody Invented") {
		t.Error("it can still be read in the database's files")
	}
}

func inFiles(t *testing.T, path, text string) bool {
	t.Helper()
	names, err := filepath.Glob(path + "*")
	if err != nil {
		t.Fatal(err)
	}
	return slices.ContainsFunc(names, func(name string) bool {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return bytes.Contains(data, []byte(text))
	})
}

func verified(t *testing.T, st *Store) VerifyReport {
	t.Helper()
	r, err := st.Verify(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return r
}
