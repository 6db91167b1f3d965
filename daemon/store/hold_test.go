package store

import (
	"context"
	"errors"
	"maps"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/uptrace/bun"

	"antidotary/inventory"
)

// held puts a hold in force on a store that is otherwise in use.
func held(t *testing.T, st *Store, why string) {
	t.Helper()
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, now time.Time) error { return putHold(ctx, tx, why, now) }, nil)
	if err != nil {
		t.Fatal(err)
	}
}

// contractAHoldKeepsEveryMailBack, whatever state it is in, and those that
// sweeps queue meanwhile; then all go out.
func contractAHoldKeepsEveryMailBack(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	if h, in, err := st.Hold(t.Context()); err != nil || in {
		t.Fatalf("at first: %+v, %t, %v", h, in, err)
	}
	queued(t, st, mailTo("queued@house.example"), mailTo("retried@house.example"), mailTo("lost@house.example"))
	for _, c := range claim(t, st) {
		if c.Address == "retried@house.example" {
			if err := st.Finish(t.Context(), c.ID, c.Token, Outcome{State: MailRetry, NextAttempt: *now}); err != nil {
				t.Fatal(err)
			}
		}
	}
	held(t, st, "the first reason")
	held(t, st, "a reason")
	want := Hold{Since: *now, Why: "a reason"}
	got, in, err := st.Hold(t.Context())
	if want.ID = got.ID; err != nil || !in || got != want || got.ID == (inventory.ID{}) {
		t.Errorf("%+v, %t, %v", got, in, err)
	}
	*now = now.Add(48 * time.Hour)
	queued(t, st, mailTo("later@house.example"))
	if claimed := claim(t, st); len(claimed) != 0 {
		t.Errorf("%d mails were handed out", len(claimed))
	}
	out, err := st.Release(t.Context(), Actor{ID: "r.head", Name: "Head"}, false)
	if err != nil || out == nil || out.Hold != want || out.Waiting != 4 || len(out.Dropped) != 0 {
		t.Fatalf("%+v, %v", out, err)
	}
	if claimed := claim(t, st); len(claimed) != 4 {
		t.Errorf("%d mails went out, want 4", len(claimed))
	}
	if again, err := st.Release(t.Context(), Actor{ID: "r.head"}, true); err != nil || again != nil {
		t.Errorf("released twice: %+v, %v", again, err)
	}
}

// contractDroppedMailsNeverGoOut: those that waited when the hold began, with
// the reason; the others do. What was finished before stays as it was.
func contractDroppedMailsNeverGoOut(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	queued(t, st, mailTo("sent@house.example"), mailTo("old@house.example"))
	for _, c := range claim(t, st) {
		if c.Address == "sent@house.example" {
			if err := st.Finish(t.Context(), c.ID, c.Token, Outcome{State: MailSent, Reply: "250"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	*now = now.Add(time.Minute)
	queued(t, st, mailTo("same@house.example"))
	held(t, st, "restored")
	*now = now.Add(time.Minute)
	queued(t, st, mailTo("new@house.example"))
	waits, err := st.Waiting(t.Context())
	if err != nil || len(waits) != 3 || waits[0].Address != "old@house.example" || waits[2].Address != "new@house.example" {
		t.Errorf("%+v, %v", waits, err)
	}
	out, err := st.Release(t.Context(), Actor{ID: "r.head"}, true)
	if err != nil || out.Waiting != 2 {
		t.Fatalf("%+v, %v", out, err)
	}
	want := []Waiting{{"old@house.example", "s", MailClaimed, noon}}
	if diff := cmp.Diff(want, out.Dropped); diff != "" {
		t.Errorf("dropped (-want +got):\n%s", diff)
	}
	*now = now.Add(48 * time.Hour)
	if claimed := claim(t, st); len(claimed) != 2 || claimed[0].Address != "same@house.example" || claimed[1].Address != "new@house.example" {
		t.Errorf("went out: %+v", claimed)
	}
	counts, err := st.OutboxCounts(t.Context())
	if want := map[MailState]int{MailSent: 1, MailDead: 1, MailClaimed: 2}; err != nil || !maps.Equal(counts, want) {
		t.Errorf("%v, %v", counts, err)
	}
	if replies := repliesOf(t, st); !maps.Equal(replies, map[MailState]string{MailSent: "250", MailDead: replyDropped + "r.head", MailClaimed: ""}) {
		t.Errorf("%q", replies)
	}
}

func repliesOf(t *testing.T, st *Store) map[MailState]string {
	t.Helper()
	var rows []outboxRow
	if err := st.reader.NewSelect().Model(&rows).Column("state", "reply").Scan(t.Context()); err != nil {
		t.Fatal(err)
	}
	out := make(map[MailState]string)
	for _, r := range rows {
		out[MailState(r.State)] = r.Reply
	}
	return out
}

// contractWhoReleases must say so.
func contractWhoReleases(t *testing.T, open opener) {
	st := open(t)
	held(t, st, "restored")
	for _, nobody := range []Actor{{}, {Name: "Head"}, {ID: "a\x00b"}} {
		if _, err := st.Release(t.Context(), nobody, false); !errors.Is(err, errActor) {
			t.Errorf("%+v: %v, want errActor", nobody, err)
		}
	}
	if _, in, err := st.Hold(t.Context()); err != nil || !in {
		t.Errorf("held %t, %v", in, err)
	}
}

// TestAReleaseBesideADaemon: the daemon has the database open, and hands out
// mails from then on.
func TestAReleaseBesideADaemon(t *testing.T) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := place(t)
			st := reopened(t, database)
			queued(t, st, mailTo("a@house.example"))
			held(t, st, "restored")
			beside, err := OpenForRelease(t.Context(), database, Options{Clock: func() time.Time { return noon.Add(time.Hour) }})
			if err != nil {
				t.Fatal(err)
			}
			defer beside.Close()
			if out, err := beside.Release(t.Context(), Actor{ID: "r.head"}, false); err != nil || out.Waiting != 1 {
				t.Fatalf("%+v, %v", out, err)
			}
			if claimed := claim(t, st); len(claimed) != 1 {
				t.Errorf("%d mails went out", len(claimed))
			}
		})
	}
}
