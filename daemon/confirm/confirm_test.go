package confirm

import (
	"context"
	"database/sql"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/deploy"
	"antidotary/inventory/day"
	"antidotary/notify"
)

var monday = time.Date(2026, time.November, 30, 6, 0, 0, 0, time.UTC)

// proved opens a house and makes whatever proves it.
func proved(t *testing.T, house compliance.Batch) (*Confirmer, string, *time.Time) {
	t.Helper()
	now, path := monday, filepath.Join(t.TempDir(), "records.db")
	clock := func() time.Time { return now }
	st, err := store.Open(t.Context(), path, store.Options{Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	if _, err := st.Commit(t.Context(), store.Actor{ID: "test"}, house); err != nil {
		t.Fatal(err)
	}
	book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		t.Fatal(err)
	}
	return &Confirmer{Store: st, Book: book, Clock: clock, Sender: notify.From{Name: "watch", Address: "watch@house.example"}, Jobs: []string{"sweep"},
		Next: func(at time.Time) time.Time { return at.AddDate(0, 0, 7) }}, path, &now
}

func waiting(t *testing.T, st *store.Store) []store.Claimed {
	t.Helper()
	mails, err := st.Claim(t.Context(), 99, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	return mails
}

// TestAllIsWellIsMailedToo, once a day to each administrator, with the head to
// keep, and again the next week.
func TestAllIsWellIsMailedToo(t *testing.T) {
	c, _, now := proved(t, demo.House(day.In(monday, time.UTC), day.Embedded()))
	for range 3 {
		if err := c.Run(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	mails := waiting(t, c.Store)
	if len(mails) == 0 {
		t.Fatal("nobody is told that the watch is alive")
	}
	people := make(map[string]int)
	for _, m := range mails {
		people[m.Address]++
		if m.Kind != store.KindProof || !strings.Contains(string(m.Bytes), "This mail says that the watch runs") || people[m.Address] > 1 {
			t.Errorf("%d mails to %s: %s", people[m.Address], m.Address, m.Bytes)
		}
	}
	*now = now.AddDate(0, 0, 7)
	if err := c.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
	// Those of the week before are ambiguous or to be tried again by now; the new ones are of this day.
	fresh := 0
	for _, m := range waiting(t, c.Store) {
		if m.LocalDay >= day.In(monday, time.UTC)+6 {
			fresh++
		}
	}
	if fresh != len(mails) {
		t.Errorf("%d proofs a week later, want %d", fresh, len(mails))
	}
}

// TestADamagedJournalFailsAndIsTold.
func TestADamagedJournalFailsAndIsTold(t *testing.T) {
	c, path, _ := proved(t, demo.House(day.In(monday, time.UTC), day.Embedded()))
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=busy_timeout(5000)")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, statement := range []string{`DROP TRIGGER journal_erases_only`, `UPDATE journal SET payload = replace(payload, 'a', 'b') WHERE position = 3`} {
		if _, err := db.ExecContext(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
	if err := c.Run(t.Context()); !errors.Is(err, ErrBroken) {
		t.Errorf("%v, want ErrBroken", err)
	}
	mails := waiting(t, c.Store)
	if len(mails) == 0 || !strings.Contains(mails[0].Subject, "DOES NOT HOLD") {
		t.Errorf("%d mails: %+v", len(mails), mails)
	}
}

// TestAHouseWithoutMail is proved, and mailed nothing.
func TestAHouseWithoutMail(t *testing.T) {
	c, _, _ := proved(t, demo.Small(day.In(monday, time.UTC), day.Embedded()))
	if err := c.Run(context.Background()); err != nil {
		t.Fatal(err)
	}
	if mails := waiting(t, c.Store); len(mails) != 0 {
		t.Errorf("%d mails", len(mails))
	}
}
