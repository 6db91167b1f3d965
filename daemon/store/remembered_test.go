package store

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// life makes random sweeps of one house: findings open, become worse, get
// another step, end and open again, and people are told of them.
type life struct {
	rng  *rand.Rand
	keys []compliance.Key
	told map[notify.Reminder]bool
	now  time.Time
}

func newLife(seed uint64) *life {
	l := &life{rng: rand.New(rand.NewPCG(seed, 1)), told: make(map[notify.Reminder]bool), now: noon}
	site := inventory.Ref{Kind: inventory.KindSite, ID: inventory.NewID()}
	for i := range 6 {
		l.keys = append(l.keys, compliance.Key{Requirement: fmt.Sprint("drill.", i%3), Subject: []inventory.Ref{site, inventory.Holding(site.ID, inventory.NewID())}[i%2], Occurrence: []string{"", "2026"}[i/3]})
	}
	return l
}

// next makes one sweep from what was open.
func (l *life) next(open []compliance.Finding) Sweep {
	s := Sweep{ID: inventory.NewID(), Started: l.now}
	mails := map[int]Mail{}
	for i := range 3 {
		m := mailTo(fmt.Sprint(i, "@house.example"))
		m.Recipient = inventory.ID{byte(i + 1)}
		mails[i] = m
	}
	for _, key := range l.keys {
		at := slices.IndexFunc(open, func(f compliance.Finding) bool { return f.Key == key })
		f := compliance.Finding{}
		switch {
		case at < 0 && l.rng.IntN(2) == 0:
			f = fullFinding()
			f.Key, f.Opened, f.Arm, f.Worsened = key, l.now.UTC().Truncate(time.Microsecond), int(day.In(l.now, time.UTC)), 0
			s.Transitions = append(s.Transitions, openedAs(f))
		case at >= 0:
			f = open[at]
			s.Transitions = l.moved(s.Transitions, &f)
		default:
			continue
		}
		l.tell(&s, f, mails)
	}
	for _, m := range mails {
		s.Mails = append(s.Mails, m)
	}
	return s
}

func (l *life) moved(out []compliance.Transition, f *compliance.Finding) []compliance.Transition {
	was, is := *f, *f
	t := compliance.Transition{Before: &was, After: &is}
	switch l.rng.IntN(5) {
	case 0:
		is.Closed, is.How, t.Move = l.now.UTC(), compliance.Met, compliance.Closed
	case 1:
		is.Worsened, t.Move = is.Worsened+1, compliance.Worse
	case 2:
		is.Verdict.Step, t.Move = compliance.Step{Do: compliance.ConfirmList, At: l.now.In(time.FixedZone("", 3600))}, compliance.Worse
	default:
		return out
	}
	*f = is
	return append(out, t)
}

// tell makes reminders that were not told before, with a mail of a recipient
// whose digest of the day there is not yet.
func (l *life) tell(s *Sweep, f compliance.Finding, mails map[int]Mail) {
	for i := range mails {
		r := toldBy(f, mails[i], l.rng.IntN(4))
		if l.rng.IntN(2) == 0 && !l.told[r.Reminder] {
			l.told[r.Reminder] = true
			s.Reminders = append(s.Reminders, r)
		}
	}
}

// contractWhatIsRememberedIsWhatIsStored: after each of many sweeps, some of
// them by another process, over days and with a clock that goes back, a process
// that goes on knows of findings and tellings what one knows that has just
// begun.
func contractWhatIsRememberedIsWhatIsStored(t *testing.T, open opener) {
	for seed := range uint64(3) {
		each(t, fmt.Sprint("life ", seed), func(t *testing.T) {
			st, l := open(t), newLife(seed)
			st.clock = func() time.Time { return l.now }
			other := anotherProcess(t, st, st.clock)
			for n := range 24 {
				l.now = l.now.Add([]time.Duration{25 * time.Hour, 20 * 24 * time.Hour, -26 * time.Hour}[l.rng.IntN(3)])
				by := st
				if l.rng.IntN(4) == 0 {
					by = other
				}
				view, err := by.Read(t.Context())
				ok(t, err)
				sweep := l.next(view.Open)
				for i := range sweep.Mails { // one digest for a person and day
					sweep.Mails[i].LocalDay += day.Day(n)
				}
				stored(t, by, view.Guard(), sweep)
				sameMemory(t, l, st, other)
			}
		})
	}
}

// sameMemory compares what two stores know with what one knows that begins now.
func sameMemory(t *testing.T, l *life, stores ...*Store) {
	t.Helper()
	begun, err := OpenReadOnly(t.Context(), placeOf(t, stores[0]), Options{Clock: func() time.Time { return l.now }})
	ok(t, err)
	defer begun.Close()
	want, err := begun.Read(t.Context())
	ok(t, err)
	all, err := begun.Reminders(t.Context())
	ok(t, err)
	asked := l.keys[:1+l.rng.IntN(len(l.keys))]
	for i, st := range stores {
		if l.rng.IntN(3) == 0 {
			continue // it need not have looked after each sweep
		}
		got, err := st.Read(t.Context())
		ok(t, err)
		if diff := cmp.Diff(want.Open, got.Open); diff != "" {
			t.Fatalf("store %d, open findings (-begun +goes on):\n%s", i, diff)
		}
		ledger, err := st.Ledger(t.Context(), got.LastSweep, asked)
		ok(t, err)
		for _, key := range asked {
			if diff := cmp.Diff(linesIn(all, key), remindersIn(ledger, key), cmpopts.EquateEmpty()); diff != "" {
				t.Fatalf("store %d, what was told of %v (-all +ledger):\n%s", i, key, diff)
			}
		}
	}
}

func linesIn(all []Reminder, key compliance.Key) (out []notify.Reminder) {
	for _, r := range all {
		if r.Key == key {
			out = append(out, r.Reminder)
		}
	}
	slices.SortFunc(out, notify.Reminder.Compare)
	return out
}

func remindersIn(l *notify.Ledger, key compliance.Key) (out []notify.Reminder) {
	for _, t := range l.Of(key) {
		for _, to := range t.To {
			out = append(out, notify.Reminder{Key: t.Key, Do: t.Do, Instance: t.Instance, Arm: t.Arm, Threshold: t.Threshold, Recipient: to})
		}
	}
	slices.SortFunc(out, notify.Reminder.Compare)
	return out
}

// contractALedgerIsOfOneSweep: asked for after another sweep, it is refused
// like a sweep whose ground moved.
func contractALedgerIsOfOneSweep(t *testing.T, open opener) {
	st := open(t)
	s := fullSweep()
	keys := []compliance.Key{s.Transitions[0].After.Key}
	before := guardOf(t, st)
	l, err := st.Ledger(t.Context(), before.LastSweep, keys)
	ok(t, err)
	if len(l.Of(keys[0])) != 0 {
		t.Error("somebody was told before the first sweep")
	}
	other := anotherProcess(t, st, st.clock)
	stored(t, other, guardOf(t, other), s)
	if _, err := st.Ledger(t.Context(), before.LastSweep, keys); !errors.Is(err, ErrMoved) {
		t.Errorf("%v, want ErrMoved", err)
	}
	l, err = st.Ledger(t.Context(), s.ID, keys)
	ok(t, err)
	if got := remindersIn(l, keys[0]); len(got) != len(s.Reminders) {
		t.Errorf("%d reminders, want %d", len(got), len(s.Reminders))
	}
}

// contractAnOldTellingCountsForEver: what was told of a finding long ago, in an
// arm of a day that a wrong clock made up, is known once it opens again. Else
// the sweep would tell it again, and be refused by the table, each time.
func contractAnOldTellingCountsForEver(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	f, m := fullFinding(), mailTo("a@house.example")
	f.Arm = int(day.In(noon, time.UTC)) + 200
	told := toldBy(f, m, 7)
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{openedAs(f)}, Mails: []Mail{m}, Reminders: []Reminder{told}})
	ended := f
	ended.Closed, ended.How = noon, compliance.Met
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{{Move: compliance.Closed, Before: &f, After: &ended}}})
	*now = now.AddDate(0, 0, 200)
	view, err := st.Read(t.Context())
	ok(t, err)
	_, err = st.Ledger(t.Context(), view.LastSweep, nil) // a sweep on which nothing is open
	ok(t, err)
	stored(t, st, view.Guard(), Sweep{ID: inventory.NewID()})
	view, err = st.Read(t.Context())
	ok(t, err)
	if len(view.Open)+len(view.Closed) != 0 {
		t.Fatalf("%d open and %d ended lately, want none", len(view.Open), len(view.Closed))
	}
	l, err := st.Ledger(t.Context(), view.LastSweep, []compliance.Key{f.Key})
	ok(t, err)
	if diff := cmp.Diff([]notify.Reminder{told.Reminder}, remindersIn(l, f.Key)); diff != "" {
		t.Errorf("(-told +ledger):\n%s", diff)
	}
}
