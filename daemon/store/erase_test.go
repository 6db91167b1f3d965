package store

import (
	"context"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// TestErasingAnActorKeepsTheChain: who made the changes is nowhere in the
// file, what was changed and by others stays, and the journal holds against
// heads that were noted before.
func TestErasingAnActorKeepsTheChain(t *testing.T) {
	st, path := opened(t)
	leaves, stays := Actor{ID: "p-7", Name: "Somebody Invented"}, Actor{ID: "p-8"}
	var noted []Head
	for i, who := range []Actor{leaves, stays, leaves} {
		at, err := st.Commit(t.Context(), who, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthi" + string(rune('a'+i))}))
		if err != nil {
			t.Fatal(err)
		}
		noted = append(noted, at)
	}
	if !inFiles(t, path, leaves.Name) {
		t.Fatal("the name is nowhere even before: the search is wrong")
	}
	for i, want := range []int64{2, 0} { // a second time there is nothing left
		if n, err := st.EraseActor(t.Context(), leaves); err != nil || n != want {
			t.Fatalf("time %d: erased %d, %v; want %d", i+1, n, err, want)
		}
	}
	if inFiles(t, path, leaves.Name) {
		t.Error("the name can still be read in the database's files")
	}
	for _, head := range noted {
		r, err := st.VerifyAgainst(t.Context(), head)
		if err != nil || r.Problem != "" || r.Entries != 3 || r.Unnamed != 2 || r.Erased != 0 {
			t.Errorf("against %s: %+v, %v", head, r, err)
		}
	}
	var others int
	if err := outsider(t, path).QueryRowContext(t.Context(), `SELECT count(*) FROM journal WHERE actor = 'p-8' AND payload IS NOT NULL`).Scan(&others); err != nil || others != 1 {
		t.Errorf("%d entries of the other are left, want 1 (%v)", others, err)
	}
}

// contractNobodyElseTakesAnErasedName: neither past the triggers nor under
// them.
func contractNobodyElseTakesAnErasedName(t *testing.T, open opener) {
	st, database, _ := journalOn(t, open)
	if _, err := st.EraseActor(t.Context(), Actor{ID: "test"}); err != nil {
		t.Fatal(err)
	}
	forgeries := []string{
		`UPDATE journal SET actor = 'somebody else' WHERE position = 3`,
		`UPDATE journal SET actor = 'somebody else', actor_salt = randomblob(16) WHERE position = 3`,
		`UPDATE journal SET actor_digest = NULL WHERE position = 3`,
	}
	for _, forgery := range forgeries {
		db := outsider(t, database)
		if _, err := db.ExecContext(t.Context(), speak(db, forgery)); err == nil {
			t.Errorf("%s was taken", forgery)
		}
	}
	db := intruder(t, database)
	for _, forgery := range forgeries {
		run(t, db, forgery)
		if r := verified(t, st); r.Problem == "" {
			t.Errorf("%s: it still holds: %+v", forgery, r)
		}
		restore(t, db)
	}
}

// contractEntriesOfTheFirstFormatHold, with the actor in the chain as it
// stands: it is neither erased nor altered.
func contractEntriesOfTheFirstFormatHold(t *testing.T, open opener) {
	st := open(t)
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, now time.Time) error {
		row, err := entryFor(Head{}, Actor{ID: "test"}, "", imaging(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}), now)
		if err != nil {
			return err
		}
		row.ActorSalt, row.ActorDigest = nil, nil
		row.Chain = row.link(Head{}.Chain)
		_, err = tx.NewInsert().Model(row).Exec(ctx)
		return err
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia"}))
	if n, err := st.EraseActor(t.Context(), Actor{ID: "test"}); err != nil || n != 1 {
		t.Errorf("erased %d, %v; want the second entry alone", n, err)
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != 2 || r.Unnamed != 1 {
		t.Errorf("%+v", r)
	}
	db := intruder(t, placeOf(t, st))
	for _, forgery := range []string{`UPDATE journal SET actor = '' WHERE position = 1`, `UPDATE journal SET actor = 'x' WHERE position = 1`, `UPDATE journal SET actor_salt = randomblob(16) WHERE position = 1`} {
		run(t, db, forgery)
		if r := verified(t, st); r.Problem == "" {
			t.Errorf("%s: it still holds: %+v", forgery, r)
		}
		restore(t, db)
	}
}
