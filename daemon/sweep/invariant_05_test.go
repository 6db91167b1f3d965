package sweep_test

import (
	"sync"
	"testing"

	"antidotary/daemon/store"
	"antidotary/daemon/sweep"
	"antidotary/notify"
)

// TestInvariant05SameEvaluationTellsNobodyAgain: after the first sweep of an
// instant, 99 more of the same instant queue no mail and write no reminder,
// with the first one's mails unsent and sent; and what is open stays open.
func TestInvariant05SameEvaluationTellsNobodyAgain(t *testing.T) {
	for name := range fresh {
		t.Run(name, func(t *testing.T) {
			path, book, box := house(t, name), rulebook(t), startBox(t)
			st, s := sweeperOn(t, path)
			s.Book = book
			swept(t, s)
			want := stateOf(t, path)
			if len(want.mails) < 3 || want.reminders < 15 {
				t.Fatalf("the first sweep told too little to test with: %+v", want)
			}
			const sweeps = 100
			for range sweeps/2 - 1 {
				swept(t, s)
			}
			unchanged(t, path, want, "unsent")
			if err := st.Close(); err != nil {
				t.Fatal(err)
			}
			if err := watch(t, path, "", book, box, morning); err != nil { // sweeps, and delivers
				t.Fatal(err)
			}
			_, s = sweeperOn(t, path)
			s.Book = book
			for range sweeps/2 - 1 {
				swept(t, s)
			}
			unchanged(t, path, want, "sent")
			if mails := len(box.Messages()); mails != len(want.mails) {
				t.Errorf("%d mails arrived, want %d", mails, len(want.mails))
			}
		})
	}
}

// TestInvariant05ThreeSweepersAtOnce, each a daemon of its own on one server,
// ten times: together they tell what one tells. Those that lose start over,
// and see that it is told.
func TestInvariant05ThreeSweepersAtOnce(t *testing.T) {
	const sweepers, rounds = 3, 10
	original, book := house(t, "postgres"), rulebook(t)
	alone := onServer(t, original)
	_, one := sweeperOn(t, alone)
	one.Book = book
	swept(t, one)
	want := stateOf(t, alone)
	for range rounds {
		path := onServer(t, original)
		var all, start sync.WaitGroup
		start.Add(1)
		errs := make([]error, sweepers)
		for i := range sweepers {
			_, s := sweeperOn(t, path)
			s.Book = book
			all.Go(func() {
				start.Wait()
				_, errs[i] = s.Run(t.Context())
			})
		}
		start.Done()
		all.Wait()
		for i, err := range errs {
			if err != nil {
				t.Errorf("sweeper %d: %v", i+1, err)
			}
		}
		unchanged(t, path, want, "by three at once")
	}
}

func sweeperOn(t *testing.T, path string) (*store.Store, *sweep.Sweeper) {
	t.Helper()
	st, err := store.Open(t.Context(), path, store.Options{Clock: clock(morning)})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	return st, &sweep.Sweeper{Store: st, Clock: clock(morning), Engine: "test", Sender: notify.From{Name: "watch", Address: "watch@house.example"}}
}

func swept(t *testing.T, s *sweep.Sweeper) {
	t.Helper()
	if _, err := s.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func unchanged(t *testing.T, path string, want state, when string) {
	t.Helper()
	if got := stateOf(t, path); !got.equal(want) {
		t.Errorf("%s: somebody was told again\ngot  %+v\nwant %+v", when, got, want)
	}
}
