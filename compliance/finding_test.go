package compliance

import (
	"fmt"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestToldWithinTheLongestWindow: the step that comes first binds, and people
// are told of it from the first day on which any rule that speaks would tell.
func TestToldWithinTheLongestWindow(t *testing.T) {
	renewal := func(id string, lead, window int) string {
		return rule(id, "paper", "animal", "permit", fmt.Sprintf("{class: keep, renewal: {lead: %d days, counts: posting}}", lead), fmt.Sprintf("    window_days: %d\n", window))
	}
	// The paper ends on Friday 2026-12-11; 30 days before is Wednesday
	// 2026-11-11, a federal holiday, so that the safe day is the 10th; 20 days
	// before is Saturday the 21st, so the 20th.
	for _, c := range []struct {
		name  string
		packs []string
		opens string
		by    string
	}{
		{"law alone", []string{pack("l", "law", "us", renewal("l.a", 30, 10))}, "2026-10-31", "2026-11-10"},
		{"a house rule that tells earlier of a later day", []string{pack("l", "law", "us", renewal("l.a", 30, 10)), pack("h", "house", "", renewal("h.a", 20, 120))}, "2026-07-23", "2026-11-10"},
		{"P2: a house rule with a longer lead of its own", []string{pack("l", "law", "us", renewal("l.a", 20, 10)), pack("h", "house", "", renewal("h.a", 30, 120))}, "2026-07-13", "2026-11-10"},
		{"another law that tells earlier of a later day", []string{pack("l", "law", "us", renewal("l.a", 30, 10)), pack("m", "law", "us/fl", renewal("m.a", 20, 120))}, "2026-07-23", "2026-11-10"},
		{"guidance is silent where law speaks", []string{pack("l", "law", "us", renewal("l.a", 30, 10)), pack("g", "guidance", "", renewal("g.a", 20, 120))}, "2026-10-31", "2026-11-10"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			h.put(Record(h.permit("P", day.Until(d("2026-12-11")))))
			b, s, key := books(t, c.packs...), h.snapshot(), Key{Requirement: "paper", Subject: a.Ref()}
			for on := d("2026-07-01"); on < d("2026-12-11"); on++ {
				r := Evaluate(b, s, Ask{Now: noon, On: on})
				f, needed := r.Finding(r.Of(key))
				if needed != (on >= d(c.opens)) || f.Verdict.Step.By != d(c.by) {
					t.Fatalf("%s: somebody is needed: %t, by %s; want from %s on, by %s", on, needed, f.Verdict.Step.By, c.opens, c.by)
				}
				opened := len(Diff(nil, only(r, key), noon, inventory.NewID)) == 1
				if opened != needed {
					t.Fatalf("%s: a finding opens: %t, somebody is needed: %t", on, opened, needed)
				}
			}
		})
	}
}

// only is a report of one key.
func only(r *Report, key Key) *Report {
	j := r.Of(key)
	return &Report{View: r.View, Judgements: []*Judgement{j}}
}

// TestTheLegalDayStays is P2: whatever the house adds, the law's own step
// names the law's own day.
func TestTheLegalDayStays(t *testing.T) {
	const source = "precedence case P2 derived from 50 CFR 13.22(a) (R): the legal deadline stays 30 days, the alert lead may stay 60"
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	h.put(Record(h.permit("P", day.Until(d("2026-12-31")))))
	b := books(t, pack("l", "law", "us", rule("l.a", "paper", "animal", "permit", "{class: keep, renewal: {lead: 30 days}}")),
		pack("h", "house", "", rule("h.a", "paper", "animal", "permit", "{class: keep, renewal: {lead: 60 days}}")))
	j := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "paper", Subject: a.Ref()})
	on := d("2026-06-15")
	if law := j.Law.At(on).Step; law.Legal != d("2026-12-01") || law.By != d("2026-12-01") {
		t.Errorf("law: by %s, legally %s; want 2026-12-01 (%s)", law.By, law.Legal, source)
	}
	if house := j.Policy.At(on).Step; house.Legal != d("2026-11-01") || house.By != d("2026-10-30") {
		t.Errorf("house: by %s, of itself %s; want Friday 2026-10-30, of itself Sunday 2026-11-01 (%s)", house.By, house.Legal, source)
	}
	if got := j.Binding(on).Rule.ID; got != "h.a" {
		t.Errorf("%s binds, want h.a: of two in order the earlier step binds", got)
	}
	// From the house's day on, the house is as lawful as before.
	if after := d("2026-11-15"); j.Law.At(after).Standing != InOrder {
		t.Errorf("law on %s: %s", after, j.Law.At(after).Standing)
	}
}

// TestTodayIsTheSites: at one instant two sites have two days, and a paper
// that ends with one of them has lapsed at one site only.
func TestTodayIsTheSites(t *testing.T) {
	const source = "end of day is local: America/New_York to 05:00 UTC, Australia/Brisbane to 14:00 UTC the day before (computed from the zones' data)"
	h := newHouse(t).lists()
	there := h.site
	there.ID, there.Title, there.Zone = inventory.NewID(), "There", "Australia/Brisbane"
	cage := inventory.Enclosure{ID: inventory.NewID(), Site: there.ID, Code: "T"}
	sp := h.species("Naja kaouthia", "Elapidae")
	here, far := h.animal(sp), h.animal(sp)
	far.Stays = []inventory.Stay{{Enclosure: cage.ID, From: d("2000-01-01")}}
	p := h.permit("P", day.Until(d("2026-12-31")))
	p.Sites, p.AnyPlace = nil, true
	h.put(Record(there), Record(cage), Record(far), Record(p))
	b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13))
	for _, c := range []struct {
		at        time.Time
		here, far Standing
	}{
		{time.Date(2026, 12, 31, 13, 59, 59, 0, time.UTC), InOrder, InOrder},
		{time.Date(2026, 12, 31, 14, 0, 0, 0, time.UTC), InOrder, OutOfOrder},
		{time.Date(2027, 1, 1, 4, 59, 59, 0, time.UTC), InOrder, OutOfOrder},
		{time.Date(2027, 1, 1, 5, 0, 0, 0, time.UTC), OutOfOrder, OutOfOrder},
	} {
		r := Evaluate(b, h.snapshot(), Ask{Now: c.at})
		for ref, want := range map[inventory.Ref]Standing{here.Ref(): c.here, far.Ref(): c.far} {
			f, _ := r.Finding(r.Of(Key{Requirement: "paper", Subject: ref}))
			if f.Verdict.Standing != want {
				t.Errorf("%s, %s: %s, want %s (%s)", c.at, r.View.NameOf(ref), f.Verdict.Standing, want, source)
			}
		}
	}
}
