package ladder

import (
	"testing"
	"time"

	"antidotary/inventory"
)

// TestTwoPlacesAtOnce: overlaps are all counted out; with harmless animals a
// mentor watches at most two trainees at one moment.
func TestTwoPlacesAtOnce(t *testing.T) {
	type slot struct {
		who      int // trainee
		from, to int // hours; 0: not known
		harmless bool
	}
	const no, maybe, yes = inventory.No, inventory.Unknown, inventory.Yes
	for _, c := range []struct {
		what    string
		slots   []slot
		trusted bool
		mentor  []inventory.Tri // was busy in each
	}{
		{"one after another", []slot{{0, 9, 10, false}, {1, 10, 11, false}}, false, []inventory.Tri{no, no}},
		{"over each other", []slot{{0, 9, 11, false}, {1, 10, 12, false}}, false, []inventory.Tri{yes, yes}},
		{"harmless", []slot{{0, 9, 11, true}, {1, 10, 12, true}}, false, []inventory.Tri{no, no}},
		{"one is not harmless", []slot{{0, 9, 11, true}, {1, 10, 12, false}}, false, []inventory.Tri{yes, yes}},
		{"three harmless at once", []slot{{0, 9, 12, true}, {1, 10, 12, true}, {2, 11, 13, true}}, false, []inventory.Tri{yes, yes, yes}},
		{"a long one beside two short ones", []slot{{0, 9, 12, true}, {1, 9, 10, true}, {2, 10, 12, true}}, false, []inventory.Tri{no, no, no}},
		{"one trainee twice", []slot{{0, 9, 12, true}, {1, 9, 11, true}, {1, 10, 12, true}}, false, []inventory.Tri{no, yes, yes}},
		{"nobody knows when", []slot{{0, 0, 0, false}, {1, 9, 10, false}}, false, []inventory.Tri{maybe, maybe}},
		{"nobody knows when, but it is trusted", []slot{{0, 0, 0, false}, {1, 9, 10, false}}, true, []inventory.Tri{no, no}},
		{"two harmless, nobody knows when", []slot{{0, 0, 0, true}, {1, 9, 10, true}}, false, []inventory.Tri{no, no}},
		{"three harmless, nobody knows when of one", []slot{{0, 0, 0, true}, {1, 9, 11, true}, {2, 10, 12, true}}, false, []inventory.Tri{maybe, maybe, maybe}},
	} {
		x := tell(t, plain)
		x.ladder.Untimed = c.trusted
		mentor := x.person("mentor")
		trainees := []*Person{x.person("ann"), x.person("bob"), x.person("cor")}
		tame, fast := x.kind("tame", "Tameidae", 1), x.kind("fast", "Fastidae", 2)
		tame.Harmless = inventory.Yes
		for _, s := range c.slots {
			kind := fast
			if s.harmless {
				kind = tame
			}
			one := x.session(trainees[s.who], mentor, kind, "2026-05-04", "c")
			if one.Begun, one.Ended = instant(one.On, s.from, 0), instant(one.On, s.to, 0); s.from == 0 {
				one.Begun, one.Ended = time.Time{}, time.Time{}
			}
		}
		h := NewHistory(x.all())
		for _, s := range h.held {
			for i, one := range x.records.Sessions {
				if s.Session == one && s.busyMentor != c.mentor[i] {
					t.Errorf("%s: the mentor was busy in session %d: %v, not %v", c.what, i, s.busyMentor, c.mentor[i])
				}
			}
		}
	}
}

// TestOverMidnight: a session that goes on into the next day overlaps one
// there.
func TestOverMidnight(t *testing.T) {
	x := tell(t, plain)
	ann := x.person("ann")
	fast := x.kind("fast", "Fastidae", 2)
	late, early := x.session(ann, nil, fast, "2026-05-04", "c"), x.session(ann, nil, fast, "2026-05-05", "c")
	late.Begun, late.Ended = instant(late.On, 23, 0), instant(late.On, 25, 0)
	early.Begun, early.Ended = instant(early.On, 0, 30), instant(early.On, 2, 0)
	for _, s := range NewHistory(x.all()).held {
		if s.busyTrainee != inventory.Yes {
			t.Errorf("the trainee was busy on %s: %v", s.On, s.busyTrainee)
		}
	}
}
