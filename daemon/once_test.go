package daemon

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"antidotary/daemon/demo"
	"antidotary/daemon/jobs"
	"antidotary/inventory/day"
	"antidotary/notify/mailbox"
)

func swept(t *testing.T, opt Options) *SweepAnswer {
	t.Helper()
	a, err := SweepOnce(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func (s *SweepAnswer) ran(name string) (JobRan, bool) {
	i := slices.IndexFunc(s.Jobs, func(j JobRan) bool { return j.Job == name })
	if i < 0 {
		return JobRan{}, false
	}
	return s.Jobs[i], true
}

// TestOneSweepAtATime: the first tells, the second has nothing to tell, and
// after a week without any there is one catch-up. A daemon that starts after
// it runs none of those slots again.
func TestOneSweepAtATime(t *testing.T) {
	opt, box := watched(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	first := swept(t, opt)
	if first.Mail.Sent < 3 || first.Mail.Sent != len(box.Messages()) || first.Untold() != nil || len(first.Changes) == 0 || len(first.Jobs) != 3 {
		t.Errorf("the first: %d arrived, %+v, %d changes, %+v, %v", len(box.Messages()), first.Mail, len(first.Changes), first.Jobs, first.Untold())
	}
	now = now.Add(time.Minute)
	arrived := len(box.Messages())
	again := swept(t, opt)
	if len(box.Messages()) != arrived || again.Mail != (MailLeft{}) || len(again.Changes) != 0 || len(again.Jobs) != 1 {
		t.Errorf("again: %d arrived, %+v, %+v, %d changes", len(box.Messages())-arrived, again.Mail, again.Jobs, len(again.Changes))
	}
	now = now.AddDate(0, 0, 7)
	week := swept(t, opt)
	if s, ok := week.ran(jobSweep); !ok || s.Missed < 6 {
		t.Errorf("a week later the sweep ran %t and stands for %d", ok, s.Missed)
	}
	if _, ok := week.ran(jobConfirm); !ok || len(week.Jobs) != 3 || week.Mail.Sent == 0 {
		t.Errorf("a week later: %+v, %+v; want each job once, and mail", week.Jobs, week.Mail)
	}
	toldOnceEach(t, box.Messages()[arrived:])

	arrived = len(box.Messages())
	now = now.Add(time.Minute)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	for _, job := range d.jobs() {
		if ran, err := d.runner.Once(t.Context(), job); ran || err != nil {
			t.Errorf("a daemon runs the slot of %s again (%v)", job.Name, err)
		}
	}
	if len(box.Messages()) != arrived {
		t.Errorf("it mailed %d times", len(box.Messages())-arrived)
	}
}

// toldOnceEach: nobody got two mails with one subject.
func toldOnceEach(t *testing.T, mails []mailbox.Message) {
	t.Helper()
	seen := make(map[string]bool)
	for _, m := range mails {
		if k := m.To[0] + ": " + m.Subject; seen[k] {
			t.Errorf("told twice: %s", k)
		} else {
			seen[k] = true
		}
	}
}

// TestOneSweepWithoutItsMailServer says that nobody was told, and the next one
// makes good for it.
func TestOneSweepWithoutItsMailServer(t *testing.T) {
	opt, box := watched(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	gone, err := mailbox.Start(mailbox.Options{Security: mailbox.ImplicitTLS})
	if err != nil {
		t.Fatal(err)
	}
	if err := gone.Close(); err != nil {
		t.Fatal(err)
	}
	down, log := opt, new(strings.Builder)
	down.Config.Mail.Port, down.Err = gone.Port(), log
	a := swept(t, down)
	if err := a.Untold(); a.Mail.Sent != 0 || a.Mail.Waiting < 3 || err == nil || !strings.Contains(err.Error(), "nobody has been told of what is in them") {
		t.Errorf("%+v, %v", a.Mail, err)
	}
	if !strings.Contains(log.String(), "mail attempted") || strings.Contains(log.String(), "level=INFO") {
		t.Errorf("the log does not say why, or more than that:\n%s", log)
	}
	now = now.Add(time.Hour)
	b := swept(t, opt)
	if b.Mail.Sent != a.Mail.Waiting || b.Mail.Waiting != 0 || b.Untold() != nil || len(box.Messages()) != a.Mail.Waiting {
		t.Errorf("back again: %+v of %d, %v", b.Mail, a.Mail.Waiting, b.Untold())
	}
	toldOnceEach(t, box.Messages())
}

// TestOneSweepWithAnAddressThatDoesNotWork says that somebody was not told.
func TestOneSweepWithAnAddressThatDoesNotWork(t *testing.T) {
	opt, box := watched(t)
	if err := box.SetScript(mailbox.Script{{At: mailbox.Rcpt, Do: mailbox.Refuse, Reply: "550 5.1.1 nobody here", Times: 1}}); err != nil {
		t.Fatal(err)
	}
	a := swept(t, opt)
	if err := a.Untold(); a.Mail.GivenUp != 1 || err == nil || !strings.Contains(err.Error(), "refused 1 mail for good") {
		t.Errorf("%+v, %v", a.Mail, err)
	}
}

// TestOneSweepBesideADaemon: a file is refused with words; on a server the two
// share the work, and nobody is told twice.
func TestOneSweepBesideADaemon(t *testing.T) {
	t.Run("a file", func(t *testing.T) {
		opt, _ := watched(t)
		started(t, opt)
		if _, err := SweepOnce(t.Context(), opt); err == nil || !strings.Contains(err.Error(), "sweeps by itself") {
			t.Errorf("%v", err)
		}
	})
	t.Run("a server", func(t *testing.T) {
		opt, box := watched(t)
		opt.Config.Database = importDatabases["postgres"](t)
		if err := record(t.Context(), opt, demo.House(day.In(morning, time.UTC), day.Embedded())); err != nil {
			t.Fatal(err)
		}
		d := started(t, opt)
		a := swept(t, opt)
		if _, ok := a.ran(jobSweep); !ok || len(a.Changes) != 0 || a.Untold() != nil {
			t.Errorf("%+v, %d changes, %v", a.Jobs, len(a.Changes), a.Untold())
		}
		for _, job := range d.jobs() {
			if ran, err := d.runner.Once(t.Context(), job); ran || err != nil {
				t.Errorf("the daemon runs %s again (%v)", job.Name, err)
			}
		}
		toldOnceEach(t, box.Messages())
	})
}

// TestOneSweepWhileAnotherSweeps: its sweep serves, and there is an answer.
func TestOneSweepWhileAnotherSweeps(t *testing.T) {
	opt, _ := watched(t)
	opt.Config.Database = importDatabases["postgres"](t)
	if err := record(t.Context(), opt, demo.House(day.In(morning, time.UTC), day.Embedded())); err != nil {
		t.Fatal(err)
	}
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	other := jobs.Job{Name: jobSweep, Due: d.jobs()[0].Due, Limit: limits[jobSweep], Work: func(context.Context) error {
		a := swept(t, opt)
		if _, ok := a.ran(jobSweep); ok || a.Check == nil || a.Check.Counts.Duties == 0 {
			t.Errorf("it swept %t, and answers %+v", ok, a.Check)
		}
		return nil
	}}
	if ran, err := d.runner.Once(t.Context(), other); !ran || err != nil {
		t.Fatal(ran, err)
	}
}

// TestOneSweepOfNothing makes a database, as a daemon does.
func TestOneSweepOfNothing(t *testing.T) {
	opt, _ := watched(t)
	opt.Config.Database = filepath.Join(t.TempDir(), "new.db")
	if a := swept(t, opt); a.Mail.Sent != 0 {
		t.Errorf("%+v", a.Mail)
	}
}
