package daemon

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/jobs"
	"antidotary/daemon/store"
	"antidotary/daemon/sweep"
	"antidotary/notify"
	"antidotary/notify/words"
)

// SweepAnswer says what one sweep without a daemon did.
type SweepAnswer struct {
	Format int `json:"format"`
	answer.Telling
	Jobs    []JobRan      `json:"jobs"`    // that were due, in the order in which they ran
	Changes []SweepChange `json:"changes"` // of findings, since the sweep before
	Mail    MailLeft      `json:"mail"`
	Check   *answer.Check `json:"check"`
}

// SetNobodyTold notes that the configuration sends no mail.
func (s *SweepAnswer) SetNobodyTold() {
	s.NobodyTold = true
	s.Check.SetNobodyTold()
}

// JobRan is one of them.
type JobRan struct {
	Job    string    `json:"job"`
	Slot   time.Time `json:"slot"`
	Missed int       `json:"missed"` // earlier times at which it was due and nobody ran it
}

// SweepChange is what became of one finding.
type SweepChange struct {
	Move compliance.Move `json:"move"` // opened, worse, changed, improved or closed
	Item notify.Item     `json:"item"`
}

// MailLeft says what became of the mails.
type MailLeft struct {
	Sent    int    `json:"sent"`     // taken by the mail server just now
	Waiting int    `json:"waiting"`  // that did not leave
	GivenUp int    `json:"given_up"` // refused for good just now
	Problem string `json:"problem,omitempty"`
}

// SweepOnce does what the schedule missed, once, and sends what is in the
// outbox: for a machine on which no daemon runs all day. The sweep is made
// whatever the schedule says, as a daemon does at its start; the proof of life
// and the removal of old mail are made if they are due. Each is a run in the
// database like a daemon's, so that beside daemons on one server no slot is
// run twice. A file that a daemon holds is refused.
//
// The answer comes with an error where a job but the sweep failed.
func SweepOnce(ctx context.Context, opt Options) (_ *SweepAnswer, err error) {
	opt.least = slog.LevelWarn // the answer says the rest
	d, err := New(opt)
	if errors.Is(err, store.ErrBusy) && !store.IsServer(opt.Config.Database) {
		return nil, fmt.Errorf("%w\nA daemon that runs sweeps by itself: antidotary sweep is for when none does", err)
	}
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, d.Stop(context.WithoutCancel(ctx))) }()
	before, err := d.store.OutboxCounts(ctx)
	if err != nil {
		return nil, err
	}
	out := &SweepAnswer{Format: answer.Format, Jobs: []JobRan{}, Changes: []SweepChange{}}
	failed := d.catchUp(ctx, out)
	if d.shown.Check() == nil {
		return nil, failed
	}
	delivered := d.deliver(ctx)
	out.Check = d.shown.Check()
	if out.Mail, err = d.mailLeft(ctx, before, delivered); err != nil {
		return nil, errors.Join(failed, err)
	}
	return out, failed
}

// catchUp runs the jobs that are due, the sweep in any case.
func (d *Daemon) catchUp(ctx context.Context, out *SweepAnswer) (failed error) {
	d.runner.Ran = func(_ context.Context, run store.Run, _ error) {
		out.Jobs = append(out.Jobs, JobRan{run.Job, run.Slot, run.Missed})
	}
	for _, job := range d.jobs() {
		if job.Name == jobSweep {
			job.Due = jobs.AtOnce(job.Due)
			job.Work = func(ctx context.Context) error {
				result, err := d.sweep(ctx)
				if err == nil {
					out.Changes = changesOf(result)
				}
				return err
			}
		}
		ran, err := d.runner.Once(ctx, job)
		if err == nil && !ran && job.Name == jobSweep { // another daemon is sweeping just now, which serves
			err = d.judge(ctx)
		}
		if err != nil {
			failed = errors.Join(failed, fmt.Errorf("%s: %w", job.Name, err))
		}
	}
	return failed
}

func changesOf(r *sweep.Result) []SweepChange {
	out := []SweepChange{}
	for _, t := range r.Transitions {
		out = append(out, SweepChange{t.Move, notify.Describe(r.Report, *t.After)})
	}
	return out
}

// mailLeft says what became of the mails since there were these.
func (d *Daemon) mailLeft(ctx context.Context, before map[store.MailState]int, delivered error) (m MailLeft, err error) {
	after, err := d.store.OutboxCounts(ctx)
	if err != nil {
		return m, err
	}
	m.Sent, m.GivenUp = after[store.MailSent]-before[store.MailSent], after[store.MailDead]-before[store.MailDead]
	for state, n := range after {
		if state != store.MailSent && state != store.MailDead {
			m.Waiting += n
		}
	}
	hold, held, err := d.store.Hold(ctx)
	switch {
	case err != nil:
		return m, err
	case held:
		m.Problem = "all mail is held: " + hold.Why
	case delivered != nil:
		m.Problem = delivered.Error()
	case m.Waiting > 0 && d.room == nil:
		m.Problem = "the configuration sends no mail (mail.mode)"
	case m.Waiting > 0:
		m.Problem = "the mail server did not take them now; the log says why"
	}
	return m, nil
}

// Untold is an error where somebody who should have been told has not been.
func (s *SweepAnswer) Untold() error {
	m := s.Mail
	switch {
	case m.Waiting > 0:
		return fmt.Errorf("%s did not leave, and nobody has been told of what is in them: %s. antidotary sweep tries again; antidotary outbox lists them", words.Count(m.Waiting, "mail"), m.Problem)
	case m.Problem != "":
		return fmt.Errorf("mail does not leave: %s", m.Problem)
	case m.GivenUp > 0:
		return fmt.Errorf("the mail server refused %s for good, and whoever that was for has not been told: correct the address in the records, and tell them yourself", words.Count(m.GivenUp, "mail"))
	}
	return nil
}

// mostChanges is how many changes are listed for a terminal; the answer below
// them has everything.
const mostChanges = 20

// moves are what people call them.
var moves = map[compliance.Move]string{compliance.Opened: "new", compliance.Worse: "worse", compliance.Changed: "changed",
	compliance.Improved: "better", compliance.Closed: "over"}

// WriteText prints the answer for a terminal.
func (s *SweepAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	for _, j := range s.Jobs {
		fmt.Fprintf(&b, "Done: %s", jobWords[j.Job])
		if j.Missed > 0 {
			fmt.Fprintf(&b, ", which stands for %s at which it was due and nobody ran it", words.Count(j.Missed, "time"))
		}
		b.WriteString(".\n")
	}
	if len(s.Changes) == 0 {
		b.WriteString("Nothing has changed since the last sweep.\n")
	} else {
		b.WriteString("Changed since the last sweep:\n")
	}
	for _, c := range s.Changes[:min(len(s.Changes), mostChanges)] {
		b.WriteString(words.Labelled("  "+moves[c.Move], c.Item.Name+": "+c.Item.Title+", "+cmp.Or(c.Item.StateWords, words.Standing(c.Item.Standing)), 88))
	}
	if more := len(s.Changes) - mostChanges; more > 0 {
		fmt.Fprintf(&b, "  and %d more\n", more)
	}
	fmt.Fprintf(&b, "Mail: %d sent, %d wait, %d refused for good.\n\n", s.Mail.Sent, s.Mail.Waiting, s.Mail.GivenUp)
	if _, err := io.WriteString(w, b.String()); err != nil {
		return err
	}
	return s.Check.WriteText(w)
}

// jobWords are what people call the jobs.
var jobWords = map[string]string{jobSweep: "the sweep", jobConfirm: "the proof of life", jobPrune: "the removal of old mail"}
