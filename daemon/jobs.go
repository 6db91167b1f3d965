package daemon

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/daemon/jobs"
	"antidotary/daemon/schedule"
	"antidotary/daemon/store"
	"antidotary/inventory/day"
)

// The jobs of the schedule. Delivery is none of them: mails are leased one by
// one, so every daemon looks for some each half minute.
const (
	jobSweep   = "sweep"
	jobConfirm = compliance.JobConfirm
	jobPrune   = compliance.JobPrune
)

var jobNames = []string{jobSweep, jobConfirm, jobPrune}

// limits are the hard stops of one run. A first sweep of a national network
// took a minute where this was measured (daemon/store, BenchmarkSweep).
var limits = map[string]time.Duration{jobSweep: 30 * time.Minute, jobConfirm: 30 * time.Minute, jobPrune: 10 * time.Minute}

// times are when the jobs are due.
type times struct {
	sweep, confirm, prune schedule.Spec
	zone                  *time.Location // nil: each site's own
}

func timesOf(cfg config.Config) (t times, err error) {
	for spec, text := range map[*schedule.Spec]string{&t.sweep: cfg.Sweep, &t.confirm: cfg.Confirm, &t.prune: cfg.Prune} {
		if *spec, err = schedule.Parse(text); err != nil {
			return t, fmt.Errorf("read the schedule: %w", err)
		}
	}
	if cfg.Zone != "" {
		if t.zone, err = time.LoadLocation(cfg.Zone); err != nil {
			return t, fmt.Errorf("read the schedule's zone: %w", err)
		}
	}
	return t, nil
}

// waits says whether the local day's first slot is still to come in a zone.
// Where all times are of one zone nobody waits for another.
func (t times) waits(spec schedule.Spec) func(zone *time.Location, now time.Time) bool {
	if t.zone != nil {
		return nil
	}
	return func(zone *time.Location, now time.Time) bool {
		today := day.In(now, zone)
		first := spec.Next(day.StartOf(today, zone).Add(-time.Nanosecond), zone)
		return now.Before(first) && first.Before(day.EndOf(today, zone))
	}
}

// describe says when the jobs are due next.
func (t times) describe(b *strings.Builder, now time.Time) {
	zone, where, layout := t.zone, "", "Mon 2 Jan 2006 15:04 MST"
	if zone == nil {
		zone, where, layout = time.UTC, ", at each site's own time", "Mon 2 Jan 2006 15:04"
	}
	for _, job := range []struct {
		what string
		spec schedule.Spec
	}{{"sweeps", t.sweep}, {"proofs of life", t.confirm}, {"removals of old mail", t.prune}} {
		next := now
		fmt.Fprintf(b, "The next %s%s:", job.what, where)
		for range 3 {
			next = job.spec.NextIn(next, zone)
			b.WriteString(" " + next.Format(layout) + ";")
		}
		b.WriteString("\n")
	}
}

// zones gives the zones in which the schedule counts: the configured one, or
// that of every site; UTC where there is no site yet.
func (d *Daemon) zones() []*time.Location {
	if d.times.zone != nil {
		return []*time.Location{d.times.zone}
	}
	records, _, err := d.store.Snapshot(context.Background())
	if err != nil {
		d.log.Error("sites' time zones cannot be read: the schedule counts in UTC until they can", "error", err)
		return nil
	}
	return zonesOf(records)
}

func zonesOf(records *compliance.Snapshot) (out []*time.Location) {
	var names []string
	for site := range records.Sites.All() {
		names = append(names, site.Zone)
	}
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		if zone, err := time.LoadLocation(name); err == nil { // records refuse others
			out = append(out, zone)
		}
	}
	return out
}

// jobs are what the schedule runs.
func (d *Daemon) jobs() []jobs.Job {
	return []jobs.Job{
		{Name: jobSweep, Due: jobs.At(d.times.sweep, d.zones), Limit: limits[jobSweep], Work: d.Sweep},
		{Name: jobConfirm, Due: jobs.At(d.times.confirm, d.zones), Limit: limits[jobConfirm], Work: d.confirm.Run},
		{Name: jobPrune, Due: jobs.At(d.times.prune, d.zones), Limit: limits[jobPrune], Work: d.prune},
	}
}

// first sweeps at once: rules and settings may have changed. If another
// daemon is just sweeping, its sweep serves.
func (d *Daemon) first(ctx context.Context) error {
	sweep := jobs.Job{Name: jobSweep, Due: jobs.AtOnce(jobs.At(d.times.sweep, d.zones)), Limit: limits[jobSweep], Work: d.Sweep}
	swept, err := d.runner.Once(ctx, sweep)
	if err != nil {
		return err
	}
	if !swept {
		d.log.Info("another daemon is sweeping")
	}
	d.refresh(ctx)
	if err := d.deliver(ctx); err != nil {
		d.log.ErrorContext(ctx, "mail does not move", "error", err)
	}
	return nil
}

// prune removes what the house does not want to keep.
func (d *Daemon) prune(ctx context.Context) error {
	pruned, err := d.store.Prune(ctx, d.opt.Clock().AddDate(0, 0, -d.opt.Config.KeepMail))
	if err == nil {
		d.log.InfoContext(ctx, "pruned", "mails", pruned.Mails, "runs", pruned.Runs)
	}
	return err
}

// loop delivers mail and keeps what is shown as new as the records.
func (d *Daemon) loop(ctx context.Context) {
	wake := time.NewTicker(jobs.Wake)
	defer wake.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-wake.C:
		}
		if err := d.deliver(ctx); err != nil {
			d.log.Error("mail does not move", "error", err)
		}
		d.alive.beat(ctx, patience, "brings the page up to date")
		d.refresh(ctx)
		d.alive.beat(ctx, idle, "waits")
	}
}

// refresh judges what is recorded now, for the page and the metrics, if a
// change or another daemon's sweep came since.
func (d *Daemon) refresh(ctx context.Context) {
	if err := d.show(ctx); err != nil && ctx.Err() == nil {
		d.log.Error("the page cannot be brought up to date", "error", err)
	}
}

func (d *Daemon) show(ctx context.Context) error {
	return errors.Join(d.judge(ctx), d.measure(ctx), d.beat(ctx))
}

// judge judges anew what changed since it was last shown.
func (d *Daemon) judge(ctx context.Context) error {
	guard, err := d.store.Guard(ctx)
	if err != nil {
		return err
	}
	hold, _, err := d.store.Hold(ctx)
	if err != nil || d.shown.isAt(standingAt(guard, hold.Why, d.opt.Clock())) {
		return err
	}
	view, err := d.store.Read(ctx)
	if err != nil {
		return err
	}
	report := compliance.Evaluate(d.sweeper.Book, view.Snapshot, compliance.Ask{Now: d.opt.Clock()})
	zone := d.houseZone(view.Snapshot)
	at := standingAt(view.Guard(), view.Snapshot.Pulse.MailHeld, d.opt.Clock())
	since, err := d.store.Since(ctx, yesterday(d.opt.Clock(), zone))
	if err != nil {
		at = standing{} // what changed reads "not known", and is read again soon
	}
	d.shown.judged(report, at, d.opt.Config.Mail.Mode == config.MailNone, since, zone)
	return err
}

// ran is told of every run that ended here.
func (d *Daemon) ran(ctx context.Context, run store.Run, _ error) {
	if err := d.measure(ctx); err != nil {
		d.log.Error("metrics cannot be brought up to date", "job", run.Job, "error", err)
	}
}

// worker names this daemon for people who read the runs.
func worker() string {
	host, err := os.Hostname()
	if err != nil {
		host = "unknown host"
	}
	return fmt.Sprintf("%s, process %d", host, os.Getpid())
}
