package jobs_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"antidotary/daemon/jobs"
	"antidotary/daemon/schedule"
	"antidotary/daemon/store"
)

var quiet = slog.New(slog.NewTextHandler(io.Discard, nil))

func spec(t interface{ Fatal(...any) }, text string) schedule.Spec {
	s, err := schedule.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func in(names ...string) func() []*time.Location {
	var zones []*time.Location
	for _, name := range names {
		zone, err := time.LoadLocation(name)
		if err != nil {
			panic(err)
		}
		zones = append(zones, zone)
	}
	return func() []*time.Location { return zones }
}

func open(t interface{ Fatal(...any) }, path string, clock func() time.Time) *store.Store {
	st, err := store.Open(context.Background(), path, store.Options{Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	return st
}

// TestInvariant09AfterASuspend: a machine that slept for eight hours, its
// timers stopped and its wall clock gone on, runs what was due within half a
// minute, once.
func TestInvariant09AfterASuspend(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	synctest.Test(t, func(t *testing.T) {
		var slept atomic.Int64
		clock := func() time.Time { return time.Now().Add(time.Duration(slept.Load())).Round(0) }
		st := open(t, path, clock)
		defer st.Close()
		ran := make(chan time.Time, 100)
		job := jobs.Job{Name: "sweep", Due: jobs.At(spec(t, "0 * * * *"), in("Europe/London")), Limit: time.Minute,
			Work: func(context.Context) error { ran <- clock(); return nil }}
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		runner := &jobs.Runner{Slots: st, Worker: "test", Log: quiet}
		go runner.Loop(ctx, job)
		<-ran // the first ever, at once
		<-time.After(10 * time.Minute)
		slept.Store(int64(8 * time.Hour))
		resumed := clock()
		at := <-ran
		if late := at.Sub(resumed); late < 0 || late > 30*time.Second {
			t.Errorf("it ran %s after the machine woke", late)
		}
		<-time.After(5 * time.Minute)
		if len(ran) != 0 {
			t.Errorf("%d more runs for the hours that were slept through", len(ran))
		}
		runs, err := st.Runs(ctx, "sweep", 9)
		if err != nil || len(runs) != 2 || runs[0].Missed != 7 {
			t.Errorf("%+v, %v; want one run that stands for seven others", runs, err)
		}
		stop()
		synctest.Wait()
	})
}

// TestAYearOfDays: every day of a year once, over both clock changes, in a
// real database.
func TestAYearOfDays(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	synctest.Test(t, func(t *testing.T) {
		st := open(t, path, time.Now)
		defer st.Close()
		days := make(map[string]int)
		london := in("Europe/London")
		job := jobs.Job{Name: "sweep", Due: jobs.At(spec(t, "30 1 * * *"), london), Limit: time.Minute,
			Work: func(context.Context) error { days[time.Now().In(london()[0]).Format(time.DateOnly)]++; return nil }}
		ctx, stop := context.WithTimeout(t.Context(), 365*24*time.Hour)
		defer stop()
		runner := &jobs.Runner{Slots: seldom{st}, Worker: "test", Log: quiet}
		runner.Loop(ctx, job)
		if len(days) < 365 {
			t.Errorf("it ran on %d days", len(days))
		}
		for day, n := range days {
			if n != 1 && day != "2000-01-01" { // the first ever is at once, and then at its time
				t.Errorf("%d runs on %s", n, day)
			}
		}
	})
}

// seldom asks the database only near the hour, to make a year of half minutes
// bearable; what it leaves out finds nothing due.
type seldom struct{ *store.Store }

func (s seldom) ClaimSlot(ctx context.Context, c store.SlotClaim) (store.Run, bool, error) {
	if time.Now().Minute()%30 != 0 {
		return store.Run{}, false, nil
	}
	return s.Store.ClaimSlot(ctx, c)
}

// TestAPanicIsAFailure of that run, and the next attempt comes.
func TestAPanicIsAFailure(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	st := open(t, filepath.Join(t.TempDir(), "records.db"), func() time.Time { return now })
	defer st.Close()
	calls := 0
	job := jobs.Job{Name: "sweep", Due: jobs.At(spec(t, "0 5 * * *"), in("UTC")), Limit: time.Minute, Work: func(context.Context) error {
		if calls++; calls == 1 {
			panic("boom")
		}
		return nil
	}}
	var told []error
	runner := &jobs.Runner{Slots: st, Worker: "test", Log: quiet, Ran: func(_ context.Context, _ store.Run, problem error) { told = append(told, problem) }}
	if ran, err := runner.Once(t.Context(), job); !ran || err == nil {
		t.Errorf("%t, %v", ran, err)
	}
	if ran, err := runner.Once(t.Context(), job); ran || err != nil {
		t.Errorf("tried again at once: %t, %v", ran, err)
	}
	now = now.Add(time.Minute)
	if ran, err := runner.Once(t.Context(), job); !ran || err != nil {
		t.Errorf("%t, %v", ran, err)
	}
	if len(told) != 2 || told[0] == nil || told[1] != nil {
		t.Errorf("told %v", told)
	}
}

// TestTheLimitStopsARun, and it is tried again.
func TestTheLimitStopsARun(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	synctest.Test(t, func(t *testing.T) {
		st := open(t, path, time.Now)
		defer st.Close()
		job := jobs.Job{Name: "sweep", Due: jobs.At(spec(t, "0 5 * * *"), in("UTC")), Limit: time.Minute,
			Work: func(ctx context.Context) error { <-ctx.Done(); return ctx.Err() }}
		runner := &jobs.Runner{Slots: st, Worker: "test", Log: quiet}
		began := time.Now()
		if _, err := runner.Once(t.Context(), job); !errors.Is(err, context.DeadlineExceeded) || time.Since(began) != time.Minute {
			t.Errorf("%v after %s", err, time.Since(began))
		}
		runs, err := st.Runs(t.Context(), "sweep", 1)
		if err != nil || runs[0].State != store.RunFailed {
			t.Errorf("%+v, %v", runs, err)
		}
	})
}

// TestAStartRunsAtOnce whatever is due, and says what was missed.
func TestAStartRunsAtOnce(t *testing.T) {
	at := jobs.At(spec(t, "0 * * * *"), in("UTC"))
	last := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		now, want time.Time
		missed    int
	}{
		{last.Add(90 * time.Minute), last.Add(90 * time.Minute), 1},
		{last.Add(30 * time.Minute), last.Add(30 * time.Minute), 0},
		{last.Add(2 * time.Hour), last.Add(2 * time.Hour), 1},
		{last, last.Add(time.Microsecond), 0}, // twice within one instant
	} {
		if slot, missed := jobs.AtOnce(at)(last, c.now); !slot.Equal(c.want) || missed != c.missed {
			t.Errorf("at %s: %s, %d missed; want %s, %d", c.now, slot, missed, c.want, c.missed)
		}
	}
}

// TestEverySlotHasOneRun: with daemons that come and go, and die in the middle
// of a run, each slot up to the last run is one run's own, or counted as
// missed by exactly one.
func TestEverySlotHasOneRun(t *testing.T) { history(t, 0) }

// TestAClockSetBack by up to two days, again and again: no slot has two runs,
// and the watch goes on.
func TestAClockSetBack(t *testing.T) { history(t, -48*60) }

func history(t *testing.T, back int) {
	hourly := spec(t, "0 */3 * * *")
	zones := in("America/New_York", "Asia/Kolkata")
	rapid.Check(t, func(rt *rapid.T) {
		now := time.Date(2026, 3, 6, 0, 0, 0, 0, time.UTC)
		st := open(rt, filepath.Join(t.TempDir(), fmt.Sprint(time.Now().UnixNano())+".db"), func() time.Time { return now })
		defer st.Close()
		began := time.Time{}
		ok := func(context.Context) error { return nil }
		fails := func(context.Context) error { return errors.New("no luck") }
		for range rapid.IntRange(5, 40).Draw(rt, "steps") {
			job := jobs.Job{Name: "sweep", Due: jobs.At(hourly, zones), Limit: 5 * time.Minute, Work: ok}
			runner := &jobs.Runner{Slots: st, Worker: "test", Log: quiet}
			switch rapid.IntRange(0, 5).Draw(rt, "what") {
			case 0: // claims, and dies
				if _, _, err := st.ClaimSlot(context.Background(), store.SlotClaim{Job: "sweep", Worker: "dead", Lease: 6 * time.Minute, Due: job.Due}); err != nil {
					rt.Fatal(err)
				}
			case 1:
				job.Work = fails
				fallthrough
			default:
				_, _ = runner.Once(context.Background(), job)
			}
			if began.IsZero() {
				began = now
			}
			now = now.Add(time.Duration(rapid.IntRange(back, 72*60).Draw(rt, "minutes")) * time.Minute).Truncate(time.Minute)
		}
		now = now.Add(100 * time.Hour)
		// After a clock was set back, runs of days that come again may be about to
		// be tried again, or their leases last: each for an hour or two. Within a
		// day the watch has gone on.
		behind := "nobody looked"
		for look := 0; look < 24 && behind != ""; look++ {
			if _, err := (&jobs.Runner{Slots: st, Worker: "test", Log: quiet}).Once(context.Background(), jobs.Job{Name: "sweep", Due: jobs.At(hourly, zones), Limit: time.Minute, Work: ok}); err != nil {
				rt.Fatal(err)
			}
			behind = goesOn(rt, st, now, hourly, zones())
			if back == 0 && behind != "" { // no clock was wrong: at once
				break
			}
			now = now.Add(time.Hour)
		}
		if behind != "" {
			rt.Fatal(behind)
		}
		if back == 0 {
			counted(rt, st, hourly, zones(), began)
		}
	})
}

// goesOn: no slot has two runs; and it says what there is instead, if the
// newest slot up to now has not ended well.
func goesOn(rt *rapid.T, st *store.Store, now time.Time, spec schedule.Spec, zones []*time.Location) string {
	runs, err := st.Runs(context.Background(), "sweep", 10_000)
	if err != nil {
		rt.Fatal(err)
	}
	seen, newest := make(map[time.Time]bool), store.Run{}
	for _, run := range runs {
		if seen[run.Slot] {
			rt.Fatalf("two runs of the slot %s", run.Slot)
		}
		seen[run.Slot] = true
		if !run.Slot.After(now) && run.Slot.After(newest.Slot) {
			newest = run
		}
	}
	due, _ := spec.Latest(now.AddDate(0, 0, -1), now, zones...)
	if newest.State != store.RunDone || newest.Slot.Before(due) {
		return fmt.Sprintf("the newest run is %+v, and the slot %s was due", newest, due)
	}
	return ""
}

// counted compares the runs with the slots themselves.
func counted(rt *rapid.T, st *store.Store, spec schedule.Spec, zones []*time.Location, began time.Time) {
	runs, err := st.Runs(context.Background(), "sweep", 10_000)
	if err != nil {
		rt.Fatal(err)
	}
	done := 0
	var last time.Time
	for _, run := range runs {
		if run.State == store.RunDone {
			done += 1 + run.Missed
			if run.Slot.After(last) {
				last = run.Slot
			}
		}
	}
	want := 0
	for range spec.Slots(began, last, zones...) {
		want++
	}
	if done != want+1 { // the first run ever was at once
		rt.Fatalf("%d slots are run or counted as missed, and there were %d\n%+v", done, want+1, runs)
	}
}
