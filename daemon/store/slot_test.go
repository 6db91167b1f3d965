package store

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Slots have a table of promises of their own, held on both databases.
var slotPromises = map[string]func(*testing.T, func(*testing.T) (*Store, *time.Time)){
	"a slot is taken once":                     slotTakenOnce,
	"what comes due meanwhile waits":           slotWaits,
	"a run whose daemon died is taken up":      slotTakenUp,
	"a run that failed is tried again":         slotTriedAgain,
	"a later slot stands for a failed one":     slotStandsForFailed,
	"a lost lease finishes nothing":            slotLostLease,
	"a failure's text is kept, whatever it is": slotProblemKept,
	"the pulse knows what ran":                 slotPulse,
	"pruning keeps each job's last run":        slotPruned,
}

func TestSlots(t *testing.T) {
	for database := range databases {
		for promise, holds := range slotPromises {
			t.Run(database+"/"+promise, func(t *testing.T) {
				holds(t, func(t *testing.T) (*Store, *time.Time) {
					now := noon
					st, err := Open(t.Context(), fresh[database](t), Options{Clock: func() time.Time { return now }})
					if err != nil {
						t.Fatal(err)
					}
					t.Cleanup(func() { st.Close() })
					return st, &now
				})
			})
		}
	}
}

// hourly is due at every full hour, and at once where it never was.
func hourly(last, now time.Time) (time.Time, int) {
	if last.IsZero() {
		return now, 0
	}
	slot := now.Truncate(time.Hour)
	if !slot.After(last) {
		return time.Time{}, 0
	}
	return slot, int(slot.Sub(last.Truncate(time.Hour))/time.Hour) - 1
}

func taking(worker string) SlotClaim {
	return SlotClaim{Job: "sweep", Worker: worker, Lease: 10 * time.Minute, Due: hourly}
}

func taken(t *testing.T, st *Store, c SlotClaim, want bool) Run {
	t.Helper()
	run, ok, err := st.ClaimSlot(t.Context(), c)
	if err != nil || ok != want {
		t.Fatalf("claimed %t (%v), want %t", ok, err, want)
	}
	return run
}

func finish(t *testing.T, st *Store, run Run, problem error) {
	t.Helper()
	if err := st.FinishSlot(t.Context(), run, problem, time.Minute); err != nil {
		t.Fatal(err)
	}
}

// Eight daemons ask at once; one has it.
func slotTakenOnce(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	for range 5 {
		var all sync.WaitGroup
		got := make(chan Run, 8)
		for i := range 8 {
			all.Go(func() {
				run, ok, err := st.ClaimSlot(t.Context(), taking(fmt.Sprint("daemon ", i)))
				if err != nil {
					t.Error(err)
				}
				if ok {
					got <- run
				}
			})
		}
		all.Wait()
		close(got)
		if len(got) != 1 {
			t.Fatalf("%d of 8 have the slot", len(got))
		}
		finish(t, st, <-got, nil)
		taken(t, st, taking("late"), false)
		*now = now.Add(time.Hour)
	}
	if runs, err := st.Runs(t.Context(), "sweep", 99); err != nil || len(runs) != 5 || runs[0].State != RunDone || runs[0].Missed != 0 {
		t.Errorf("%+v, %v", runs, err)
	}
}

func slotWaits(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	claim := taking("a")
	claim.Lease = 3 * time.Hour
	long := taken(t, st, claim, true)
	*now = now.Add(2*time.Hour + time.Minute)
	taken(t, st, taking("b"), false)
	finish(t, st, long, nil)
	next := taken(t, st, taking("b"), true)
	if !next.Slot.Equal(noon.Add(2*time.Hour)) || next.Missed != 1 || next.Late() != time.Minute {
		t.Errorf("%+v: want the newest slot, one missed, a minute late", next)
	}
}

func slotTakenUp(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	dead := taken(t, st, taking("a"), true)
	*now = now.Add(9 * time.Minute)
	taken(t, st, taking("b"), false)
	*now = now.Add(2 * time.Minute)
	up := taken(t, st, taking("b"), true)
	if up.ID != dead.ID || up.Attempts != 2 || up.Worker != "b" {
		t.Errorf("%+v", up)
	}
	if err := st.FinishSlot(t.Context(), dead, nil, 0); !errors.Is(err, ErrLostClaim) {
		t.Errorf("the dead one's finish: %v, want ErrLostClaim", err)
	}
	finish(t, st, up, nil)
}

func slotTriedAgain(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	finish(t, st, taken(t, st, taking("a"), true), errors.New("no luck"))
	*now = now.Add(59 * time.Second)
	taken(t, st, taking("a"), false)
	*now = now.Add(time.Second)
	again := taken(t, st, taking("a"), true)
	if again.Attempts != 2 || again.Problem != "no luck" {
		t.Errorf("%+v", again)
	}
	finish(t, st, again, nil)
	if runs, err := st.Runs(t.Context(), "sweep", 9); err != nil || len(runs) != 1 || runs[0].Problem != "" || runs[0].State != RunDone {
		t.Errorf("%+v, %v", runs, err)
	}
}

func slotStandsForFailed(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	finish(t, st, taken(t, st, taking("a"), true), errors.New("no luck"))
	*now = now.Add(3 * time.Hour)
	run := taken(t, st, taking("a"), true)
	if run.Missed != 3 { // the one that failed, and two that nobody ran
		t.Errorf("it stands for %d beside itself, want 3", run.Missed)
	}
}

func slotLostLease(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	old := taken(t, st, taking("a"), true)
	*now = now.Add(2 * time.Hour)
	newer := taken(t, st, taking("b"), true)
	if newer.ID == old.ID || newer.Missed != 2 {
		t.Errorf("%+v: want the newest slot, standing for the run that died and for the hour between", newer)
	}
	finish(t, st, newer, nil)
	if err := st.FinishSlot(t.Context(), newer, nil, 0); !errors.Is(err, ErrLostClaim) {
		t.Errorf("finished twice: %v", err)
	}
}

func slotProblemKept(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, _ := open(t)
	finish(t, st, taken(t, st, taking("a"), true), errors.New("bad \x00 \xff text '?' \\"))
	if runs, err := st.Runs(t.Context(), "sweep", 1); err != nil || runs[0].Problem == "" || runs[0].State != RunFailed {
		t.Errorf("%+v, %v", runs, err)
	}
}

func slotPulse(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	prune := taking("a")
	prune.Job = compliance.JobPrune
	if _, p, err := pulseOf(t, st); err != nil || p != (compliance.Pulse{}) {
		t.Errorf("before anything ran: %+v, %v", p, err)
	}
	finish(t, st, taken(t, st, prune, true), nil)
	*now = now.Add(time.Hour)
	finish(t, st, taken(t, st, prune, true), errors.New("no luck"))
	if _, p, err := pulseOf(t, st); err != nil || !p.Pruned.Equal(noon) {
		t.Errorf("%+v, %v; want the run that ended well", p, err)
	}
}

func slotPruned(t *testing.T, open func(*testing.T) (*Store, *time.Time)) {
	st, now := open(t)
	for range 4 {
		finish(t, st, taken(t, st, taking("a"), true), nil)
		*now = now.Add(time.Hour)
	}
	for _, want := range []int64{3, 0} {
		if p, err := st.Prune(t.Context(), now.AddDate(1, 0, 0)); err != nil || p.Runs != want {
			t.Errorf("%+v, %v; want %d runs removed", p, err, want)
		}
	}
	taken(t, st, taking("a"), true)
}

func pulseOf(t *testing.T, st *Store) (Head, compliance.Pulse, error) {
	t.Helper()
	records, at, err := st.Snapshot(t.Context())
	if err != nil {
		return at, compliance.Pulse{}, err
	}
	return at, records.Pulse, nil
}

// TestPruneTakesOldMailsAway, bytes and address, and leaves new ones, those
// that wait, and that there was one.
func TestPruneTakesOldMailsAway(t *testing.T) {
	for database, place := range fresh {
		t.Run(database, func(t *testing.T) {
			now := noon
			st, err := Open(t.Context(), place(t), Options{Clock: func() time.Time { return now }})
			if err != nil {
				t.Fatal(err)
			}
			defer st.Close()
			old, waiting := mailTo("old@house.example"), mailTo("waits@house.example")
			old.Bytes, waiting.Bytes = []byte("old"), []byte("waits")
			if err := st.Queue(t.Context(), []Mail{old}); err != nil {
				t.Fatal(err)
			}
			claimed, err := st.Claim(t.Context(), 9, time.Hour)
			if err != nil || len(claimed) != 1 {
				t.Fatalf("%v, %v", claimed, err)
			}
			if err := st.Finish(t.Context(), claimed[0].ID, claimed[0].Token, Outcome{State: MailSent}); err != nil {
				t.Fatal(err)
			}
			if err := st.Queue(t.Context(), []Mail{waiting}); err != nil {
				t.Fatal(err)
			}
			for _, c := range []struct {
				before time.Time
				want   int64
			}{{noon, 0}, {noon.Add(time.Second), 1}, {noon.AddDate(9, 0, 0), 0}} {
				if p, err := st.Prune(t.Context(), c.before); err != nil || p.Mails != c.want {
					t.Errorf("before %s: %+v, %v; want %d", c.before, p, err, c.want)
				}
			}
			counts, err := st.OutboxCounts(t.Context())
			if err != nil || counts[MailSent] != 1 || counts[MailQueued] != 1 {
				t.Errorf("%v, %v", counts, err)
			}
			if left, err := st.Claim(t.Context(), 9, time.Hour); err != nil || len(left) != 1 || string(left[0].Bytes) != "waits" {
				t.Errorf("%+v, %v", left, err)
			}
		})
	}
}

// TestQueueingTwiceIsOnce for a kind, a person and a day.
func TestQueueingTwiceIsOnce(t *testing.T) {
	for database, open := range databases {
		t.Run(database, func(t *testing.T) {
			st := open(t)
			one := mailTo("a@house.example")
			one.Kind = KindProof
			two := one
			two.ID, two.MessageID = inventory.NewID(), "<other@house.example>"
			for _, m := range []Mail{one, two} {
				if err := st.Queue(t.Context(), []Mail{m}); err != nil {
					t.Fatal(err)
				}
			}
			if claimed, err := st.Claim(t.Context(), 9, time.Hour); err != nil || len(claimed) != 1 || claimed[0].ID != one.ID {
				t.Errorf("%+v, %v; want the first alone", claimed, err)
			}
		})
	}
}
