package daemon

import (
	"cmp"
	"context"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/metrics"
	"antidotary/daemon/schedule"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
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
	m.House, m.Answered = d.shown.measured(), d.opt.Clock()
	d.metrics.Set(m)
	return nil
}

// zonesOnce loads each site's zone once.
type zonesOnce struct {
	view  *compliance.View
	known map[inventory.ID]*time.Location
}

func (z zonesOnce) of(site inventory.ID) *time.Location {
	zone, known := z.known[site]
	if !known {
		zone = zoneOf(z.view, site)
		z.known[site] = zone
	}
	return zone
}

// zoneOf gives a site's zone; UTC where none is recorded.
func zoneOf(v *compliance.View, site inventory.ID) *time.Location {
	zone, err := time.LoadLocation(v.Site(site).Zone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// standings are the names of standings as metrics have them.
var standings = map[compliance.Standing]string{compliance.OutOfOrder: "out_of_order", compliance.CannotTell: "cannot_tell",
	compliance.InOrder: "in_order", compliance.NotApplicable: "not_applicable"}

// houseOf counts what a judging found.
func houseOf(r *compliance.Report, nobodyTold bool) *metrics.House {
	v := r.View
	h := &metrics.House{Judged: v.Ask.Now, Duties: make(map[string]int), Findings: make(map[metrics.Kind]int), Earliest: make(map[metrics.Whose]time.Time),
		Overdue: make(map[metrics.Whose]int), Packs: make(map[string]time.Time), MailHeld: v.Pulse.MailHeld != "", NobodyTold: nobodyTold,
		Records: map[string]int{"paper": v.Permits.Len(), "lot": v.Lots.Len(), "person": v.People.Len(), "site": v.Sites.Len(), "list": v.Feeds.Len(), "not_watched": v.NotWatched.Len()}}
	for _, holding := range v.Holdings() {
		h.Records["animal"] += v.Count(holding).At(v.Today(holding.At))
	}
	for _, standing := range standings {
		h.Duties[standing] = 0
	}
	for _, rule := range v.Book.Rules { // nothing overdue is known, where somebody could be late
		h.Overdue[metrics.Whose{Owner: string(rule.Owner), Severity: string(rule.Severity)}] = 0
	}
	for _, pack := range v.Book.Packs {
		if !pack.ReviewBy.IsZero() {
			h.Packs[pack.Name] = day.EndOf(pack.ReviewBy, time.UTC)
		}
	}
	zones := zonesOnce{v, make(map[inventory.ID]*time.Location)}
	for _, j := range r.Judgements {
		f, needed := r.Finding(j)
		h.Duties[standings[f.Verdict.Standing]]++
		if !needed {
			continue
		}
		whose := metrics.Whose{Owner: cmp.Or(string(f.Verdict.Step.Owner), "nobody"), Severity: string(f.Severity)}
		h.Findings[metrics.Kind{Requirement: f.Key.Requirement, Standing: standings[f.Verdict.Standing], Severity: whose.Severity, Owner: whose.Owner}]++
		by := f.Verdict.Step.By
		switch {
		case f.Missed:
			h.Overdue[whose]++
		case !by.IsZero():
			if end := day.EndOf(by, zones.of(f.Site)); h.Earliest[whose].IsZero() || end.Before(h.Earliest[whose]) {
				h.Earliest[whose] = end
			}
		}
	}
	return h
}

// latest is how many runs are looked at to find the last that ended well.
const latest = 20

func (d *Daemon) measureJob(ctx context.Context, name string, spec schedule.Spec) (m metrics.Job, err error) {
	runs, err := d.store.Runs(ctx, name, latest)
	if err != nil {
		return m, err
	}
	m = lastGood(runs)
	now := d.opt.Clock()
	m.Next = spec.NextIn(now, d.zones()...)
	m.Interval = d.interval(name, spec, now)
	return m, nil
}

// lastGood is what the newest runs of a job say of it, the newest first.
func lastGood(runs []store.Run) (m metrics.Job) {
	for i, run := range runs {
		if i == 0 {
			m.Failing = run.Problem != "" && run.Finished.IsZero()
		}
		if !run.Finished.IsZero() {
			m.Succeeded, m.Late, m.Missed = run.Finished, run.Late(), run.Missed
			break
		}
	}
	return m
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
