package notify

import (
	"cmp"
	"slices"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Reminder is one line of the ledger: somebody was told of one threshold of
// one step. No line is ever written twice.
type Reminder struct {
	Key       compliance.Key
	Do        compliance.Code
	Instance  inventory.Ref
	Arm       int
	Threshold int
	Recipient inventory.ID
}

// Compare orders reminders by key, step, arm, threshold, the earliest first,
// and recipient.
func (r Reminder) Compare(o Reminder) int {
	return cmp.Or(r.Key.Compare(o.Key), cmp.Compare(r.Do, o.Do), r.Instance.Compare(o.Instance), cmp.Compare(r.Arm, o.Arm),
		cmp.Compare(o.Threshold, r.Threshold), compareIDs(r.Recipient, o.Recipient))
}

// Thresholds that are no number of days before an act-by day. They are apart
// from all such numbers and from each other: for weeks to run into news a
// finding would have to stand for 19 years.
const (
	toldClosed = -1 << 20 // the episode has ended
	toldNews   = -1 << 10 // less the number of worsenings: it opened, or became worse
	toldOver   = -1       // less the weeks since the act-by day, or since it opened
)

// Thresholds gives the days before the act-by day on which the owner is told,
// in descending order: the whole window, 30 % of it, 7 days, and the day
// itself. (Design of this project, no source.)
func Thresholds(window int) []int {
	out := []int{window, window * 30 / 100, 7, 0}
	out = slices.DeleteFunc(out, func(t int) bool { return t > window })
	slices.SortFunc(out, func(a, b int) int { return b - a })
	return slices.Compact(out)
}

// Due gives every threshold of an open finding that has come by today, the
// most urgent last. opened is the day on which it opened.
func Due(f *compliance.Finding, opened, today day.Day) []int {
	due := []int{toldNews - f.Worsened}
	since := f.Verdict.Step.By
	switch {
	case f.Verdict.Step.IsZero() || since.IsZero():
		since = opened
	default:
		for _, t := range Thresholds(f.Verdict.Step.Window) {
			if today >= since.Add(-t) {
				due = append(due, t)
			}
		}
	}
	if weeks := today.Sub(since) / 7; weeks > 0 && (f.Missed || f.Verdict.Standing.Bad()) {
		due = append(due, toldOver-weeks)
	}
	return due
}
