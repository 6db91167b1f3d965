package store

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// clockwork is a store whose clock the test moves.
func clockwork(t *testing.T, open opener) (*Store, *time.Time) {
	t.Helper()
	st := open(t)
	now := noon
	st.clock = func() time.Time { return now.Local() } // wherever the program runs
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	return st, &now
}

func mailTo(address string) Mail {
	id := inventory.NewID()
	return Mail{ID: id, Kind: KindDigest, Recipient: inventory.NewID(), Address: address, LocalDay: day.In(noon, time.UTC), Subject: "s", MessageID: id.String() + "@x", Bytes: []byte("bytes of " + address)}
}

func swept(t *testing.T, st *Store, s Sweep) error {
	t.Helper()
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s.ID = inventory.NewID()
	return st.StoreSweep(t.Context(), view.Guard(), s)
}

func queued(t *testing.T, st *Store, mails ...Mail) {
	t.Helper()
	if err := swept(t, st, Sweep{Mails: mails}); err != nil {
		t.Fatal(err)
	}
}

func claim(t *testing.T, st *Store) []Claimed {
	t.Helper()
	out, err := st.Claim(t.Context(), 10, 20*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// contractAMailIsClaimedOnce, and after each outcome it is due again or never.
func contractAMailIsClaimedOnce(t *testing.T, open opener) {
	for _, c := range []struct {
		outcome  MailState
		after    time.Duration // from the attempt to the next look
		again    bool
		attempts int
	}{
		{MailSent, 48 * time.Hour, false, 0},
		{MailDead, 48 * time.Hour, false, 0},
		{MailRetry, 14 * time.Minute, false, 0},
		{MailRetry, 15 * time.Minute, true, 2},
		{MailAmbiguous, 29 * time.Minute, false, 0},
		{MailAmbiguous, 30 * time.Minute, true, 2}, // whatever the caller asks for
		{MailQueued, 15 * time.Minute, true, 1},    // a fault of the settings burns no attempt
	} {
		t.Run(fmt.Sprintf("%s after %s", c.outcome, c.after), func(t *testing.T) {
			st, now := clockwork(t, open)
			queued(t, st, mailTo("a@house.example"))
			first := claim(t, st)
			if len(first) != 1 || first[0].Attempts != 1 || string(first[0].Bytes) != "bytes of a@house.example" {
				t.Fatalf("claimed %+v", first)
			}
			if again := claim(t, st); len(again) != 0 {
				t.Fatalf("claimed twice: %+v", again)
			}
			if err := st.Finish(t.Context(), first[0].ID, first[0].Token, Outcome{State: c.outcome, NextAttempt: now.Add(15 * time.Minute)}); err != nil {
				t.Fatal(err)
			}
			*now = now.Add(c.after)
			next := claim(t, st)
			if (len(next) == 1) != c.again {
				t.Fatalf("due again: %t, want %t", len(next) == 1, c.again)
			}
			if c.again && (next[0].Attempts != c.attempts || next[0].MessageID != first[0].MessageID || string(next[0].Bytes) != string(first[0].Bytes)) {
				t.Errorf("the next attempt is %+v, want attempt %d of the same mail", next[0], c.attempts)
			}
		})
	}
}

// contractALostClaim: before the mail was begun it is safe to try again at once;
// after, it may have arrived, and waits. Whoever lost it can record nothing.
func contractALostClaim(t *testing.T, open opener) {
	for _, begun := range []bool{false, true} {
		st, now := clockwork(t, open)
		queued(t, st, mailTo("a@house.example"))
		lost := claim(t, st)[0]
		if begun {
			if err := st.DataStarted(t.Context(), lost.ID, lost.Token); err != nil {
				t.Fatal(err)
			}
		}
		*now = now.Add(21 * time.Minute)
		due := claim(t, st)
		if (len(due) == 1) == begun {
			t.Errorf("begun %t: due at once %t", begun, len(due) == 1)
		}
		*now = now.Add(10 * time.Minute)
		if begun {
			if due = claim(t, st); len(due) != 1 {
				t.Fatalf("not due half an hour after it was begun")
			}
		}
		if err := st.Finish(t.Context(), lost.ID, lost.Token, Outcome{State: MailSent}); !errors.Is(err, ErrLostClaim) {
			t.Errorf("whoever lost the claim recorded an outcome: %v", err)
		}
		if err := st.DataStarted(t.Context(), lost.ID, lost.Token); !errors.Is(err, ErrLostClaim) {
			t.Errorf("whoever lost the claim began: %v", err)
		}
	}
}

// contractOneDigestForAPersonAndDay: the second is refused, and nothing of its
// sweep is written.
func contractOneDigestForAPersonAndDay(t *testing.T, open opener) {
	st, _ := clockwork(t, open)
	m := mailTo("a@house.example")
	queued(t, st, m)
	twin := mailTo("a@house.example")
	twin.Recipient = m.Recipient
	if err := swept(t, st, Sweep{Mails: []Mail{mailTo("b@house.example"), twin}}); !errors.Is(err, ErrConflict) {
		t.Fatalf("%v, want ErrConflict", err)
	}
	if counts, err := st.OutboxCounts(t.Context()); err != nil || counts[MailQueued] != 1 {
		t.Errorf("%v, %v; want one queued mail", counts, err)
	}
}

// contractWhenAMailIsDue, to the microsecond: after an outcome, and after a lease
// that ran out before and after the mail was begun.
func contractWhenAMailIsDue(t *testing.T, open opener) {
	const lease = 20 * time.Minute // as in claim
	finish := func(state MailState) func(*testing.T, *Store, Claimed, *time.Time) {
		return func(t *testing.T, st *Store, c Claimed, now *time.Time) {
			if err := st.Finish(t.Context(), c.ID, c.Token, Outcome{State: state, NextAttempt: now.Add(15 * time.Minute)}); err != nil {
				t.Fatal(err)
			}
		}
	}
	begin := func(t *testing.T, st *Store, c Claimed) {
		if err := st.DataStarted(t.Context(), c.ID, c.Token); err != nil {
			t.Fatal(err)
		}
	}
	for name, c := range map[string]struct {
		attempt func(*testing.T, *Store, Claimed, *time.Time)
		due     time.Duration // after noon, when it was claimed
	}{
		"a refusal for now":       {finish(MailRetry), 15 * time.Minute},
		"silence":                 {finish(MailAmbiguous), 30 * time.Minute}, // whatever the caller asks for
		"a fault of the settings": {finish(MailQueued), 15 * time.Minute},
		"silence after DATA": {func(t *testing.T, st *Store, c Claimed, now *time.Time) {
			begin(t, st, c)
			finish(MailAmbiguous)(t, st, c, now)
		}, 30 * time.Minute},
		"a lease that ran out before DATA": {func(*testing.T, *Store, Claimed, *time.Time) {}, lease},
		"a lease that ran out after DATA": {func(t *testing.T, st *Store, c Claimed, now *time.Time) {
			*now = now.Add(19 * time.Minute)
			begin(t, st, c)
		}, 19*time.Minute + 30*time.Minute}, // RFC 5321 4.5.4.1: no sooner than 30 minutes
	} {
		t.Run(name, func(t *testing.T) {
			st, now := clockwork(t, open)
			queued(t, st, mailTo("a@house.example"))
			c.attempt(t, st, claim(t, st)[0], now)
			*now = noon.Add(c.due - time.Microsecond)
			if early := claim(t, st); len(early) != 0 {
				t.Fatalf("due too early: %+v", early)
			}
			*now = noon.Add(c.due)
			if due := claim(t, st); len(due) != 1 {
				t.Fatalf("%d are due, want 1", len(due))
			}
		})
	}
}

// contractOldestFirst, and no more than were asked for.
func contractOldestFirst(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	var want []inventory.ID
	for range 3 {
		m := mailTo("a@house.example")
		want = append(want, m.ID)
		queued(t, st, m)
		*now = now.Add(time.Minute)
	}
	var got []inventory.ID
	for _, n := range []int{0, 2, 2} {
		some, err := st.Claim(t.Context(), n, time.Hour)
		if err != nil || len(some) > n {
			t.Fatalf("claimed %d of at most %d, %v", len(some), n, err)
		}
		for _, c := range some {
			got = append(got, c.ID)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// contractWhoMayRecord: whoever holds the claim, once, and nobody else.
func contractWhoMayRecord(t *testing.T, open opener) {
	st, _ := clockwork(t, open)
	queued(t, st, mailTo("a@house.example"), mailTo("b@house.example"))
	held := claim(t, st)
	stranger := inventory.NewID()
	for name, err := range map[string]error{
		"a stranger begins":     st.DataStarted(t.Context(), held[0].ID, stranger),
		"a stranger finishes":   st.Finish(t.Context(), held[0].ID, stranger, Outcome{State: MailSent}),
		"no claim":              st.Finish(t.Context(), held[0].ID, inventory.ID{}, Outcome{State: MailSent}),
		"a mail that is not":    st.Finish(t.Context(), stranger, held[0].Token, Outcome{State: MailSent}),
		"finished, and finish":  errors.Join(st.Finish(t.Context(), held[1].ID, held[1].Token, Outcome{State: MailSent}), st.Finish(t.Context(), held[1].ID, held[1].Token, Outcome{State: MailDead})),
		"finished, and started": st.DataStarted(t.Context(), held[1].ID, held[1].Token),
	} {
		if !errors.Is(err, ErrLostClaim) {
			t.Errorf("%s: %v, want ErrLostClaim", name, err)
		}
	}
	counts, err := st.OutboxCounts(t.Context())
	if diff := cmp.Diff(map[MailState]int{MailClaimed: 1, MailSent: 1}, counts); diff != "" || err != nil {
		t.Errorf("(-want +got) %v:\n%s", err, diff)
	}
}

// contractOneMailForKindPersonAndDay: another kind, person or day is another mail.
func contractOneMailForKindPersonAndDay(t *testing.T, open opener) {
	first := mailTo("a@house.example")
	for name, c := range map[string]struct {
		vary func(*Mail)
		want error
	}{
		"all the same":   {func(*Mail) {}, ErrConflict},
		"another kind":   {func(m *Mail) { m.Kind = "test" }, nil},
		"another person": {func(m *Mail) { m.Recipient = inventory.NewID() }, nil},
		"another day":    {func(m *Mail) { m.LocalDay++ }, nil},
	} {
		t.Run(name, func(t *testing.T) {
			st, _ := clockwork(t, open)
			queued(t, st, first)
			twin := mailTo("a@house.example")
			twin.Recipient = first.Recipient
			c.vary(&twin)
			if err := swept(t, st, Sweep{Mails: []Mail{twin}}); !errors.Is(err, c.want) {
				t.Errorf("%v, want %v", err, c.want)
			}
		})
	}
}

// contractAMailStaysAsItWasQueued: what is claimed is what was queued, bytes and
// all, and what was answered is kept.
func contractAMailStaysAsItWasQueued(t *testing.T, open opener) {
	st := open(t)
	m := mailTo("ü'@house.example")
	m.Subject, m.Bytes, m.QueuedAt = awkward, []byte("a\x00b\r\n.\r\n\xff'"), noon
	queued(t, st, m)
	c := claim(t, st)[0]
	if diff := cmp.Diff(m, c.Mail); diff != "" {
		t.Errorf("(-queued +claimed):\n%s", diff)
	}
	if err := st.Finish(t.Context(), c.ID, c.Token, Outcome{State: MailDead, Code: 550, Enhanced: "5.1.1", Reply: awkward}); err != nil {
		t.Fatal(err)
	}
	var code, left int
	var state, enhanced, reply string
	db := outsider(t, placeOf(t, st))
	err := db.QueryRowContext(t.Context(), speak(db, `SELECT state, code, enhanced, reply,
		(SELECT count(*) FROM outbox WHERE token IS NOT NULL OR lease_until IS NOT NULL OR data_started IS NOT NULL) FROM outbox WHERE finished_at = ?`), noon.UnixMicro()).Scan(&state, &code, &enhanced, &reply, &left)
	if err != nil || state != "dead" || code != 550 || enhanced != "5.1.1" || reply != awkward || left != 0 {
		t.Errorf("kept %s %d %s %q with %d parts of the claim, %v", state, code, enhanced, reply, left, err)
	}
}
