package daemon

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/sync/singleflight"

	"antidotary/daemon/store"
	"antidotary/daemon/web"
)

// What the alert rules say too (deploy/prometheus): a test compares them.
const (
	sweepSlack  = 5 * time.Minute // beyond two intervals without a sweep
	judgedLimit = time.Hour       // for what is shown
)

// probeLimit is how long a health page waits for the database. (Common
// practice, no source: an orchestrator gives up after some seconds.)
const probeLimit = 3 * time.Second

// healthy says whether the loops of this process go round: what a restart can
// mend, and nothing else. It asks neither the database nor the mail server.
func (d *Daemon) healthy(context.Context) (out []web.HealthCheck) {
	for _, s := range d.alive.signs() {
		c := web.HealthCheck{Name: "loop " + s.name, State: web.HealthOK,
			Why: fmt.Sprintf("it %s; last sign of life %s ago, and %s are allowed", s.doing, s.ago.Round(time.Second), s.within)}
		if s.ago > s.within {
			c.State = web.HealthNotOK
		}
		out = append(out, c)
	}
	if len(out) == 0 {
		out = append(out, web.HealthCheck{Name: "loops", State: web.HealthNotOK, Why: "none runs"})
	}
	return out
}

// ready says whether what this process shows can be relied on now.
func (d *Daemon) ready(ctx context.Context) []web.HealthCheck {
	book := d.sweeper.Book
	rules := web.HealthCheck{Name: "rules", State: web.HealthOK, Why: fmt.Sprintf("%d packs with %d rules are loaded", len(book.Packs), len(book.Rules))}
	if len(book.Rules) == 0 {
		rules = web.HealthCheck{Name: "rules", State: web.HealthNotOK, Why: "no rule is loaded: name packs in the configuration"}
	}
	return append([]web.HealthCheck{rules, d.judgedCheck()}, d.askDatabase(ctx)...)
}

func (d *Daemon) judgedCheck() web.HealthCheck {
	c := web.HealthCheck{Name: "judged", State: web.HealthOK}
	house := d.shown.measured()
	if house == nil {
		c.State, c.Why = web.HealthNotOK, "the records have not been judged yet since this process began"
		return c
	}
	ago := d.opt.Clock().Sub(house.Judged)
	c.Why = fmt.Sprintf("the records were judged %s ago, and %s are allowed", ago.Round(time.Second), judgedLimit)
	if ago > judgedLimit {
		c.State = web.HealthNotOK
	}
	return c
}

// databaseChecks are those that need an answer of the database.
var databaseChecks = []string{"records", "schema", "sweep"}

var tooSlow = fmt.Sprintf("the database did not answer within %s", probeLimit)

// askDatabase asks it, and does not wait long. While one question hangs no
// other is asked: whoever comes meanwhile gets the same answer.
func (d *Daemon) askDatabase(ctx context.Context) []web.HealthCheck {
	answer := d.probes.DoChan("", func() (any, error) {
		ctx, cancel := context.WithTimeout(context.Background(), probeLimit)
		defer cancel()
		return d.fromDatabase(ctx), nil
	})
	limit := time.NewTimer(probeLimit)
	defer limit.Stop()
	why := tooSlow
	select {
	case is := <-answer:
		return is.Val.([]web.HealthCheck)
	case <-limit.C:
	case <-ctx.Done():
		why = "whoever asked went away before the database answered"
	}
	return notKnown(databaseChecks, why)
}

func notKnown(names []string, why string) (out []web.HealthCheck) {
	for _, name := range names {
		out = append(out, web.HealthCheck{Name: name, State: web.HealthNotKnown, Why: why})
	}
	return out
}

func (d *Daemon) fromDatabase(ctx context.Context) []web.HealthCheck {
	out := []web.HealthCheck{{Name: "records", State: web.HealthOK, Why: "the database answers"}}
	if _, err := d.store.Guard(ctx); ctx.Err() != nil {
		return notKnown(databaseChecks, tooSlow)
	} else if err != nil {
		out[0].State, out[0].Why = web.HealthNotOK, "they cannot be read: "+reason(err)
		return append(out, notKnown(databaseChecks[1:], "the database does not say")...)
	}
	schema := web.HealthCheck{Name: "schema", State: web.HealthOK, Why: "it is the one that this program knows"}
	if err := d.store.SameSchema(ctx); err != nil {
		schema.State, schema.Why = web.HealthNotOK, err.Error()
	}
	return append(out, schema, d.sweepCheck(ctx))
}

// reason is an error for a page: its kind where that is known, because a
// driver's text may quote addresses.
func reason(err error) string {
	for _, kind := range []error{store.ErrUnreachable, store.ErrSlow, store.ErrBusy, store.ErrFull} {
		if errors.Is(err, kind) {
			return kind.Error()
		}
	}
	return "the log says why"
}

func (d *Daemon) sweepCheck(ctx context.Context) web.HealthCheck {
	c := web.HealthCheck{Name: "sweep", State: web.HealthOK}
	runs, err := d.store.Runs(ctx, jobSweep, latest)
	if err != nil {
		c.State, c.Why = web.HealthNotKnown, "the runs cannot be read: "+reason(err)
		return c
	}
	job := lastGood(runs)
	if job.Succeeded.IsZero() {
		c.State, c.Why = web.HealthNotOK, "none has ended well yet"
		return c
	}
	now := d.opt.Clock()
	ago, most := now.Sub(job.Succeeded), 2*d.interval(jobSweep, d.times.sweep, now)+sweepSlack
	c.Why = fmt.Sprintf("the last one that ended well did so %s ago, and the schedule allows %s", ago.Round(time.Second), most)
	if ago > most {
		c.State = web.HealthNotOK
	}
	return c
}

// probes are the questions of the health pages that wait for an answer.
type probes = singleflight.Group
