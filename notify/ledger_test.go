package notify

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Few values for each part of a line, so that lines meet.
var (
	someKey = rapid.Map(rapid.IntRange(0, 2), func(n int) compliance.Key {
		return compliance.Key{Requirement: fmt.Sprint("r", n), Subject: wren.Ref()}
	})
	someLine = rapid.Custom(func(t *rapid.T) Reminder {
		r := Reminder{Key: someKey.Draw(t, "key"), Do: rapid.SampledFrom([]compliance.Code{"", compliance.HoldActivity}).Draw(t, "do"),
			Arm:       int(day.In(start, time.UTC)) + rapid.IntRange(-2, 1).Draw(t, "arm"),
			Threshold: rapid.SampledFrom([]int{toldClosed, toldNews - 1, toldNews, toldOver - 1, 0, 7}).Draw(t, "threshold"),
			Recipient: id(fmt.Sprint("person ", rapid.IntRange(0, 4).Draw(t, "who")))}
		if rapid.Bool().Draw(t, "instance") {
			r.Instance = tern.Ref()
		}
		return r
	})
)

// TestLedgerAnswersAsItsLinesDo: whatever was told, in whatever portions it was
// added, a ledger says of a finding what a look through all lines says; and
// the ledgers before it are as they were.
func TestLedgerAnswersAsItsLinesDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var ledgers []*Ledger
		var held [][]Reminder
		l, all := (*Ledger)(nil), []Reminder(nil)
		for range rapid.IntRange(0, 4).Draw(t, "portions") {
			ledgers, held = append(ledgers, l), append(held, slices.Clone(all))
			for _, r := range rapid.SliceOfDistinct(someLine, func(r Reminder) Reminder { return r }).Draw(t, "lines") {
				if !slices.Contains(all, r) {
					all = append(all, r)
				}
			}
			l = l.With(all[len(held[len(held)-1]):])
		}
		ledgers, held = append(ledgers, l), append(held, all)
		like := someLine.Draw(t, "finding")
		f := &compliance.Finding{Key: like.Key, Arm: like.Arm, Opened: start, Verdict: compliance.Verdict{Step: compliance.Step{Do: like.Do, Instance: like.Instance}}}
		for i := range ledgers {
			answersLike(t, ledgers[i], held[i], f, like.Recipient)
		}
	})
}

func answersLike(t *rapid.T, l *Ledger, lines []Reminder, f *compliance.Finding, who inventory.ID) {
	due := []int{toldClosed, toldNews - 1, toldNews, 0, 7}
	known := l.about(f, due...)
	var untold []Reminder
	for _, threshold := range due {
		r := Reminder{f.Key, f.Verdict.Step.Do, f.Verdict.Step.Instance, f.Arm, threshold, who}
		if !slices.Contains(lines, r) {
			untold = append(untold, r)
		}
	}
	if diff := cmp.Diff(untold, known.untold(who)); diff != "" {
		t.Fatalf("untold of %d lines (-lines +ledger):\n%s", len(lines), diff)
	}
	heard := -1
	for _, r := range lines {
		news := r.Threshold == toldNews || r.Threshold == toldNews-1
		if r.Key == f.Key && r.Recipient == who && news && r.Arm >= int(day.In(f.Opened, time.UTC))-1 {
			heard = max(heard, toldNews-r.Threshold)
		}
	}
	if got := known.heard(who); got != heard {
		t.Fatalf("heard %d times of %d lines, want %d", got, len(lines), heard)
	}
}
