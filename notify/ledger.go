package notify

import (
	"bytes"
	"maps"
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

// Told is one threshold of one step of a finding, with everybody who was told
// of it.
type Told struct {
	Key       compliance.Key
	Do        compliance.Code
	Instance  inventory.Ref
	Arm       int
	Threshold int
	To        []inventory.ID
}

// Ledger is what was told of some findings, each under its key: with it go all
// lines of that key, of whatever episode. It never changes; With makes
// another. Of a national network there are near a million lines, and some
// twenty of them differ in nothing but who was told: they are kept together.
// The zero Ledger, and nil, is that nobody was told of anything.
type Ledger struct {
	of map[compliance.Key][]Told
}

// NewLedger makes a ledger. It keeps the lists of recipients; those that are
// not sorted it sorts.
func NewLedger(lines []Told) *Ledger {
	l := &Ledger{of: make(map[compliance.Key][]Told)}
	for _, t := range lines {
		if !slices.IsSortedFunc(t.To, compareIDs) {
			slices.SortFunc(t.To, compareIDs)
		}
		l.of[t.Key] = append(l.of[t.Key], t)
	}
	return l
}

func compareIDs(a, b inventory.ID) int { return bytes.Compare(a[:], b[:]) }

// Of gives what was told of a finding, under its key. It must not be altered.
func (l *Ledger) Of(key compliance.Key) []Told {
	if l == nil {
		return nil
	}
	return l.of[key]
}

// With gives a ledger that has more reminders in it.
func (l *Ledger) With(reminders []Reminder) *Ledger {
	more := &Ledger{of: make(map[compliance.Key][]Told)}
	if l != nil {
		more.of = maps.Clone(l.of)
	}
	fresh := make(map[Reminder][]inventory.ID) // by all but the recipient
	for _, r := range reminders {
		line := r
		line.Recipient = inventory.ID{}
		fresh[line] = append(fresh[line], r.Recipient)
	}
	for line, to := range fresh {
		more.of[line.Key] = joined(more.of[line.Key], line, to)
	}
	return more
}

// joined gives lines in which one is told to more people; those given stay as
// they are.
func joined(lines []Told, line Reminder, to []inventory.ID) []Told {
	out := slices.Clone(lines)
	for i := range out {
		if t := &out[i]; t.line() == line {
			t.To = slices.Concat(t.To, to)
			slices.SortFunc(t.To, compareIDs)
			return out
		}
	}
	slices.SortFunc(to, compareIDs)
	return append(out, Told{line.Key, line.Do, line.Instance, line.Arm, line.Threshold, to})
}

// line is the reminder to nobody.
func (t *Told) line() Reminder {
	return Reminder{Key: t.Key, Do: t.Do, Instance: t.Instance, Arm: t.Arm, Threshold: t.Threshold}
}

// was says whether somebody was told.
func (t *Told) was(to inventory.ID) bool {
	_, found := slices.BinarySearchFunc(t.To, to, compareIDs)
	return found
}

// about is what was told of one finding.
type about struct {
	*compliance.Finding
	due  []int   // thresholds
	told []*Told // of each of these, in this arm of this step; nil: nobody
	news []*Told // that this episode opened or became worse
}

// about looks up what was told of a finding, once for all who may be told.
//
// Arms are named by days and an episode begins one, so that arms from its
// first day on are its own; the day before is allowed because a site's day is
// not that of UTC.
func (l *Ledger) about(f *compliance.Finding, due ...int) about {
	a := about{Finding: f, due: due, told: make([]*Told, len(due))}
	step, first := f.Verdict.Step, int(day.In(f.Opened, time.UTC))-1
	lines := l.Of(f.Key)
	for i := range lines {
		t := &lines[i]
		if t.Arm >= first && t.Threshold <= toldNews && t.Threshold != toldClosed {
			a.news = append(a.news, t)
		}
		if at := slices.Index(due, t.Threshold); at >= 0 && t.Arm == f.Arm && t.Do == step.Do && t.Instance == step.Instance {
			a.told[at] = t
		}
	}
	return a
}

// untold gives the due thresholds that the recipient has not been told of.
func (a *about) untold(to inventory.ID) (out []Reminder) {
	for i, t := range a.due {
		if a.told[i] == nil || !a.told[i].was(to) {
			out = append(out, Reminder{a.Key, a.Verdict.Step.Do, a.Verdict.Step.Instance, a.Arm, t, to})
		}
	}
	return out
}

// heard gives how often the finding had become worse when the recipient last
// heard of this episode; -1 where the recipient never did.
func (a *about) heard(to inventory.ID) int {
	worsened := -1
	for _, t := range a.news {
		if t.was(to) {
			worsened = max(worsened, toldNews-t.Threshold)
		}
	}
	return worsened
}

// mention says why the untold thresholds of a finding are told.
func (a *about) mention(to inventory.ID, untold []Reminder) Mention {
	isNews := slices.ContainsFunc(untold, func(r Reminder) bool { return r.Threshold <= toldNews })
	heard := a.heard(to)
	switch {
	case isNews && heard < 0:
		return New
	case isNews && heard < a.Worsened:
		return Worse
	case isNews:
		return NextStep
	case slices.ContainsFunc(untold, func(r Reminder) bool { return r.Threshold >= 0 }):
		return Nearer
	default:
		return NotDone
	}
}
