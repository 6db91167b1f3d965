package deed_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// stepping is one deed, and what it is refused with; empty: it is made.
type stepping struct {
	name string
	does deed.Deed
	want string
}

func stepped(t *testing.T, s *compliance.Snapshot, steps []stepping) *compliance.Snapshot {
	t.Helper()
	for _, step := range steps {
		after, err := step.does.Apply(s)
		switch {
		case step.want == "" && err != nil:
			t.Fatalf("%s: %v", step.name, err)
		case step.want == "":
			s = after
		case err == nil || !strings.Contains(err.Error(), step.want):
			t.Errorf("%s: %v, want %q", step.name, err, step.want)
		}
	}
	return s
}

// learners gives the house with a trainee beside its keeper, and a python.
func learners(t *testing.T) (h *house, s *compliance.Snapshot, trainee compliance.Person, python inventory.Species) {
	h = newHouse(t)
	trainee = compliance.Person{ID: inventory.NewID(), Called: "Ivo Marsh", Joined: d("2026-03-01"), Leaves: d("2027-01-01")}
	python = inventory.Species{ID: inventory.NewID(), Accepted: "Python regius"}
	s, err := compliance.Batch{compliance.Record(trainee), compliance.Record(python)}.Apply(h.snapshot)
	if err != nil {
		t.Fatal(err)
	}
	return h, s, trainee, python
}

// TestSessions: of people who were there, with animals that were, signed once,
// by the mentor, when they were over.
func TestSessions(t *testing.T) {
	h, s, trainee, python := learners(t)
	begun := time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC)
	session := func(change func(*ladder.Session)) deed.Deed {
		x := ladder.Session{ID: inventory.NewID(), Trainee: trainee.ID, Mentor: h.keeper.ID, Watched: inventory.Yes, Site: h.site.ID, Species: h.cobra.ID,
			Animals: []inventory.ID{h.animal.ID}, Level: ladder.Hook, Results: "ccp", On: d("2026-05-01"), Begun: begun, Ended: begun.Add(time.Hour)}
		change(&x)
		return deed.SessionHeld(x)
	}
	first, alone, unknown := inventory.NewID(), inventory.NewID(), inventory.NewID()
	signed := func(id, by inventory.ID, at time.Time) deed.Deed {
		return deed.SessionSigned([]inventory.ID{id}, by, at)
	}
	s = stepped(t, s, []stepping{
		{"before the trainee joined", session(func(x *ladder.Session) { x.On, x.Begun, x.Ended = d("2026-02-28"), time.Time{}, time.Time{} }), "Ivo Marsh joined on 2026-03-01"},
		{"after the trainee left", session(func(x *ladder.Session) { x.On, x.Begun, x.Ended = d("2027-01-01"), time.Time{}, time.Time{} }), "no longer here since 2027-01-01"},
		{"with an animal of another species", session(func(x *ladder.Session) { x.Species = python.ID }), "animal A1 is Naja kaouthia"},
		{"held", session(func(x *ladder.Session) { x.ID = first }), ""},
		{"the same again", session(func(*ladder.Session) {}), "is recorded already"},
		{"another at no known time", session(func(x *ladder.Session) { x.Begun, x.Ended = time.Time{}, time.Time{} }), ""},
		{"alone", session(func(x *ladder.Session) {
			x.ID, x.Mentor, x.Watched, x.Begun = alone, inventory.ID{}, inventory.No, time.Time{}
		}), ""},
		{"by nobody knows whom", session(func(x *ladder.Session) {
			x.ID, x.Mentor, x.Watched, x.Begun = unknown, inventory.ID{}, inventory.Unknown, time.Time{}
		}), ""},
		{"the mentor is away", deed.PersonAway(h.keeper.ID, compliance.Absence{From: d("2026-06-01")}), ""},
		{"with a mentor who is away", session(func(x *ladder.Session) { x.On, x.Begun, x.Ended = d("2026-06-05"), time.Time{}, time.Time{} }), "Odo Fern is recorded as away on 2026-06-05"},
		{"signed by the trainee", signed(first, trainee.ID, begun.Add(2*time.Hour)), "its mentor is Odo Fern"},
		{"signed before it was over", signed(first, h.keeper.ID, begun.Add(30*time.Minute)), "before it is over"},
		{"signed", signed(first, h.keeper.ID, begun.Add(2*time.Hour)), ""},
		{"signed twice", signed(first, h.keeper.ID, begun.Add(3*time.Hour)), "it was signed at 2026-05-01T11:00:00Z"},
		{"signed where nobody watched", signed(alone, h.keeper.ID, begun.Add(2*time.Hour)), "nobody watched it"},
		{"signed where the mentor is not known", signed(unknown, h.keeper.ID, begun.Add(2*time.Hour)), "its mentor is not recorded"},
	})
	if x, _ := s.Sessions.Get(first); x.Signed != begun.Add(2*time.Hour) {
		t.Errorf("signed at %s", x.Signed)
	}
}

// TestAuthorisations: what is granted is signed by somebody else, what is
// taken away was there, and of one day it is said once.
func TestAuthorisations(t *testing.T) {
	h, s, trainee, python := learners(t)
	of := func(what ladder.What, change func(*ladder.Authorisation)) deed.Deed {
		a := ladder.Authorisation{ID: inventory.NewID(), Person: trainee.ID, What: what, On: d("2026-05-01"), Signers: []inventory.ID{h.keeper.ID}}
		change(&a)
		return deed.Authorised(a)
	}
	none := func(*ladder.Authorisation) {}
	s = stepped(t, s, []stepping{
		{"a stage before joining", of(ladder.StageGrant, func(a *ladder.Authorisation) { a.On = d("2026-02-01") }), "joined on 2026-03-01"},
		{"signed by nobody", of(ladder.StageGrant, func(a *ladder.Authorisation) { a.Signers = nil }), "nobody has signed it"},
		{"signed by himself", of(ladder.StageGrant, func(a *ladder.Authorisation) { a.Signers = []inventory.ID{trainee.ID} }), "nobody signs for himself"},
		{"founding, signed by nobody", of(ladder.StageGrant, func(a *ladder.Authorisation) { a.Stage, a.Signers, a.Founding = 3, nil, "log" }), ""},
		{"the same of one day", of(ladder.StageGrant, func(a *ladder.Authorisation) { a.Stage = 3 }), "is recorded already"},
		{"back to where it is", of(ladder.SetBack, func(a *ladder.Authorisation) { a.Stage, a.Reason = 3, "r" }), "the highest stage recorded for Ivo Marsh is 3"},
		{"back", of(ladder.SetBack, func(a *ladder.Authorisation) { a.Stage, a.Reason = 2, "r" }), ""},
		{"withdrawn, never given", of(ladder.SetBack, func(a *ladder.Authorisation) { a.Species, a.Reason = python.ID, "r" }), "never signed off for Python regius"},
		{"signed off", of(ladder.SpeciesGrant, func(a *ladder.Authorisation) { a.Species, a.Level = python.ID, ladder.Hook }), ""},
		{"withdrawn", of(ladder.SetBack, func(a *ladder.Authorisation) { a.Species, a.Reason = python.ID, "r" }), ""},
		{"cleared of nothing", of(ladder.Clearance, none), "no suspension that lasts is recorded"},
		{"suspended for no reason", of(ladder.Suspension, none), "reason: is empty"},
		{"suspended", of(ladder.Suspension, func(a *ladder.Authorisation) { a.Reason = "a lock was left open" }), ""},
		{"cleared on that day, nobody knows when", of(ladder.Clearance, none), ""},
		{"cleared again: the suspension may have come last", of(ladder.Clearance, func(a *ladder.Authorisation) { a.On = d("2026-05-02") }), ""},
		{"cleared once more", of(ladder.Clearance, func(a *ladder.Authorisation) { a.On = d("2026-05-03") }), "no suspension that lasts is recorded"},
	})
	for a := range s.Authorisations.All() {
		if said := s.NameOf(a.Ref()); a.What == ladder.Suspension && (said != "suspension of 2026-05-01 for Ivo Marsh") {
			t.Errorf("%s: a name tells nothing of the reason", said)
		}
	}
	credit := ladder.Credit{ID: inventory.NewID(), Person: trainee.ID, Where: "Reed Park", Proof: ladder.Log, Taxon: "Elapidae", First: d("2023-01-01"), Last: d("2025-01-01"), Hours: 400, Percent: 50, On: d("2026-05-01")}
	unsigned := deed.PersonCredited(credit)
	credit.Signers = []inventory.ID{h.keeper.ID}
	again := credit
	again.ID, again.First = inventory.NewID(), d("2024-06-01")
	lower := ladder.Placement{ID: inventory.NewID(), Subject: h.animal.Ref(), Stage: 7, On: d("2026-05-01"), By: h.keeper.ID, Reason: "quick"}
	twice := lower
	twice.ID, twice.Stage = inventory.NewID(), 6
	stepped(t, s, []stepping{
		{"credited by nobody", unsigned, "nobody has signed it"},
		{"credited", deed.PersonCredited(credit), ""},
		{"credited twice", deed.PersonCredited(again), "credited already"},
		{"placed", deed.Placed(lower), ""},
		{"placed twice on one day", deed.Placed(twice), "animal A1 on stage 7 from 2026-05-01 is recorded already"},
	})
}

// TestAway: an absence without an end is ended before another begins.
func TestAway(t *testing.T) {
	h := newHouse(t)
	away := func(from, last string) deed.Deed {
		a := compliance.Absence{From: d(from)}
		if last != "" {
			a.Last = d(last)
		}
		return deed.PersonAway(h.keeper.ID, a)
	}
	s := stepped(t, h.snapshot, []stepping{
		{"before joining", away("2019-01-01", "2019-01-02"), "before 2020-01-01"},
		{"away", away("2026-05-01", ""), ""},
		{"away again, not back", away("2026-06-01", ""), "not known to be back"},
		{"back", away("2026-05-01", "2026-05-10"), ""},
		{"earlier", away("2026-02-01", "2026-02-05"), ""},
		{"within one", away("2026-05-10", "2026-05-20"), "away from 2026-05-01 already"},
	})
	p, _ := s.People.Get(h.keeper.ID)
	got, err := json.Marshal(p.Away)
	if want := `[{"from":"2026-02-01","last":"2026-02-05"},{"from":"2026-05-01","last":"2026-05-10"}]`; err != nil || string(got) != want {
		t.Errorf("%s, %v; want %s", got, err, want)
	}
}
