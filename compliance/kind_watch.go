package compliance

import (
	"iter"
	"time"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// watchKind asks that the watch itself is alive: that lists are confirmed,
// that sweeps and the other jobs run, that mail moves. Sweep and mail are facts of the instant;
// their answer stands for every day, because the forecast assumes that the
// service runs.
type watchKind struct {
	what   string // list, sweep, mail or job
	job    string // JobConfirm or JobPrune
	maxAge time.Duration
}

func readWatchKind(m *strict.Map, r *Rule) Kind {
	k := &watchKind{what: m.Enum("what", "list", "sweep", "mail", "job")}
	if k.what == "list" {
		wrongSubject(m, r, inventory.KindFeed)
		return k
	}
	wrongSubject(m, r, inventory.KindOrganisation)
	if k.what == "job" {
		k.job = m.Enum("job", JobConfirm, JobPrune)
	}
	k.maxAge = m.Duration("max_age", time.Minute, 90*24*time.Hour)
	return k
}

// Bind implements Kind.
func (k *watchKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, "") }

// Judge implements Kind.
func (k *watchKind) Judge(v *View, d *Duty) Line {
	switch k.what {
	case "sweep":
		return day.Constant(v.in.Of(k.sweep(v, d)))
	case "mail":
		return day.Constant(v.in.Of(k.mail(v, d)))
	case "job":
		return day.Constant(v.in.Of(k.jobRan(v, d)))
	}
	f, ok := v.Feeds.Get(d.Subject.ID)
	if !ok {
		return day.Constant(notApplicable)
	}
	return day.Map(f.Freshness(v.Today(f.Site), v.Ask.Routine), func(fresh Freshness) *Verdict {
		return v.in.Of(k.list(v, d, f, fresh))
	})
}

func (k *watchKind) list(v *View, d *Duty, f *Feed, fresh Freshness) Verdict {
	until := f.FreshUntil()
	step := f.confirm(d.Rule.Window)
	switch {
	case fresh == Outside:
		return Verdict{}
	case fresh == Stale && until.IsZero():
		return Verdict{Standing: OutOfOrder, State: ListNever, Step: step, Cause: f.Ref()}
	case fresh == Stale:
		return Verdict{Standing: OutOfOrder, State: ListStale, Step: step, Cause: f.Ref()}
	case v.Ask.Routine:
		return Verdict{Standing: InOrder, State: ListFresh, Cause: f.Ref()}
	default:
		return Verdict{Standing: InOrder, State: ListFresh, Step: step, Cause: f.Ref()}
	}
}

func (k *watchKind) sweep(v *View, d *Duty) Verdict {
	check := Step{Do: CheckService, Instance: d.Subject, Owner: d.Rule.Owner}
	switch {
	case v.Pulse.Swept.IsZero():
		return Verdict{Standing: CannotTell, State: SweepNever, Step: check}
	case v.Ask.Now.Sub(v.Pulse.Swept) > k.maxAge:
		return Verdict{Standing: CannotTell, State: SweepLate, Step: check}
	default:
		return Verdict{Standing: InOrder, State: SweepFresh}
	}
}

func (k *watchKind) mail(v *View, d *Duty) Verdict {
	if !v.House().Mailed {
		return Verdict{}
	}
	if v.Pulse.MailHeld != "" {
		return Verdict{Standing: OutOfOrder, State: MailHeld, Step: Step{Do: ReleaseMail, Instance: d.Subject, Owner: d.Rule.Owner}}
	}
	if !v.Pulse.OldestMail.IsZero() && v.Ask.Now.Sub(v.Pulse.OldestMail) > k.maxAge {
		return Verdict{Standing: OutOfOrder, State: MailStuck, Step: Step{Do: CheckMail, Instance: d.Subject, Owner: d.Rule.Owner}}
	}
	return Verdict{Standing: InOrder, State: MailMoves}
}

// jobRan: what never ran has as long as the rule gives, from the day on which
// the watch began.
func (k *watchKind) jobRan(v *View, d *Duty) Verdict {
	ran, since := v.Pulse.Ran(k.job), v.Pulse.Since
	if since.IsZero() {
		since = v.Ask.Now
	}
	if ran.After(since) {
		since = ran
	}
	if v.Ask.Now.Sub(since) <= k.maxAge {
		return Verdict{Standing: InOrder, State: JobRan}
	}
	state := JobLate
	if ran.IsZero() {
		state = JobNever
	}
	return Verdict{Standing: OutOfOrder, State: state, Step: Step{Do: CheckService, Instance: d.Subject, Owner: d.Rule.Owner}}
}

// Why implements Kind.
func (k *watchKind) Why(v *View, d *Duty, on day.Day) []Reason {
	switch k.what {
	case "sweep":
		return []Reason{Because("sweep-at", "instant", instant(v.Pulse.Swept), "limit", k.maxAge.String())}
	case "job":
		return []Reason{Because("job-at", "job", k.job, "instant", instant(v.Pulse.Ran(k.job)), "limit", k.maxAge.String())}
	case "mail":
		reasons := []Reason{Because("mail-since", "instant", instant(v.Pulse.OldestMail), "limit", k.maxAge.String())}
		if v.Pulse.MailHeld != "" {
			reasons = append(reasons, Because("mail-held", "why", v.Pulse.MailHeld))
		}
		return reasons
	}
	f, ok := v.Feeds.Get(d.Subject.ID)
	if !ok {
		return nil
	}
	last := day.Day(0)
	if n := len(f.Confirmed); n > 0 {
		last = f.Confirmed[n-1]
	}
	return []Reason{Because("list-confirmed", "topic", string(f.Topic), "day", orUnknown(last), "until", orUnknown(f.FreshUntil()))}
}

func instant(t time.Time) string {
	if t.IsZero() {
		return "never"
	}
	return t.UTC().Format("2006-01-02 15:04 UTC")
}
