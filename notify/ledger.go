package notify

import (
	"slices"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Mention says why somebody is told of a finding now.
type Mention string

// The mentions.
const (
	New      Mention = "new"            // to this person, in this episode
	Worse    Mention = "worse"          // than when this person was last told
	NextStep Mention = "next step"      // something else has to be done now, or much later
	Nearer   Mention = "reminder"       // the act-by day comes nearer
	NotDone  Mention = "still not done" // another week after the act-by day, or since it opened
)

// change says that something happened, not only that time passed.
func (m Mention) change() bool { return m == New || m == Worse || m == NextStep }

// ledger answers what was told.
type ledger struct {
	told map[Reminder]bool
	news map[about][]news
}

// about is what somebody heard of at all.
type about struct {
	key       compliance.Key
	recipient inventory.ID
}

// news is a telling that a finding opened or became worse.
type news struct{ arm, worsened int }

func newLedger(reminders []Reminder) *ledger {
	l := &ledger{told: make(map[Reminder]bool, len(reminders)), news: make(map[about][]news)}
	for _, r := range reminders {
		l.told[r] = true
		if r.Threshold <= toldNews && r.Threshold != toldClosed {
			a := about{r.Key, r.Recipient}
			l.news[a] = append(l.news[a], news{r.Arm, toldNews - r.Threshold})
		}
	}
	return l
}

// untold gives the due thresholds that the recipient has not been told of.
func (l *ledger) untold(f *compliance.Finding, to inventory.ID, due []int) (out []Reminder) {
	for _, t := range due {
		r := Reminder{Key: f.Key, Do: f.Verdict.Step.Do, Instance: f.Verdict.Step.Instance, Arm: f.Arm, Threshold: t, Recipient: to}
		if !l.told[r] {
			out = append(out, r)
		}
	}
	return out
}

// heard gives how often the finding had become worse when the recipient last
// heard of this episode; -1 where the recipient never did. Arms are named by
// days and an episode begins one, so that arms from its first day on are its
// own; the day before is allowed because a site's day is not that of UTC.
func (l *ledger) heard(f *compliance.Finding, to inventory.ID) int {
	first := int(day.In(f.Opened, time.UTC)) - 1
	worsened := -1
	for _, n := range l.news[about{f.Key, to}] {
		if n.arm >= first {
			worsened = max(worsened, n.worsened)
		}
	}
	return worsened
}

// mention says why the untold thresholds of a finding are told.
func (l *ledger) mention(f *compliance.Finding, to inventory.ID, untold []Reminder) Mention {
	isNews := slices.ContainsFunc(untold, func(r Reminder) bool { return r.Threshold <= toldNews })
	heard := l.heard(f, to)
	switch {
	case isNews && heard < 0:
		return New
	case isNews && heard < f.Worsened:
		return Worse
	case isNews:
		return NextStep
	case slices.ContainsFunc(untold, func(r Reminder) bool { return r.Threshold >= 0 }):
		return Nearer
	default:
		return NotDone
	}
}
