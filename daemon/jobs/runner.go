package jobs

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"time"

	"antidotary/daemon/schedule"
	"antidotary/daemon/store"
)

// Wake is the longest that a loop sleeps.
const Wake = 30 * time.Second

// Job is something to be done at its slots.
type Job struct {
	Name  string
	Due   store.Due
	Limit time.Duration // of one run; the lease is a minute longer
	Work  func(context.Context) error
}

// Slots is what a runner needs of the database.
type Slots interface {
	ClaimSlot(ctx context.Context, c store.SlotClaim) (store.Run, bool, error)
	FinishSlot(ctx context.Context, run store.Run, problem error, again time.Duration) error
}

// Runner runs jobs for one daemon.
type Runner struct {
	Slots  Slots
	Worker string // this daemon's name, for people
	Log    *slog.Logger
	// Ran is told of every run that ended; may be nil.
	Ran func(ctx context.Context, run store.Run, problem error)
}

// At makes a job due at the slots of a schedule in some zones, asked each
// time: sites come and go. A job that never ran is due at once.
func At(spec schedule.Spec, zones func() []*time.Location) store.Due {
	return func(last, now time.Time) (time.Time, int) {
		if last.IsZero() {
			return now, 0
		}
		return spec.Latest(last, now, zones()...)
	}
}

// AtOnce makes a job due now, and counts what was missed by its schedule: for
// a daemon that starts, because rules and settings may have changed.
func AtOnce(scheduled store.Due) store.Due {
	return func(last, now time.Time) (time.Time, int) {
		if !last.Before(now) { // it ran within this very instant
			return now.Add(time.Microsecond), 0
		}
		slot, missed := scheduled(last, now)
		if slot.IsZero() || slot.Equal(now) {
			return now, missed
		}
		return now, missed + 1
	}
}

// Loop runs a job whenever it is due, until the context ends.
func (r *Runner) Loop(ctx context.Context, job Job) {
	wake := time.NewTicker(Wake)
	defer wake.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-wake.C:
		}
		if _, err := r.Once(ctx, job); err != nil && ctx.Err() == nil {
			r.Log.Error("job failed", "job", job.Name, "error", err)
		}
	}
}

// Once runs a job if it is due and nobody else runs it. Its error is the
// work's, or the database's.
func (r *Runner) Once(ctx context.Context, job Job) (ran bool, err error) {
	run, claimed, err := r.Slots.ClaimSlot(ctx, store.SlotClaim{Job: job.Name, Worker: r.Worker, Lease: job.Limit + time.Minute, Due: job.Due})
	if err != nil {
		return false, fmt.Errorf("claim a slot of %s: %w", job.Name, err)
	}
	if !claimed {
		return false, nil
	}
	problem := r.work(context.WithValue(ctx, runKey{}, run), job)
	r.Log.Info("job ran", "job", job.Name, "slot", run.Slot, "late", run.Late(), "missed", run.Missed, "attempt", run.Attempts, "problem", problem)
	finishing := context.WithoutCancel(ctx) // what became of it is recorded even while the service stops
	err = r.Slots.FinishSlot(finishing, run, problem, again(run.Attempts, ctx))
	if r.Ran != nil {
		r.Ran(finishing, run, problem)
	}
	return true, errors.Join(problem, err)
}

type runKey struct{}

// RunOf gives the run within which a job's work is done.
func RunOf(ctx context.Context) (store.Run, bool) {
	run, ok := ctx.Value(runKey{}).(store.Run)
	return run, ok
}

// work does the job within its limit. A panic is an error of this run, not
// the end of the daemon.
func (r *Runner) work(ctx context.Context, job Job) (err error) {
	ctx, cancel := context.WithTimeout(ctx, job.Limit)
	defer cancel()
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("%s panicked: %v\n%s", job.Name, v, debug.Stack())
		}
	}()
	return job.Work(ctx)
}

// again says how long a run that failed waits for its next attempt: 1, 2, 5,
// 10, then 15 minutes; not at all where the daemon only stops. (Common
// practice, no source.)
func again(attempts int, ctx context.Context) time.Duration {
	if ctx.Err() != nil {
		return 0
	}
	steps := []time.Duration{time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute}
	return steps[min(max(attempts-1, 0), len(steps)-1)]
}
