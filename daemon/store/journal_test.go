package store

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// entries is how long the journals of these tests are.
const entries = 6

// journalOf makes a journal of several commits, one of them of two entries.
func journalOf(t *testing.T) (st *Store, path string, heads []Head) {
	t.Helper()
	st, path = opened(t)
	species := func(i int) compliance.Change {
		return compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: fmt.Sprintf("Naja kaouthi%c", 'a'+i)})
	}
	for i := range entries - 2 {
		heads = append(heads, committed(t, st, species(i)))
	}
	heads = append(heads, committed(t, st, species(entries-2), species(entries-1)))
	return st, path, heads
}

// intruder is somebody with the file in hands: a connection of its own, and
// the triggers are gone.
func intruder(t *testing.T, path string) *sql.DB {
	t.Helper()
	db := outsider(t, path)
	run(t, db, `DROP TRIGGER journal_stays`)
	run(t, db, `DROP TRIGGER journal_erases_only`)
	run(t, db, `CREATE TABLE saved AS SELECT * FROM journal`)
	return db
}

// outsider is a second connection to the file.
func outsider(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=busy_timeout(5000)&_pragma=synchronous(OFF)")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// run executes a statement, which must alter something.
func run(t *testing.T, db *sql.DB, statement string, args ...any) {
	t.Helper()
	if _, err := db.ExecContext(t.Context(), statement, args...); err != nil {
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
	"schema":       {"0", "2", "-1"},
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
	return fmt.Sprintf(`INSERT INTO journal SELECT %d, randomblob(16), at, actor, change, subject, schema, payload, salt, digest, chain, actor_salt, actor_digest FROM journal WHERE position = %d`, at, of)
}

// TestEveryTamperingShows: whatever is done to one entry of the journal by
// somebody who goes round its triggers, the chain does not hold any more.
func TestEveryTamperingShows(t *testing.T) {
	st, path, _ := journalOf(t)
	db := intruder(t, path)
	for name, statements := range tamperings() {
		if r := verified(t, st); r.Problem != "" || r.Entries != entries {
			t.Fatalf("untouched: %+v", r)
		}
		for _, s := range statements {
			run(t, db, s)
		}
		if r := verified(t, st); r.Problem == "" {
			t.Errorf("%s: it still holds: %+v", name, r)
		}
		restore(t, db)
	}
}

// TestEveryBitCounts: one bit of a hash, a salt or a payload.
func TestEveryBitCounts(t *testing.T) {
	st, path, _ := journalOf(t)
	db := intruder(t, path)
	for _, column := range []string{"id", "payload", "salt", "digest", "chain", "actor_salt", "actor_digest"} {
		var value []byte
		if err := db.QueryRowContext(t.Context(), `SELECT `+column+` FROM journal WHERE position = 3`).Scan(&value); err != nil {
			t.Fatal(err)
		}
		for i := range value {
			flipped := slices.Clone(value)
			flipped[i] ^= 1 << (i % 8)
			stored := any(flipped)
			if column == "payload" {
				stored = string(flipped)
			}
			run(t, db, `UPDATE journal SET `+column+` = ? WHERE position = 3`, stored)
			if r := verified(t, st); r.Problem == "" {
				t.Errorf("bit %d of byte %d of %s: it still holds", i%8, i, column)
			}
		}
		restore(t, db)
	}
}

// TestAnInsertionThatIsWellMade, with a digest and a chain of its own, still
// breaks the link of the next entry; at the end it shows against a head that
// was noted.
func TestAnInsertionThatIsWellMade(t *testing.T) {
	st, path, heads := journalOf(t)
	db := intruder(t, path)
	forged := inventory.Species{ID: inventory.NewID(), Accepted: "Naja forgata"}
	prev := append([]Head{{}}, heads...)
	for _, before := range prev[:entries-1] { // the last two are of one commit
		row, err := entryFor(before, Actor{ID: "test"}, forged, noon)
		if err != nil {
			t.Fatal(err)
		}
		run(t, db, `UPDATE journal SET position = -position WHERE position > ?`, before.Position)
		run(t, db, `UPDATE journal SET position = 1 - position WHERE position < 0`)
		run(t, db, `INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, row.Position, row.ID, row.At, row.Actor, row.Change, row.Subject, row.Schema, *row.Payload, row.Salt, row.Digest, row.Chain, row.ActorSalt, row.ActorDigest)
		if r := verified(t, st); r.Problem == "" {
			t.Errorf("after position %d: it still holds", before.Position)
		}
		restore(t, db)
	}
	if r := verified(t, st); r.Problem != "" {
		t.Fatalf("after restoring: %+v", r)
	}
}

// TestAJournalWrittenAnew is a chain like any other, and shows against every
// head that was noted.
func TestAJournalWrittenAnew(t *testing.T) {
	st, path, heads := journalOf(t)
	db := intruder(t, path)
	run(t, db, `DELETE FROM journal`)
	for i := range entries {
		committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: fmt.Sprintf("Bitis forgat%c", 'a'+i)}))
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != entries {
		t.Fatalf("a chain written anew is a chain: %+v", r)
	}
	for _, noted := range heads {
		if r, err := st.VerifyAgainst(t.Context(), noted); err != nil || r.Problem == "" {
			t.Errorf("it does not show against %s: %+v, %v", noted, r, err)
		}
	}
}

// TestATailCutOffShowsAgainstANotedHead, wherever the cut is, and only there.
func TestATailCutOffShowsAgainstANotedHead(t *testing.T) {
	st, path, heads := journalOf(t)
	db := intruder(t, path)
	last := heads[len(heads)-1]
	for _, noted := range heads {
		if r, err := st.VerifyAgainst(t.Context(), noted); err != nil || r.Problem != "" || r.Head != last {
			t.Fatalf("untouched, against %s: %+v, %v", noted, r, err)
		}
	}
	for keep := range entries {
		run(t, db, `DELETE FROM journal WHERE position > ?`, keep)
		if r := verified(t, st); r.Problem != "" || r.Entries != int64(keep) {
			t.Fatalf("%d left: a shorter chain is a chain: %+v", keep, r)
		}
		for _, noted := range heads {
			r, err := st.VerifyAgainst(t.Context(), noted)
			if err != nil || (r.Problem == "") != (noted.Position <= int64(keep)) {
				t.Errorf("%d left, against position %d: %+v, %v", keep, noted.Position, r, err)
			}
		}
		restore(t, db)
	}
}

// TestALongJournalIsVerifiedInPieces: what is wrong at the seam shows.
func TestALongJournalIsVerifiedInPieces(t *testing.T) {
	st, path := opened(t)
	const long = 2*verifyBatch + 3
	records := make([]inventory.Record, long)
	for i := range records {
		records[i] = inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}
	}
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, now time.Time) error {
		_, _, err := st.appendJournal(ctx, tx, Head{}, Actor{ID: "test"}, records, now)
		return err
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != long || r.Head.Position != long {
		t.Fatalf("untouched: %+v", r)
	}
	db := intruder(t, path)
	for _, at := range []int{verifyBatch, verifyBatch + 1, 2 * verifyBatch, long} {
		run(t, db, `UPDATE journal SET actor = 'x' WHERE position = ?`, at)
		if r := verified(t, st); r.Problem == "" || r.Entries != int64(at-1) {
			t.Errorf("entry %d: %+v", at, r)
		}
		run(t, db, `UPDATE journal SET actor = 'test' WHERE position = ?`, at)
	}
}

// TestTheJournalRefusesEdits: its own triggers are the first line, for
// whoever writes.
func TestTheJournalRefusesEdits(t *testing.T) {
	st, path, _ := journalOf(t)
	db := outsider(t, path)
	var refused []string
	for column, values := range edits {
		for _, value := range values {
			refused = append(refused, fmt.Sprintf(`UPDATE journal SET %s = %s WHERE position = 3`, column, value))
		}
		if column != "payload" && column != "salt" {
			refused = append(refused, fmt.Sprintf(`UPDATE journal SET payload = NULL, salt = NULL, %s = %s WHERE position = 3`, column, values[0]))
		}
	}
	refused = append(refused, `DELETE FROM journal`, `DELETE FROM journal WHERE position = 6`, `UPDATE journal SET payload = NULL`, `UPDATE journal SET salt = NULL`)
	for _, statement := range refused {
		if _, err := db.ExecContext(t.Context(), statement); err == nil {
			t.Errorf("%s was taken", statement)
		}
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != entries || r.Erased != 0 {
		t.Errorf("after what was refused: %+v", r)
	}
}

// TestErasingKeepsTheChain: what one person's entries said is gone with its
// salt, and the journal holds.
func TestErasingKeepsTheChain(t *testing.T) {
	st, path := opened(t)
	p := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	committed(t, st, compliance.Record(p))
	p.Email = "somebody@house.example"
	head := committed(t, st, compliance.Record(p), compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
	for i, want := range []int64{2, 0} { // a second time there is nothing left
		n, err := st.Erase(t.Context(), p.Ref().String())
		if err != nil || n != want {
			t.Fatalf("time %d: erased %d, %v; want %d", i+1, n, err, want)
		}
	}
	r, err := st.VerifyAgainst(t.Context(), head)
	if err != nil || r.Problem != "" || r.Erased != 2 || r.Entries != 3 {
		t.Errorf("after erasing: %+v, %v", r, err)
	}
	var left, others int
	err = outsider(t, path).QueryRowContext(t.Context(), `SELECT count(*) FILTER (WHERE subject = ?1 AND (payload IS NOT NULL OR salt IS NOT NULL)),
		count(*) FILTER (WHERE subject <> ?1 AND payload IS NOT NULL AND length(salt) = 16) FROM journal`, p.Ref().String()).Scan(&left, &others)
	if err != nil || left != 0 || others != 1 {
		t.Errorf("%d entries of the person are left, %d of others; want 0 and 1 (%v)", left, others, err)
	}
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia"}))
	if r := verified(t, st); r.Problem != "" || r.Entries != 4 {
		t.Errorf("after going on: %+v", r)
	}
}

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
