package ladder

import (
	"testing"
	"time"

	"antidotary/inventory"
)

// plain is a ladder of two stages above none with few conditions.
const plain = `
ladder:
  name: plain
  title: A plain ladder
  sign_within_days: 10
  hours_per_day: 10
  handling_from: hook
  harmless_at_once: 2
  review: 1 year
  holding: [lead-keeper]
  clear: [head]
  credit: {percent: 50, probation: 4}
  opening: {back_up: 1}
  placing:
    harmless: 1
    by_score: {lowest: 1, low: 1, middle: 2, high: 2, highest: 2}
  stages:
    - {stage: 0, name: None}
    - stage: 1
      name: Slow
      signs: [lead-keeper]
      currency: {handled: 30 days, refresher: 4, set_back_after: 60 days}
    - stage: 2
      name: Fast
      signs: [mentor, lead-keeper]
      sign_off: {task: tube, signs: [lead-keeper]}
      currency: {handled: 30 days, refresher: 4, set_back_after: 60 days}
`

// TestWhatCameFirstOnADay: a suspension bars a grant of its day unless the
// grant is known to have come before it, and a clearance of its day ends it
// only if it is known to have come after.
func TestWhatCameFirstOnADay(t *testing.T) {
	const d = "2026-05-04"
	at := func(hour int) time.Time {
		if hour == 0 {
			return time.Time{}
		}
		return instant(on(d), hour, 0)
	}
	for _, c := range []struct {
		what                       string
		suspended, granted, clears int // hours of the day; 0: not known; clears -1: nobody is
		worst, best                Grant
		nextDay                    inventory.Tri // may open
	}{
		{"granted before", 14, 9, -1, Holds, Holds, inventory.No},
		{"granted after", 9, 14, -1, PersonSuspended, PersonSuspended, inventory.No},
		{"granted nobody knows when", 9, 0, -1, PersonSuspended, Holds, inventory.No},
		{"granted before, cleared after", 10, 9, 15, Holds, Holds, inventory.Yes},
		{"cleared before", 10, 9, 8, Holds, Holds, inventory.No},
		{"cleared nobody knows when", 10, 9, 0, Holds, Holds, inventory.Unknown},
	} {
		x := tell(t, plain)
		lead, head, ann := x.person("lead", "lead-keeper"), x.person("head", "head"), x.person("ann")
		slow := x.kind("slow", "Slowidae", 1)
		x.founded(lead, "2026-01-01", 2)
		x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: 1, On: on(d), At: at(c.granted), Signers: []inventory.ID{lead.ID}})
		x.act(Authorisation{Person: ann.ID, What: Suspension, On: on(d), At: at(c.suspended), Reason: "bitten"})
		if c.clears >= 0 {
			x.act(Authorisation{Person: ann.ID, What: Clearance, On: on(d), At: at(c.clears), Signers: []inventory.ID{head.ID}})
		}
		s := x.judge()
		for _, a := range s.Acts(ann.ID) {
			if a.What == StageGrant && (a.Worst != c.worst || a.Best != c.best) {
				t.Errorf("%s: the grant is %d at worst and %d at best, not %d and %d", c.what, a.Worst, a.Best, c.worst, c.best)
			}
		}
		if may := s.May(ann.ID, slow.ID, Hook, on(d)+1, 0).May; may != c.nextDay {
			t.Errorf("%s: may open on the day after: %v, not %v", c.what, may, c.nextDay)
		}
		if may := s.May(ann.ID, slow.ID, Hook, on(d), 0).May; may != inventory.No {
			t.Errorf("%s: may open on the day of the suspension: %v", c.what, may)
		}
	}
}

// TestASetBackBitesWithinItsDay: what a mentor lost in the morning he has not
// in the afternoon, and what it left him he has.
func TestASetBackBitesWithinItsDay(t *testing.T) {
	for _, c := range []struct {
		hour, to    int
		worst, best Status
	}{
		{9, 0, MentorBarred, MentorBarred},
		{15, 0, Counts, Counts},
		{0, 0, MentorBarred, Counts},
		{9, 1, Counts, Counts},
	} {
		x := tell(t, plain)
		lead, ann := x.person("lead", "lead-keeper"), x.person("ann")
		slow := x.kind("slow", "Slowidae", 1)
		x.founded(lead, "2026-05-01", 2)
		x.teaching(lead, "2026-05-01", 2)
		x.founded(ann, "2026-05-01", 1)
		a := Authorisation{Person: lead.ID, What: SetBack, Stage: c.to, On: on("2026-05-04"), Reason: "a door left open"}
		if c.hour > 0 {
			a.At = instant(a.On, c.hour, 0)
		}
		x.act(a)
		x.session(ann, lead, slow, "2026-05-04", "ccc")
		if got := x.judge().Sessions(ann.ID)[0]; got.Worst != c.worst || got.Best != c.best {
			t.Errorf("set back to %d at %d h: %d and %d, not %d and %d", c.to, c.hour, got.Worst, got.Best, c.worst, c.best)
		}
	}
}

// TestTheLowestOfTwoSetBacks of one day counts within it.
func TestTheLowestOfTwoSetBacks(t *testing.T) {
	x := tell(t, plain)
	lead, ann := x.person("lead", "lead-keeper"), x.person("ann")
	slow := x.kind("slow", "Slowidae", 1)
	x.founded(lead, "2026-05-01", 2)
	x.teaching(lead, "2026-05-01", 2)
	x.founded(ann, "2026-05-01", 1)
	for _, to := range []int{0, 1} {
		x.act(Authorisation{Person: lead.ID, What: SetBack, Stage: to, On: on("2026-05-04"), At: instant(on("2026-05-04"), 9, to), Reason: "decided"})
	}
	x.session(ann, lead, slow, "2026-05-04", "ccc")
	if got := x.judge().Sessions(ann.ID)[0]; got.Best != MentorBarred {
		t.Errorf("the session is %d", got.Best)
	}
}
