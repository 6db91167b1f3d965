package daemon

import (
	"context"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/daemon/store"
	"antidotary/daemon/web"
	"antidotary/inventory/day"
)

// beat reads what is known of the watch itself, for the page's proof of life.
func (d *Daemon) beat(ctx context.Context) error {
	now := d.opt.Clock()
	records, _, err := d.store.Snapshot(ctx)
	if err != nil {
		return err
	}
	p := records.Pulse
	l := &web.Life{Read: now, Began: p.Since, Swept: p.Swept, Proved: p.Confirmed, Oldest: p.OldestMail, Held: p.MailHeld,
		NoMail:   d.opt.Config.Mail.Mode == config.MailNone,
		SweepDue: d.times.sweep.NextIn(now, d.zones()...)}
	l.SweepWithin = d.interval(jobSweep, d.times.sweep, now) + limits[jobSweep]
	l.ProofWithin = d.interval(jobConfirm, d.times.confirm, now) + limits[jobConfirm]
	if l.SweepProblem, err = d.problemOf(ctx, jobSweep); err != nil {
		return err
	}
	if l.ProofProblem, err = d.problemOf(ctx, jobConfirm); err != nil {
		return err
	}
	counts, err := d.store.OutboxCounts(ctx)
	if err != nil {
		return err
	}
	for state, n := range counts {
		switch state {
		case store.MailSent:
		case store.MailDead:
			l.GivenUp = n
		default:
			l.Waiting += n
		}
	}
	d.shown.lives(l)
	return nil
}

// problemOf says why the newest run of a job did not end well; empty where it
// did, or is still under way for the first time.
func (d *Daemon) problemOf(ctx context.Context, job string) (string, error) {
	runs, err := d.store.Runs(ctx, job, 1)
	if err != nil || len(runs) == 0 || !runs[0].Finished.IsZero() {
		return "", err
	}
	return runs[0].Problem, nil
}

func (d *Daemon) houseZone(s *compliance.Snapshot) *time.Location { return d.times.houseZone(s) }

// houseZone is whose clock pages and sheets tell times by: the schedule's, or
// that of most sites, the first by name among equals; UTC where there is no
// site.
func (t times) houseZone(s *compliance.Snapshot) *time.Location {
	if t.zone != nil {
		return t.zone
	}
	count := make(map[string]int)
	best := ""
	for site := range s.Sites.All() {
		count[site.Zone]++
	}
	for name, n := range count {
		if best == "" || n > count[best] || n == count[best] && name < best {
			best = name
		}
	}
	zone, err := time.LoadLocation(best)
	if err != nil {
		return time.UTC
	}
	return zone
}

// yesterday is the start of the day before an instant's.
func yesterday(now time.Time, zone *time.Location) time.Time {
	return day.StartOf(day.In(now, zone)-1, zone)
}
