package ladder

import (
	"slices"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestHoursAndAYear: a thousand hours over at least one year is both a sum and
// a span: 1,040 hours in ten months are not enough before the anniversary, and
// 30 hours in another family do not count (the rule's own arithmetic; 68A-6.017
// F.A.C. for the two figures).
func TestHoursAndAYear(t *testing.T) {
	rule := conditions(t, "  - hours: {at_least: 1000, same: family}\n  - span: {at_least: 1 year, same: family}\n")
	for _, c := range []struct {
		what     string
		sessions int // of 5 hours, in the family
		other    int // of 5 hours, in another
		on       string
		want     bool
	}{
		{"1,040 h, ten months", 208, 0, "2025-12-01", false},
		{"1,040 h, the eve", 208, 0, "2026-01-09", false},
		{"1,040 h, the anniversary", 208, 0, "2026-01-10", true},
		{"970 h and 30 h in another family", 194, 6, "2026-01-10", false},
		{"1,000 h and 30 h in another family", 200, 6, "2026-01-10", true},
	} {
		x, ann, mentor, kind := worked(t)
		for _, a := range x.records.Authorisations {
			a.On, a.Until = on("2025-01-01"), day.Until(on("2030-12-31"))
		}
		other := x.kind("other", "Otheridae", 1)
		x.hours(ann, mentor, kind, "2025-01-10", "2025-11-30", c.sessions, 5)
		for i := range c.other {
			s := x.session(ann, mentor, other, on("2025-03-01").Add(i).String(), "c")
			s.Begun, s.Ended = instant(s.On, 0, 0), instant(s.On, 5, 0)
		}
		if got := x.met(rule, ann, kind, c.on, Worst); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// TestWhatOfASessionCounts: the mentor was authorised and current for that
// species on that day, in no other session, and signed within the days for it.
// Common practice, no source.
func TestWhatOfASessionCounts(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(x *tale, s *Session, ann, mentor *Person)
		want   Status
	}{
		{"as it should be", func(*tale, *Session, *Person, *Person) {}, Counts},
		{"signed on the last day", func(_ *tale, s *Session, _, _ *Person) { s.Signed = s.Signed.AddDate(0, 0, 10) }, Counts},
		{"signed a day later", func(_ *tale, s *Session, _, _ *Person) { s.Signed = s.Signed.AddDate(0, 0, 11) }, SignedLate},
		{"not signed", func(_ *tale, s *Session, _, _ *Person) { s.Signed = time.Time{} }, Unsigned},
		{"mentor not signed off for the species", func(x *tale, _ *Session, _, m *Person) {
			x.records.Authorisations = slices.DeleteFunc(x.records.Authorisations, func(a *Authorisation) bool { return a.Person == m.ID && a.What == SpeciesGrant })
		}, MentorBarred},
		{"mentor not current", func(x *tale, s *Session, _, m *Person) {
			for _, a := range x.records.Authorisations {
				if a.Person == m.ID {
					a.On = s.On.Add(-31)
				}
			}
		}, MentorBarred},
		{"mentor suspended", func(x *tale, s *Session, _, m *Person) {
			x.act(Authorisation{Person: m.ID, What: Suspension, On: s.On - 1, Reason: "bitten"})
		}, MentorBarred},
		{"mentor no mentor", func(x *tale, _ *Session, _, m *Person) {
			x.records.Authorisations = slices.DeleteFunc(x.records.Authorisations, func(a *Authorisation) bool { return a.What == MentorGrant })
		}, MentorNotOne},
		{"mentor away", func(_ *tale, s *Session, _, m *Person) {
			m.Here = day.Steps(true, day.Change[bool]{On: s.On, To: false})
		}, MentorAway},
		{"mentor in another session", func(x *tale, s *Session, _, m *Person) {
			other := x.session(x.person("bob"), m, x.kinds[0], s.On.String(), "c")
			other.Begun, other.Ended = s.Begun.Add(59*time.Minute), s.Ended.Add(time.Hour)
		}, MentorBusy},
		{"trainee below the stage", func(x *tale, s *Session, ann, _ *Person) {
			x.act(Authorisation{Person: ann.ID, What: SetBack, Stage: 1, On: s.On - 1, Reason: "at fault"})
		}, TraineeBelow},
		{"nobody watched, and not signed off", func(_ *tale, s *Session, _, _ *Person) {
			s.Mentor, s.Watched, s.Signed = inventory.ID{}, inventory.No, time.Time{}
		}, AloneNotOpen},
	} {
		x := tell(t, plain)
		ann, mentor := x.person("ann"), x.person("mentor", "lead-keeper")
		fast := x.kind("fast", "Fastidae", 2)
		x.founded(ann, "2026-04-20", 2)
		x.founded(mentor, "2026-04-20", 2, fast)
		x.teaching(mentor, "2026-04-20", 2)
		s := x.session(ann, mentor, fast, "2026-05-04", "cc")
		c.change(x, s, ann, mentor)
		if got := x.judge().Sessions(ann.ID)[0]; got.Worst != c.want || got.Best != c.want {
			t.Errorf("%s: %d and %d, not %d", c.what, got.Worst, got.Best, c.want)
		}
	}
}

// TestWhoSigns: nobody signs for himself, whoever taught is none of the final
// signers, and a signer holds the stage himself. Common practice, no source.
func TestWhoSigns(t *testing.T) {
	for _, a := range []Authorisation{
		{Mentor: called("ann")}, {Signers: []inventory.ID{called("ann")}}, {Mentor: called("lead"), Signers: []inventory.ID{called("lead")}},
	} {
		a.Person, a.What, a.Stage, a.On = called("ann"), StageGrant, 2, on("2026-05-04")
		if a.Check() == nil {
			t.Errorf("%+v is taken", a)
		}
	}
	for stage, want := range map[int]Grant{2: Holds, 1: SignerMissing} {
		x := tell(t, plain)
		lead, mentor, ann := x.person("lead", "lead-keeper"), x.person("mentor"), x.person("ann")
		x.founded(ann, "2026-05-01", 1)
		x.founded(mentor, "2026-05-01", 2)
		x.teaching(mentor, "2026-05-01", 2)
		x.founded(lead, "2026-05-01", stage)
		x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: 2, On: on("2026-05-04"), Mentor: mentor.ID, Signers: []inventory.ID{lead.ID}})
		if worst, _ := x.grants(ann); worst[1] != want {
			t.Errorf("signed by a lead keeper of stage %d: %d, not %d", stage, worst[1], want)
		}
	}
}

// TestEachRoleByAnother: one person signs for one role only, whichever he has.
func TestEachRoleByAnother(t *testing.T) {
	for _, c := range []struct {
		signers []string
		want    Grant
	}{
		{[]string{"both"}, SignerMissing}, {[]string{"both", "lead"}, Holds}, {[]string{"lead", "both"}, Holds},
		{[]string{"lead", "other lead"}, SignerMissing}, {nil, SignerMissing},
	} {
		x := tell(t, plain)
		x.ladder.Stages[1].Signs = []string{"lead-keeper", "head"}
		for name, has := range map[string][]string{"both": {"head", "lead-keeper"}, "lead": {"lead-keeper"}, "other lead": {"lead-keeper"}} {
			x.founded(x.person(name, has...), "2026-05-01", 2)
		}
		ann := x.person("ann")
		var signers []inventory.ID
		for _, name := range c.signers {
			signers = append(signers, called(name))
		}
		x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: 1, On: on("2026-05-04"), Signers: signers})
		if worst, _ := x.grants(ann); worst[0] != c.want {
			t.Errorf("signed by %v: %d, not %d", c.signers, worst[0], c.want)
		}
	}
}

// TestHigherWorkRefreshesLower, where the ladder says so, and never the
// reverse. Common practice, no source.
func TestHigherWorkRefreshesLower(t *testing.T) {
	for _, c := range []struct {
		counts, worked, asked int
		want                  No
	}{{1, 2, 1, MayOpen}, {0, 2, 1, StageLapsed}, {1, 1, 2, StageLapsed}, {0, 1, 2, StageLapsed}, {0, 1, 1, MayOpen}} {
		x := tell(t, plain)
		for i := range x.ladder.Stages {
			x.ladder.Stages[i].HigherCounts = c.counts == 1
		}
		ann := x.person("ann")
		kinds := []*Species{1: x.kind("slow", "Slowidae", 1), 2: x.kind("fast", "Fastidae", 2)}
		x.founded(ann, "2026-04-01", 2, kinds[2])
		x.session(ann, nil, kinds[c.worked], "2026-04-25", "c")
		if got := x.judge().May(ann.ID, kinds[c.asked].ID, Hook, on("2026-05-10"), 0); got.Worst != c.want {
			t.Errorf("worked on %d, asked for %d, higher counts %d: %d, not %d", c.worked, c.asked, c.counts, got.Worst, c.want)
		}
	}
}

// TestDemotion: a bite suspends at once and until a clearance; at fault is one
// stage down; a suspension of some weeks ends by itself; upgrades count at
// their signature only. Common practice, no source.
func TestDemotion(t *testing.T) {
	x := tell(t, plain)
	head, lead, ann, bob := x.person("head", "head"), x.person("lead", "lead-keeper"), x.person("ann"), x.person("bob")
	slow := x.kind("slow", "Slowidae", 1)
	x.founded(lead, "2026-04-25", 2)
	x.teaching(lead, "2026-04-25", 2)
	for _, p := range []*Person{ann, bob} {
		x.founded(p, "2026-04-25", 2)
	}
	x.act(Authorisation{Person: ann.ID, What: Suspension, On: on("2026-05-01"), Until: day.Forever(), Reason: "bitten"})
	x.act(Authorisation{Person: ann.ID, What: SetBack, Stage: 1, On: on("2026-05-04"), Reason: "at fault"})
	x.act(Authorisation{Person: ann.ID, What: Clearance, On: on("2026-05-08"), Signers: []inventory.ID{head.ID}})
	x.act(Authorisation{Person: bob.ID, What: Suspension, On: on("2026-05-01"), Until: day.Until(on("2026-05-14")), Reason: "a lock left open"})
	s := x.judge()
	for _, c := range []struct {
		who  *Person
		on   string
		want inventory.Tri
	}{
		{ann, "2026-04-30", inventory.Yes}, {ann, "2026-05-01", inventory.No}, {ann, "2026-05-07", inventory.No}, {ann, "2026-05-08", inventory.Yes},
		{bob, "2026-04-30", inventory.Yes}, {bob, "2026-05-01", inventory.No}, {bob, "2026-05-14", inventory.No}, {bob, "2026-05-15", inventory.Yes},
	} {
		if got := s.May(c.who.ID, slow.ID, Hook, on(c.on), 0).May; got != c.want {
			t.Errorf("%v on %s: %v, not %v", c.who.ID, c.on, got, c.want)
		}
	}
	for d, want := range map[string]int{"2026-05-03": 2, "2026-05-04": 1, "2026-05-08": 1} {
		if got := s.Stages(ann.ID, on(d)); got != (Place{want, want}) {
			t.Errorf("stage %v on %s, not %d", got, d, want)
		}
	}
}

// TestHandsOffWithoutAPair: three may open a species; one leaves on 1 May, and
// the currency of another ends with 20 May: from the 21st there are no two.
func TestHandsOffWithoutAPair(t *testing.T) {
	x := tell(t, plain)
	a, b, c := x.person("a"), x.person("b"), x.person("c")
	fast := x.kind("fast", "Fastidae", 2)
	for _, p := range x.people {
		x.founded(p, "2026-04-10", 2, fast)
	}
	c.Here = day.Steps(true, day.Change[bool]{On: on("2026-05-01"), To: false})
	x.session(b, nil, fast, "2026-04-20", "c") // 30 days: up to 20 May
	for d := on("2026-04-20"); d < on("2026-06-01"); d += 10 {
		x.session(a, nil, fast, d.String(), "c")
	}
	s := x.judge()
	for d, want := range map[string]int{"2026-04-30": 3, "2026-05-01": 2, "2026-05-20": 2, "2026-05-21": 1} {
		may := 0
		for _, p := range x.people {
			if s.May(p.ID, fast.ID, Hook, on(d), 0).May == inventory.Yes {
				may++
			}
		}
		if may != want {
			t.Errorf("%d may open on %s, not %d", may, d, want)
		}
	}
}
