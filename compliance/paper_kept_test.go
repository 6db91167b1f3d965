package compliance

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestPapersAreWatchedWhereNoRuleAsks: a paper with an expiry is watched by
// itself unless some duty of today or later rests on it.
func TestPapersAreWatchedWhereNoRuleAsks(t *testing.T) {
	const asks = "    scope: species == \"Naja kaouthia\"\n"
	for _, c := range []struct {
		name    string
		make    func(h *house, p *Permit)
		more    string // of the rule
		watched bool
	}{
		{"an animal stands under it", func(h *house, p *Permit) { h.animal(h.species("Naja kaouthia", "Elapidae")) }, "", false},
		{"nothing does", func(h *house, p *Permit) {}, "", true},
		{"the only animal left long ago", func(h *house, p *Permit) {
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			a.Left = &inventory.Disposition{How: inventory.Died, On: d("2010-01-01")}
			h.put(Record(a))
		}, "", true},
		{"the only animal leaves today", func(h *house, p *Permit) {
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			a.Left = &inventory.Disposition{How: inventory.Died, On: d("2026-06-15")}
			h.put(Record(a))
		}, "", true},
		{"the only animal leaves tomorrow", func(h *house, p *Permit) {
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			a.Left = &inventory.Disposition{How: inventory.Died, On: d("2026-06-16")}
			h.put(Record(a))
		}, "", false},
		{"the only animal went to another site", func(h *house, p *Permit) {
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			_, cage := h.otherSite("Other")
			a.Stays = append(a.Stays, inventory.Stay{Enclosure: cage.ID, From: d("2020-01-01")})
			h.put(Record(a))
		}, "", true},
		{"it is for another species than the one held", func(h *house, p *Permit) {
			h.animal(h.species("Vipera berus", "Viperidae"))
			p.Grants = []Grant{{Rank: RankSpecies, Taxon: "Naja kaouthia"}}
		}, "", true},
		{"the rule does not ask about the species held", func(h *house, p *Permit) { h.animal(h.species("Vipera berus", "Viperidae")) }, asks, true},
		{"the rule is no longer in effect", func(h *house, p *Permit) { h.animal(h.species("Naja kaouthia", "Elapidae")) }, "    last: 2026-06-14\n", true},
		{"the rule is in effect for a last day", func(h *house, p *Permit) { h.animal(h.species("Naja kaouthia", "Elapidae")) }, "    last: 2026-06-15\n", false},
		{"it may be for the animal", func(h *house, p *Permit) {
			h.animal(h.species("Naja kaouthia", "Elapidae"))
			p.Holder = inventory.Ref{}
		}, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			p := h.permit("P", day.Until(d("2026-07-31")))
			c.make(h, &p)
			h.put(Record(p))
			r := Evaluate(book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13, c.more)), h.snapshot(), Ask{Now: noon})
			if got := r.Of(Key{Requirement: "paper.kept", Subject: p.Ref()}) != nil; got != c.watched {
				t.Errorf("watched for its own sake: %t, want %t", got, c.watched)
			}
		})
	}
}

// TestDecisionsEndNagging: a paper that is let go asks for what must end with
// it, and for nothing once it has ended or was given back. What stood under
// it goes on being asked for.
func TestDecisionsEndNagging(t *testing.T) {
	for _, c := range []struct {
		name   string
		letGo  string
		change func(*Permit)
		on     string
		want   Standing
		do     Code
	}{
		{"before anybody decided", "2026-06-01", func(*Permit) {}, "2026-05-31", InOrder, FileRenewal},
		{"from the decision on", "2026-06-01", func(*Permit) {}, "2026-06-01", InOrder, StopBeforeEnd},
		{"on its last day", "2026-06-01", func(*Permit) {}, "2026-07-31", InOrder, StopBeforeEnd},
		{"a day later", "2026-06-01", func(*Permit) {}, "2026-08-01", NotApplicable, ""},
		{"nobody decided anything", "", func(*Permit) {}, "2026-08-01", OutOfOrder, FileRenewal},
		{"given back", "", func(p *Permit) { p.Surrendered = d("2026-06-20") }, "2026-06-20", NotApplicable, ""},
		{"the day before it is given back", "", func(p *Permit) { p.Surrendered = d("2026-06-20") }, "2026-06-19", InOrder, FileRenewal},
		{"revoked", "", func(p *Permit) { p.Revoked = d("2026-06-20") }, "2026-06-20", OutOfOrder, ObtainPaper},
		{"revoked, and nobody wants another", "2026-06-21", func(p *Permit) { p.Revoked = d("2026-06-20") }, "2026-06-21", NotApplicable, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			head := h.personCalled("Head")
			p := h.permit("P", day.Until(d("2026-07-31")))
			c.change(&p)
			h.put(Record(p))
			if c.letGo != "" {
				h.put(Record(Decision{ID: inventory.NewID(), Ruling: WillNotRenew, Subject: p.Ref(), By: head.ID, On: d(c.letGo), Why: "w", Consequence: "c"}))
			}
			b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13))
			got := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "paper.kept", Subject: p.Ref()}).Policy.At(d(c.on))
			if got.Standing != c.want || got.Step.Do != c.do {
				t.Errorf("%s, %q; want %s, %q", got.Standing, got.Step.Do, c.want, c.do)
			}
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			if under := lineOf(t, b, h.snapshot(), "paper", a.Ref()).At(d("2026-08-01")); under.Standing != OutOfOrder {
				t.Errorf("an animal under it on 2026-08-01 is %s", under.Standing)
			}
		})
	}
}

// TestGrantedWithAGap: under a law without continuation a renewal that was
// granted after expiry, and begins with the grant, leaves a gap; once that
// paper has ended too, nobody is told that it is not recorded.
func TestGrantedWithAGap(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	old := h.permit("OLD", day.Until(d("2026-06-30")))
	decided("2026-05-01", "2026-07-10", Granted)(&old)
	next := h.permit("NEW", day.Until(d("2027-07-09")))
	next.Issued, next.From, next.Renews = d("2026-07-10"), d("2026-07-10"), old.ID
	h.put(Record(old), Record(next))
	line := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep}")), h.snapshot(), "paper", a.Ref())
	for on, want := range map[string]Code{
		"2026-06-30": InForce, "2026-07-01": PendingNotCovered, "2026-07-09": PendingNotCovered,
		"2026-07-10": InForce, "2027-07-09": InForce, "2027-07-10": Lapsed,
	} {
		if got := line.At(d(on)).State; got != want {
			t.Errorf("%s: %s, want %s (smaller readings of this project's definitions)", on, got, want)
		}
	}
}

// TestWhoseTheyAreUnknown: a paper whose holder is not recorded may be a
// person's, and an animal whose keeper is not recorded may stand under a
// person's paper.
func TestWhoseTheyAreUnknown(t *testing.T) {
	h := newHouse(t).lists()
	who := h.personCalled("Keeper")
	p := h.permit("P", day.Until(d("2027-07-01")))
	p.Holder = inventory.Ref{}
	h.put(Record(p))
	for _, match := range []string{"[holder]", "[place]"} {
		b := book(t, "law", "us", rule("test.r", "paper", "person", "permit", "{class: keep, match: "+match+"}"))
		if got := lineOf(t, b, h.snapshot(), "paper", who.Ref()).At(d("2026-06-15")); got.State != HolderUnknown {
			t.Errorf("a person, match %s: %s, want %s", match, got.State, HolderUnknown)
		}
	}
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	p.Holder = who.Ref()
	h.put(Record(p))
	b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13))
	for _, c := range []struct {
		custodian inventory.Ref
		want      Code
	}{{inventory.Ref{}, HolderUnknown}, {who.Ref(), InForce}, {h.org.Ref(), NoPaper}} {
		a.Custodian = c.custodian
		h.put(Record(a))
		if got := lineOf(t, b, h.snapshot(), "paper", a.Ref()).At(d("2026-06-15")); got.State != c.want {
			t.Errorf("an animal kept by %q: %s, want %s", c.custodian, got.State, c.want)
		}
	}
}

// TestMovedAwayFromItsCertificate: a certificate for one animal names a
// place; at another it is worth nothing, though it has not expired.
func TestMovedAwayFromItsCertificate(t *testing.T) {
	const source = "Reg. (EC) 865/2006 Art. 11 (R); days D"
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	_, cage := h.otherSite("Other")
	a.Stays = append(a.Stays, inventory.Stay{Enclosure: cage.ID, From: d("2026-09-02")})
	p := h.permit("C", day.Until(d("2027-06-30")))
	p.Animals, p.Grants = []inventory.ID{a.ID}, nil
	h.put(Record(a), Record(p))
	line := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep}")), h.snapshot(), "paper", a.Ref())
	for on, want := range map[string]Code{"2026-09-01": InForce, "2026-09-02": NoPaper} {
		if got := line.At(d(on)).State; got != want {
			t.Errorf("%s: %s, want %s (%s)", on, got, want, source)
		}
	}
}
