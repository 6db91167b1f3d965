package ladder

import (
	"testing"

	"antidotary/inventory/day"
)

// TestCurrency: good for 30 days; after a lapse four clean repetitions under a
// mentor within 30 days. Common practice, no source: 30 to 90 days, three to
// five repetitions.
func TestCurrency(t *testing.T) {
	type work struct {
		on      string
		results string
		signed  int // days after; -1: nobody watched
	}
	for _, c := range []struct {
		what string
		work []work
		day  string
		want No
	}{
		{"nothing done, last good day", nil, "2026-01-31", MayOpen},
		{"nothing done", nil, "2026-02-01", StageLapsed},
		{"handled on the last good day", []work{{"2026-01-31", "p", 0}}, "2026-03-02", MayOpen},
		{"30 days after that", []work{{"2026-01-31", "p", 0}}, "2026-03-03", StageLapsed},
		{"alone", []work{{"2026-01-20", "c", -1}}, "2026-02-19", MayOpen},
		{"alone after the lapse", []work{{"2026-02-02", "ccccc", -1}}, "2026-02-03", StageLapsed},
		{"a refresher on one day", []work{{"2026-02-02", "cccc", 0}}, "2026-02-02", MayOpen},
		{"one short of it", []work{{"2026-02-02", "cccp", 0}}, "2026-02-03", StageLapsed},
		{"in two parts", []work{{"2026-02-02", "cc", 0}, {"2026-03-04", "cc", 0}}, "2026-03-04", MayOpen},
		{"parts too far apart", []work{{"2026-02-02", "cc", 0}, {"2026-03-05", "cc", 0}}, "2026-03-05", StageLapsed},
		{"not signed yet", []work{{"2026-01-31", "c", 5}}, "2026-02-04", StageLapsed},
		{"signed after the lapse, done before", []work{{"2026-01-31", "c", 5}}, "2026-02-05", MayOpen},
		// the session before its lapse shows that the next one was in time
		{"two that wait for a third", []work{{"2026-02-10", "c", 0}, {"2026-01-20", "c", 9}}, "2026-02-11", MayOpen},
	} {
		x := tell(t, plain)
		lead, ann := x.person("lead"), x.person("ann")
		slow := x.kind("slow", "Slowidae", 1)
		x.founded(ann, "2026-01-01", 1)
		for _, w := range c.work {
			var mentor *Person
			if w.signed >= 0 {
				mentor = lead
			}
			s := x.session(ann, mentor, slow, w.on, w.results)
			if w.signed >= 0 {
				s.Signed = s.Ended.AddDate(0, 0, w.signed)
			}
		}
		x.founded(lead, "2026-01-01", 2)
		x.teaching(lead, "2026-01-01", 2)
		// the mentor is kept current by work of his own
		for d := on("2026-01-15"); d < on("2026-03-15"); d += 10 {
			x.session(lead, nil, slow, d.String(), "c").Begun = instant(d, 5, 0)
			x.records.Sessions[len(x.records.Sessions)-1].Ended = instant(d, 6, 0)
		}
		if got := x.judge().May(ann.ID, slow.ID, Hook, on(c.day), 0); got.Worst != c.want || got.Best != c.want {
			t.Errorf("%s, on %s: %d and %d, not %d", c.what, c.day, got.Worst, got.Best, c.want)
		}
	}
}

// TestMoreWorkNeverLapsesEarlier: with a session more, a clock never runs out
// earlier, in whatever order the sessions are signed.
func TestMoreWorkNeverLapsesEarlier(t *testing.T) {
	terms := terms{window: day.MustParseSpan("10 days"), refresher: 2}
	type session struct {
		on    day.Day
		clean int
	}
	run := func(work []session) day.Day {
		c := clock{last: 1000}
		for _, s := range work {
			c.feed(s.on, s.clean, terms)
		}
		return c.last
	}
	for n := range 6 * 6 * 6 * 6 {
		a, b, c, more := day.Day(n%6), day.Day(n/6%6), day.Day(n/36%6), day.Day(n/216)
		work := []session{{1005 + 4*a, 1}, {1008 + 3*b, 1}, {1020 + 4*c, 1}}
		without := run(work)
		for clean := range 2 {
			extra := session{1002 + 5*more, clean}
			for i := range 4 {
				with := append(append(append([]session{}, work[:i]...), extra), work[i:]...)
				if got := run(with); got < without {
					t.Fatalf("%v: last on %d; with %v it was last on %d", work, without, extra, got)
				}
			}
		}
	}
}
