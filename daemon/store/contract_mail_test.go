package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"antidotary/inventory"
)

// mailbox is a store with one mail that is not done with, and the claim that
// was last had on it.
type mailbox struct {
	st   *Store
	now  *time.Time
	held Claimed
}

const leaseOfClaims = 20 * time.Minute // as in claim

// reach brings the mail into a state.
var reach = map[string]func(t *testing.T, m *mailbox){
	"queued":  func(*testing.T, *mailbox) {},
	"claimed": func(t *testing.T, m *mailbox) { m.claims(t) },
	"started": func(t *testing.T, m *mailbox) { m.claims(t); m.must(t, m.begin()) },
	"retry": func(t *testing.T, m *mailbox) {
		m.claims(t)
		m.must(t, m.finish(MailRetry))
	},
	"ambiguous": func(t *testing.T, m *mailbox) {
		m.claims(t)
		m.must(t, m.begin())
		m.must(t, m.finish(MailAmbiguous))
	},
	"sent":          func(t *testing.T, m *mailbox) { m.claims(t); m.must(t, m.finish(MailSent)) },
	"dead":          func(t *testing.T, m *mailbox) { m.claims(t); m.must(t, m.finish(MailDead)) },
	"claimed, lost": func(t *testing.T, m *mailbox) { m.claims(t); *m.now = m.now.Add(leaseOfClaims) },
	"started, lost": func(t *testing.T, m *mailbox) { m.claims(t); m.must(t, m.begin()); *m.now = m.now.Add(leaseOfClaims) },
	"retry, due": func(t *testing.T, m *mailbox) {
		m.claims(t)
		m.must(t, m.finish(MailRetry))
		*m.now = m.now.Add(ambiguousWait)
	},
	"ambiguous, due": func(t *testing.T, m *mailbox) {
		m.claims(t)
		m.must(t, m.finish(MailAmbiguous))
		*m.now = m.now.Add(ambiguousWait)
	},
}

func (m *mailbox) claims(t *testing.T) {
	t.Helper()
	all := claim(t, m.st)
	if len(all) != 1 {
		t.Fatalf("claimed %d, want 1", len(all))
	}
	m.held = all[0]
}

func (m *mailbox) must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func (m *mailbox) begin() error {
	return m.st.DataStarted(context.Background(), m.held.ID, m.held.Token)
}

func (m *mailbox) finish(state MailState) error {
	return m.st.Finish(context.Background(), m.held.ID, m.held.Token, Outcome{State: state, NextAttempt: m.now.Add(15 * time.Minute)})
}

// inState is what is recorded, and whether a claim is held.
func (m *mailbox) inState(t *testing.T, id inventory.ID) (state MailState, held bool) {
	t.Helper()
	var row outboxRow
	if err := m.st.reader.NewSelect().Model(&row).Where("id = ?", key(id)).Scan(t.Context()); err != nil {
		t.Fatal(err)
	}
	if (row.Token == key{}) != (row.LeaseUntil == nil) {
		t.Errorf("half a claim: %+v", row)
	}
	return MailState(row.State), row.LeaseUntil != nil
}

// after is what becomes of the mail in each state by each deed: the error, and
// the state then, the same one if it is empty.
type after struct {
	want error
	then MailState
}

// deedsOn gives what is done to a mail: by its last claim, or a new one.
func deedsOn(m *mailbox) map[string]func(*testing.T) error {
	deeds := map[string]func(*testing.T) error{
		"claim": func(t *testing.T) error {
			if len(claim(t, m.st)) == 0 {
				return errNotDue
			}
			return nil
		},
		"begin": func(*testing.T) error { return m.begin() },
	}
	for _, state := range []MailState{MailSent, MailDead, MailRetry, MailAmbiguous, MailQueued, MailClaimed, MailStarted} {
		deeds["finish "+string(state)] = func(*testing.T) error { return m.finish(state) }
	}
	return deeds
}

var errNotDue = errors.New("no mail is due")

// expected says what becomes of a mail: only whoever holds its claim may
// record anything, what is done with stays, and what is due can be claimed. A
// lease that ran out lets nothing begin; how an attempt ended may be recorded
// as long as nobody else has the mail.
func expected(state, deed string) after {
	holds := state == "claimed" || state == "started"
	lost := state == "claimed, lost" || state == "started, lost"
	outcome, finishes := cutFinish(deed)
	switch {
	case deed == "claim" && state == "started, lost":
		return after{errNotDue, MailAmbiguous} // it may have arrived: it waits
	case deed == "claim" && (state == "queued" || state == "claimed, lost" || state == "retry, due" || state == "ambiguous, due"):
		return after{nil, MailClaimed}
	case deed == "claim":
		return after{errNotDue, ""}
	case finishes && (outcome == MailClaimed || outcome == MailStarted):
		return after{errOutcome, ""}
	case finishes && (holds || lost):
		return after{nil, outcome}
	case deed == "begin" && holds:
		return after{nil, MailStarted}
	}
	return after{ErrLostClaim, ""}
}

func cutFinish(deed string) (outcome MailState, finishes bool) {
	const word = "finish "
	if len(deed) > len(word) && deed[:len(word)] == word {
		return MailState(deed[len(word):]), true
	}
	return "", false
}

// contractEachStateOfAMail, by each deed.
func contractEachStateOfAMail(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	for _, state := range slices.Sorted(maps.Keys(reach)) {
		for _, deed := range slices.Sorted(maps.Keys(deedsOn(&mailbox{}))) {
			each(t, fmt.Sprintf("%s, %s", state, deed), func(t *testing.T) {
				m := &mailbox{st: st, now: now}
				mail := mailTo("a@house.example")
				queued(t, st, mail)
				reach[state](t, m)
				before, held := m.inState(t, mail.ID)
				want := expected(state, deed)
				if err := deedsOn(m)[deed](t); !errors.Is(err, want.want) {
					t.Errorf("%v, want %v", err, want.want)
				}
				got, holds := m.inState(t, mail.ID)
				if got != cmp.Or(want.then, before) {
					t.Errorf("it is %s then, want %s", got, cmp.Or(want.then, before))
				}
				if want.then == "" && holds != held {
					t.Errorf("a claim was held %t, and is held %t", held, holds)
				}
				if (got == MailClaimed || got == MailStarted) != holds {
					t.Errorf("%s, and a claim is held: %t", got, holds)
				}
				m.bury(t)
			})
		}
	}
}

// bury lets time pass, and ends what is left of the mail.
func (m *mailbox) bury(t *testing.T) {
	t.Helper()
	for range 3 { // a lost claim waits half an hour more
		*m.now = m.now.Add(24 * time.Hour)
		for _, m.held = range claim(t, m.st) {
			m.must(t, m.finish(MailDead))
		}
	}
	if at, err := m.st.OldestMail(t.Context()); err != nil || !at.IsZero() {
		t.Fatalf("a mail of %s is left, %v", at, err)
	}
}

// contractALeaseIsAsLongAsItWasAskedFor, to the microsecond, whatever its
// length.
func contractALeaseIsAsLongAsItWasAskedFor(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	for _, lease := range []time.Duration{time.Microsecond, time.Second, 20 * time.Minute, 36 * time.Hour} {
		each(t, lease.String(), func(t *testing.T) {
			m := &mailbox{st: st, now: now}
			queued(t, st, mailTo("a@house.example"))
			for _, last := range []time.Duration{lease - time.Microsecond, lease} {
				held, err := st.Claim(t.Context(), 1, lease)
				if err != nil || len(held) != 1 {
					t.Fatalf("claimed %d, %v", len(held), err)
				}
				*now = now.Add(last)
				again, err := st.Claim(t.Context(), 1, time.Hour)
				if free := last == lease; err != nil || (len(again) == 1) != free {
					t.Errorf("%s after a claim for %s it was given to another: %t, %v", last, lease, len(again) == 1, err)
				}
				*now = now.Add(2 * time.Hour)
			}
			m.bury(t)
		})
	}
}

// contractNothingIsQueuedTwice: whatever Queue is given again leaves the mail
// as it is, in each state it may be in.
func contractNothingIsQueuedTwice(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	for _, state := range slices.Sorted(maps.Keys(reach)) {
		each(t, state, func(t *testing.T) {
			m := &mailbox{st: st, now: now}
			mail := mailTo("a@house.example")
			m.must(t, st.Queue(t.Context(), []Mail{mail}))
			reach[state](t, m)
			before, _ := m.inState(t, mail.ID)
			again := mail
			again.ID, again.MessageID, again.Bytes = inventory.NewID(), "other@x", []byte("other")
			m.must(t, st.Queue(t.Context(), []Mail{again, mail}))
			if got, _ := m.inState(t, mail.ID); got != before {
				t.Errorf("it is %s, and was %s", got, before)
			}
			m.bury(t)
		})
	}
}
