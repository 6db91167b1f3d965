package daemon

import (
	"context"
	"time"

	"antidotary/daemon/metrics"
	"antidotary/daemon/schedule"
)

// measure takes what the metrics show from the database, never within a
// scrape.
func (d *Daemon) measure(ctx context.Context) error {
	m := metrics.State{Jobs: make(map[string]metrics.Job), Engine: Engine}
	for name, spec := range map[string]schedule.Spec{jobSweep: d.times.sweep, jobConfirm: d.times.confirm, jobPrune: d.times.prune} {
		job, err := d.measureJob(ctx, name, spec)
		if err != nil {
			return err
		}
		m.Jobs[name] = job
	}
	counts, err := d.store.OutboxCounts(ctx)
	if err != nil {
		return err
	}
	m.Mails = make(map[string]int)
	for state, n := range counts {
		m.Mails[string(state)] = n
	}
	if m.OldestMail, err = d.store.OldestMail(ctx); err != nil {
		return err
	}
	d.metrics.Set(m)
	return nil
}

// latest is how many runs are looked at to find the last that ended well.
const latest = 20

func (d *Daemon) measureJob(ctx context.Context, name string, spec schedule.Spec) (m metrics.Job, err error) {
	runs, err := d.store.Runs(ctx, name, latest)
	if err != nil {
		return m, err
	}
	for i, run := range runs {
		if i == 0 {
			m.Failing = run.Problem != "" && run.Finished.IsZero()
		}
		if run.Finished.IsZero() {
			continue
		}
		m.Succeeded, m.Late, m.Missed = run.Finished, run.Late(), run.Missed
		break
	}
	now := d.opt.Clock()
	m.Next = spec.NextIn(now, d.zones()...)
	m.Interval = d.interval(name, spec, now)
	return m, nil
}

// interval is the longest time between two slots, worked out once a day: that
// takes milliseconds.
func (d *Daemon) interval(name string, spec schedule.Spec, now time.Time) time.Duration {
	d.intervals.mu.Lock()
	defer d.intervals.mu.Unlock()
	if known, ok := d.intervals.of[name]; ok && now.Sub(known.at) < 24*time.Hour && now.After(known.at) {
		return known.is
	}
	if d.intervals.of == nil {
		d.intervals.of = make(map[string]interval)
	}
	is := spec.Interval(now, d.zones()...)
	d.intervals.of[name] = interval{now, is}
	return is
}

type interval struct {
	at time.Time
	is time.Duration
}
