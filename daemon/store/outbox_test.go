package store

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// clockwork is a store whose clock the test moves.
func clockwork(t *testing.T) (*Store, *time.Time) {
	t.Helper()
	st, _ := opened(t)
	now := noon
	st.clock = func() time.Time { return now }
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

// TestAMailIsClaimedOnce, and after each outcome it is due again or never.
func TestAMailIsClaimedOnce(t *testing.T) {
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
		{MailAmbiguous, 15 * time.Minute, true, 2},
		{MailQueued, 15 * time.Minute, true, 1}, // a fault of the settings burns no attempt
	} {
		t.Run(fmt.Sprintf("%s after %s", c.outcome, c.after), func(t *testing.T) {
			st, now := clockwork(t)
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

// TestALostClaim: before the mail was begun it is safe to try again at once;
// after, it may have arrived, and waits. Whoever lost it can record nothing.
func TestALostClaim(t *testing.T) {
	for _, begun := range []bool{false, true} {
		st, now := clockwork(t)
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

// TestOneDigestForAPersonAndDay: the second is refused, and nothing of its
// sweep is written.
func TestOneDigestForAPersonAndDay(t *testing.T) {
	st, _ := clockwork(t)
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

// TestASweepIsGuarded: a change or another sweep since the read, and nothing
// is written.
func TestASweepIsGuarded(t *testing.T) {
	for name, move := range map[string]func(*testing.T, *Store){
		"a change": func(t *testing.T, st *Store) {
			committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
		},
		"another sweep": func(t *testing.T, st *Store) { queued(t, st, mailTo("b@house.example")) },
	} {
		t.Run(name, func(t *testing.T) {
			st, _ := clockwork(t)
			view, err := st.Read(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			move(t, st)
			m := mailTo("a@house.example")
			err = st.StoreSweep(t.Context(), view.Guard(), Sweep{ID: inventory.NewID(), Mails: []Mail{m}})
			if !errors.Is(err, ErrMoved) {
				t.Fatalf("%v, want ErrMoved", err)
			}
			for _, c := range claim(t, st) {
				if c.ID == m.ID {
					t.Error("the mail of a sweep that was refused is in the outbox")
				}
			}
		})
	}
}

// TestFindingsAndRemindersComeBack: as they were stored, and a reminder only
// once.
func TestFindingsAndRemindersComeBack(t *testing.T) {
	st, _ := clockwork(t)
	m := mailTo("a@house.example")
	site := inventory.Ref{Kind: inventory.KindSite, ID: inventory.NewID()}
	f := compliance.Finding{ID: inventory.NewID(), Key: compliance.Key{Requirement: "drill", Subject: site, Occurrence: "2026"}, Site: site.ID, Layer: compliance.Law, Severity: compliance.Critical, Rule: "us.r",
		Verdict: compliance.Verdict{Standing: compliance.OutOfOrder, State: compliance.Overdue, Cause: site, Step: compliance.Step{Do: compliance.HoldActivity, Instance: site, By: day.MustParse("2026-11-01"), Window: 30, Owner: compliance.SafetyOfficer}},
		Opened:  noon, Lapsed: true, Missed: true, Worsened: 2, Arm: 739000}
	told := Reminder{notify.Reminder{Key: f.Key, Do: compliance.HoldActivity, Instance: site, Arm: f.Arm, Threshold: 7, Recipient: m.Recipient}, m.ID}
	s := Sweep{Transitions: []compliance.Transition{{Move: compliance.Opened, After: &f}}, Mails: []Mail{m}, Reminders: []Reminder{told}}
	if err := swept(t, st, s); err != nil {
		t.Fatal(err)
	}
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(view.Open) != 1 || view.Open[0] != f {
		t.Errorf("the finding came back as %+v\nwant %+v", view.Open, f)
	}
	if len(view.Reminders) != 1 || view.Reminders[0] != told {
		t.Errorf("the reminder came back as %+v", view.Reminders)
	}
	if !view.Digests[DigestKey{m.Recipient, m.LocalDay}] {
		t.Error("the digest of the day is not known")
	}
	if err := swept(t, st, Sweep{Reminders: []Reminder{told}}); !errors.Is(err, ErrConflict) {
		t.Errorf("the same reminder again: %v, want ErrConflict", err)
	}
	closed := f
	closed.Closed, closed.How = noon.Add(time.Hour), compliance.Late
	if err := swept(t, st, Sweep{Transitions: []compliance.Transition{{Move: compliance.Closed, Before: &f, After: &closed}}}); err != nil {
		t.Fatal(err)
	}
	if view, err = st.Read(t.Context()); err != nil || len(view.Open) != 0 || len(view.Closed) != 1 || view.Closed[0] != closed {
		t.Errorf("after closing: %d open, %+v closed, %v", len(view.Open), view.Closed, err)
	}
}
