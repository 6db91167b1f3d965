package words

import (
	"testing"

	"antidotary/inventory/day"
)

// TestPostOrHandIn: worked example E1 of this project's job description
// (common practice, no source), and what is left of it on later days.
func TestPostOrHandIn(t *testing.T) {
	for _, c := range []struct{ name, by, post, handIn, today, want string }{
		{"E1", "2026-05-21", "2026-05-21", "2026-05-29", "2026-04-01", "; post by Thu 21 May 2026, or hand in by Fri 29 May 2026"},
		{"E1 on the last day to post", "2026-05-21", "2026-05-21", "2026-05-29", "2026-05-21", "; post by Thu 21 May 2026, or hand in by Fri 29 May 2026"},
		{"E1 a day later", "2026-05-21", "2026-05-21", "2026-05-29", "2026-05-22", "; too late to post it, hand in by Fri 29 May 2026"},
		{"E1 on the last day to hand in", "2026-05-21", "2026-05-21", "2026-05-29", "2026-05-29", "; too late to post it, hand in by Fri 29 May 2026"},
		{"E1 when both are over", "2026-05-21", "2026-05-21", "2026-05-29", "2026-05-30", "; the last day to hand it in was Fri 29 May 2026"},
		{"the house acts a week before it", "2026-05-14", "2026-05-21", "2026-05-29", "2026-04-01", "; post by Thu 21 May 2026, or hand in by Fri 29 May 2026"},
		{"posting counts, and the house acts before", "2026-05-22", "2026-05-29", "2026-05-29", "2026-04-01", "; post or hand in by Fri 29 May 2026"},
		{"both are the day to act by", "2026-05-29", "2026-05-29", "2026-05-29", "2026-04-01", ""},
		{"nothing is to be filed", "2026-05-29", "", "", "2026-04-01", ""},
	} {
		on := func(s string) day.Day {
			if s == "" {
				return 0
			}
			return day.MustParse(s)
		}
		if got := Filing(on(c.by), on(c.post), on(c.handIn), on(c.today)); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
