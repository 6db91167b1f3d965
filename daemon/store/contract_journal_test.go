package store

import (
	"context"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// contractEveryTamperingShows: whatever is done to one entry of the journal by
// somebody who goes round its triggers, the chain does not hold any more. Each
// case is done to every entry.
func contractEveryTamperingShows(t *testing.T, open opener) {
	st, database, _ := journalOn(t, open)
	db := intruder(t, database)
	families := make(map[string][][]string)
	for name, statements := range tamperings() {
		what, value, _ := strings.Cut(name, " becomes ")
		family := strings.TrimSpace(regexp.MustCompile(`\d+`).ReplaceAllString(what, "n") + " " + value)
		families[family] = append(families[family], statements)
	}
	for _, family := range slices.Sorted(maps.Keys(families)) {
		each(t, family, func(t *testing.T) {
			for _, statements := range families[family] {
				if r := verified(t, st); r.Problem != "" || r.Entries != entries {
					t.Fatalf("untouched: %+v", r)
				}
				for _, s := range statements {
					run(t, db, s)
				}
				if r := verified(t, st); r.Problem == "" {
					t.Errorf("%q: it still holds: %+v", statements, r)
				}
				restore(t, db)
			}
		})
	}
}

// contractEveryBitCounts: one bit of a hash, a salt or a payload.
func contractEveryBitCounts(t *testing.T, open opener) {
	st, database, _ := journalOn(t, open)
	db := intruder(t, database)
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
			if _, err := db.ExecContext(t.Context(), speak(db, `UPDATE journal SET `+column+` = ? WHERE position = 3`), stored); err != nil && column == "payload" && !utf8.Valid(flipped) {
				continue // a server does not even take it
			} else if err != nil {
				t.Fatal(err)
			}
			if r := verified(t, st); r.Problem == "" {
				t.Errorf("bit %d of byte %d of %s: it still holds", i%8, i, column)
			}
		}
		restore(t, db)
	}
}

// contractAnInsertionThatIsWellMade, with a digest and a chain of its own, still
// breaks the link of the next entry; at the end it shows against a head that
// was noted.
func contractAnInsertionThatIsWellMade(t *testing.T, open opener) {
	st, database, heads := journalOn(t, open)
	db := intruder(t, database)
	forged := inventory.Species{ID: inventory.NewID(), Accepted: "Naja forgata"}
	prev := append([]Head{{}}, heads...)
	for _, before := range prev[:entries-1] { // the last two are of one commit
		row, err := entryFor(before, Actor{ID: "test"}, "", imaging(forged), noon)
		if err != nil {
			t.Fatal(err)
		}
		run(t, db, `UPDATE journal SET position = -position WHERE position > ?`, before.Position)
		run(t, db, `UPDATE journal SET position = 1 - position WHERE position < 0`)
		run(t, db, `INSERT INTO journal (`+journalColumns+`) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, row.Position, row.ID, row.At, row.Actor, row.Change, row.Subject, row.Schema, *row.Payload, row.Salt, row.Digest, row.Chain, row.ActorSalt, row.ActorDigest)
		if r := verified(t, st); r.Problem == "" {
			t.Errorf("after position %d: it still holds", before.Position)
		}
		restore(t, db)
	}
	if r := verified(t, st); r.Problem != "" {
		t.Fatalf("after restoring: %+v", r)
	}
}

// contractAJournalWrittenAnew is a chain like any other, and shows against every
// head that was noted.
func contractAJournalWrittenAnew(t *testing.T, open opener) {
	st, database, heads := journalOn(t, open)
	db := intruder(t, database)
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

// contractATailCutOff, wherever the cut is, and only there.
func contractATailCutOff(t *testing.T, open opener) {
	st, database, heads := journalOn(t, open)
	db := intruder(t, database)
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

// contractALongJournal: what is wrong at the seam shows.
func contractALongJournal(t *testing.T, open opener) {
	st := open(t)
	const long = 2*verifyBatch + 3
	records := make([]image, long)
	for i := range records {
		records[i] = imaging(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1})
	}
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, now time.Time) error {
		_, _, err := st.appendJournal(ctx, tx, Head{}, Actor{ID: "test"}, "", records, now)
		return err
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != long || r.Head.Position != long {
		t.Fatalf("untouched: %+v", r)
	}
	db := intruder(t, placeOf(t, st))
	for _, at := range []int{verifyBatch, verifyBatch + 1, 2 * verifyBatch, long} {
		run(t, db, `UPDATE journal SET actor = 'x' WHERE position = ?`, at)
		if r := verified(t, st); r.Problem == "" || r.Entries != int64(at-1) {
			t.Errorf("entry %d: %+v", at, r)
		}
		run(t, db, `UPDATE journal SET actor = 'test' WHERE position = ?`, at)
	}
}

// contractTheJournalRefusesEdits: its own triggers are the first line, for
// whoever writes.
func contractTheJournalRefusesEdits(t *testing.T, open opener) {
	st, database, _ := journalOn(t, open)
	db := outsider(t, database)
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
		each(t, statement, func(t *testing.T) {
			if _, err := db.ExecContext(t.Context(), speak(db, statement)); err == nil {
				t.Error("it was taken")
			}
		})
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != entries || r.Erased != 0 {
		t.Errorf("after what was refused: %+v", r)
	}
}

// contractErasingKeepsTheChain: what one person's entries said is gone with its
// salt, and the journal holds.
func contractErasingKeepsTheChain(t *testing.T, open opener) {
	st := open(t)
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
	db := outsider(t, placeOf(t, st))
	err = db.QueryRowContext(t.Context(), speak(db, `SELECT count(*) FILTER (WHERE subject = ? AND (payload IS NOT NULL OR salt IS NOT NULL)),
		count(*) FILTER (WHERE subject <> ? AND payload IS NOT NULL AND length(salt) = 16) FROM journal`), p.Ref().String(), p.Ref().String()).Scan(&left, &others)
	if err != nil || left != 0 || others != 1 {
		t.Errorf("%d entries of the person are left, %d of others; want 0 and 1 (%v)", left, others, err)
	}
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia"}))
	if r := verified(t, st); r.Problem != "" || r.Entries != 4 {
		t.Errorf("after going on: %+v", r)
	}
}

// contractAnActorIsErased from each entry that they made, and from no other;
// the chain holds against every head that was noted.
func contractAnActorIsErased(t *testing.T, open opener) {
	st := open(t)
	actors := []Actor{{ID: "a"}, {ID: "a", Name: "b"}, {ID: "a (b)"}, {ID: "ä", Name: awkward}}
	var heads []Head
	for i := range 2 * len(actors) {
		at, err := st.Commit(t.Context(), actors[i%len(actors)], compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
		ok(t, err)
		heads = append(heads, at)
	}
	unnamed := int64(0)
	for _, c := range []struct {
		of   Actor
		want int64 // "a (b)" is written like "a" who is called "b"
	}{{Actor{ID: "nobody"}, 0}, {actors[0], 2}, {actors[0], 0}, {actors[1], 4}, {actors[2], 0}, {actors[3], 2}} {
		n, err := st.EraseActor(t.Context(), c.of)
		if err != nil || n != c.want {
			t.Errorf("%s: %d entries, want %d (%v)", c.of, n, c.want, err)
		}
		unnamed += n
		for _, head := range heads {
			if r, err := st.VerifyAgainst(t.Context(), head); err != nil || r.Problem != "" || r.Unnamed != unnamed || r.Erased != 0 {
				t.Errorf("after %s, against %s: %+v, %v; want %d unnamed", c.of, head, r, err, unnamed)
			}
		}
	}
}
