package web

import (
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/notify/words"
)

// healthy is a watch of which nothing has to be said.
func healthy() *Life {
	return &Life{Began: noon.AddDate(0, -3, 0), Read: noon.Add(-20 * time.Second), Swept: noon.Add(-6 * time.Hour), SweepDue: noon.Add(18 * time.Hour), SweepWithin: 25 * time.Hour,
		Proved: noon.AddDate(0, 0, -2), ProofWithin: 170 * time.Hour}
}

// TestProofOfLife: a watch that is well raises no alarm and marks nothing, and
// whatever is stale, held, silent or not known does both.
func TestProofOfLife(t *testing.T) {
	late := words.Capital(words.State(compliance.SweepLate))
	for _, c := range []struct {
		name   string
		change func(*Life, *answer.Check)
		alarm  string   // of the first; empty: none
		says   []string // of the signs
		marked string   // which of them are marked
	}{
		{"all is well", func(*Life, *answer.Check) {}, "",
			[]string{"ended today at 06:00, 6 hours ago", "tomorrow at 06:00, in 18 hours", "today at 12:00, just now", "nothing waits", "Mon 23 Nov 2026 at 12:00, 2 days ago, and it held"}, ""},
		{"the last sweep is too old", func(l *Life, _ *answer.Check) { l.Swept = noon.Add(-26 * time.Hour) }, late + ". The last sweep ended yesterday at 10:00, 26 hours ago; the schedule allows 25 hours.",
			[]string{"ended yesterday at 10:00, 26 hours ago"}, "Last sweep"},
		{"how old it may be is not known", func(l *Life, _ *answer.Check) { l.SweepWithin = 0 }, late, nil, "Last sweep"},
		{"never swept", func(l *Life, _ *answer.Check) { l.Swept = time.Time{} }, "The watch has never swept", []string{"never"}, "Last sweep"},
		{"swept tomorrow", func(l *Life, _ *answer.Check) { l.Swept = noon.Add(24 * time.Hour) }, "The last sweep ended tomorrow at 12:00, in 24 hours, which is still to come: a clock is wrong", nil, "Last sweep"},
		{"a sweep that failed", func(l *Life, _ *answer.Check) { l.SweepProblem = "disk full.\nstack" }, "The newest sweep did not end well, and is tried again: disk full.", nil, ""},
		{"a sweep that should be under way", func(l *Life, _ *answer.Check) { l.SweepDue = noon.Add(-time.Hour) }, "", []string{"was due today at 11:00, 1 hour ago"}, "Next sweep"},
		{"when the next is due is not known", func(l *Life, _ *answer.Check) { l.SweepDue = time.Time{} }, "", []string{"not known"}, "Next sweep"},
		{"nothing was read for long", func(l *Life, _ *answer.Check) { l.Read = noon.Add(-time.Hour) }, "The watch stands still: it last read its own state today at 11:00, 1 hour ago.",
			[]string{"not known"}, "Last sweep, Mail, Journal checked"},
		{"nothing was judged for long", func(_ *Life, c *answer.Check) { c.Now = noon.Add(-2 * time.Hour) }, "What is here was judged today at 10:00, 2 hours ago, and not again since", nil, "Judged"},
		{"no mail", func(l *Life, c *answer.Check) { l.NoMail, c.NobodyTold = true, true }, "This house sends no mail: nobody is being told", []string{"none is sent, and nobody is being told"}, "Mail"},
		{"no mail, by its records alone", func(_ *Life, c *answer.Check) { c.NobodyTold = true }, "This house sends no mail", nil, ""},
		{"mail is held", func(l *Life, _ *answer.Check) {
			l.Held, l.Waiting, l.Oldest = "restored from a backup", 3, noon.Add(-time.Minute)
		},
			"Mail is held, and nobody is being told: restored from a backup.", []string{"held; 3 mails wait, the oldest since today at 11:59"}, "Mail"},
		{"mail waits, as it does for moments", func(l *Life, _ *answer.Check) { l.Waiting, l.Oldest = 1, noon.Add(-time.Minute) }, "", []string{"1 mail waits since today at 11:59"}, ""},
		{"mail does not move", func(l *Life, _ *answer.Check) { l.Waiting, l.Oldest = 2, noon.Add(-3*time.Hour) }, "", []string{"3 hours ago"}, "Mail"},
		{"mails that never arrived", func(l *Life, _ *answer.Check) { l.GivenUp = 2 }, "", []string{"2 mails given up"}, "Mail"},
		{"the journal was never checked", func(l *Life, _ *answer.Check) { l.Proved = time.Time{} }, "", []string{"never"}, "Journal checked"},
		{"a young watch has not checked it yet", func(l *Life, _ *answer.Check) { l.Proved, l.Began = time.Time{}, noon.Add(-time.Hour) }, "", []string{"not yet, since the watch began today at 11:00"}, ""},
		{"the journal was checked too long ago", func(l *Life, _ *answer.Check) { l.Proved = noon.AddDate(0, 0, -9) }, "", []string{"9 days ago"}, "Journal checked"},
		{"the journal does not hold", func(l *Life, _ *answer.Check) { l.ProofProblem = "the journal does not hold: entry 7" }, "The newest check of the journal did not end well: the journal does not hold: entry 7.",
			[]string{"the newest check did not end well; before it: Mon 23 Nov"}, "Journal checked"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, page := healthy(), pageWith()
			c.change(l, page.Check)
			checkAlarm(t, l.alarms(page.Check, clock{noon, time.UTC}), c.alarm)
			var marked []string
			for _, s := range l.signs(page.Check, clock{noon, time.UTC}) {
				if s.Bad {
					marked = append(marked, s.What)
				}
			}
			if got := strings.Join(marked, ", "); got != c.marked {
				t.Errorf("marked are %q, want %q", got, c.marked)
			}
			checkSays(t, asked(fixed{page: page, life: l}, "GET", "/", "").Body.String(), append(c.says, c.alarm), nil)
		})
	}
}

func checkAlarm(t *testing.T, alarms []string, want string) {
	t.Helper()
	switch {
	case want == "" && len(alarms) > 0:
		t.Errorf("alarms %q, want none", alarms)
	case want != "" && (len(alarms) == 0 || !strings.HasPrefix(alarms[0], want)):
		t.Errorf("alarms %q, want first %q", alarms, want)
	}
}

// TestTimesAreTheHouses: told by the clock of the house, over a clock change.
func TestTimesAreTheHouses(t *testing.T) {
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	c := clock{time.Date(2026, 10, 25, 12, 0, 0, 0, time.UTC), zone} // clocks went back at 01:00 UTC
	for at, want := range map[time.Time]string{
		time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC):  "today at 01:30, 11 hours ago",
		time.Date(2026, 10, 24, 23, 30, 0, 0, time.UTC): "today at 00:30, 12 hours ago",
		time.Date(2026, 10, 24, 22, 30, 0, 0, time.UTC): "yesterday at 23:30, 13 hours ago",
		time.Date(2026, 10, 23, 12, 0, 0, 0, time.UTC):  "Fri 23 Oct 2026 at 13:00, 2 days ago",
		time.Date(2026, 10, 25, 12, 0, 30, 0, time.UTC): "today at 12:00, in less than a minute",
	} {
		if got := c.when(at); got != want {
			t.Errorf("%s: %q, want %q", at, got, want)
		}
	}
}
