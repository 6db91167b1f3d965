package compliance

import (
	"fmt"
	"strings"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// covered is a house with an animal, its permit and the papers of class cover
// that a test gives it.
func covered(t *testing.T, covers ...Permit) (*house, inventory.Animal, Permit) {
	t.Helper()
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	p := h.permit("P", day.Until(d("2026-12-31")))
	h.put(Record(p))
	for i, q := range covers {
		made := h.permit(fmt.Sprint("Q", i), q.Expires)
		made.Class, made.Grants, made.From, made.Revoked, made.AnyPlace = "cover", nil, q.From, q.Revoked, true
		made.Sites = nil
		if q.Holder.Kind != 0 {
			h.put(Record(Person{ID: q.Holder.ID, Called: "Ada Fern"}))
			made.Holder = q.Holder
		}
		h.put(Record(made))
	}
	return h, a, p
}

func liability(from, until string) Permit { return Permit{From: d(from), Expires: day.Until(d(until))} }

// TestInsuranceBeforeLicence: P ends on 31 December 2026, a Thursday, and its
// renewal is due 30 days before, on Tuesday 1 December.
func TestInsuranceBeforeLicence(t *testing.T) {
	const filing, twoWeeks, throughout = "{class: cover}", "{class: cover, lead: 2 weeks}", "{class: cover, at: throughout, citation: by-law 4}"
	revoked := liability("2026-01-01", "2027-12-31")
	revoked.Revoked = d("2026-05-01")
	others := liability("2026-01-01", "2027-12-31")
	others.Holder = inventory.Ref{Kind: inventory.KindPerson, ID: inventory.NewID()}
	open := Permit{From: d("2026-01-01")}
	for _, c := range []struct {
		name, requires string
		covers         []Permit
		on             string
		standing       Standing
		state, do      Code
		by             string
		instance       string
	}{
		{"insurance to the end of next year", filing, []Permit{liability("2026-01-01", "2027-12-31")}, "2026-06-15", InOrder, InForce, FileRenewal, "2026-12-01", "P"},
		{"insurance ends before the day to file", filing, []Permit{liability("2026-01-01", "2026-11-30")}, "2026-06-15", InOrder, InForce, RenewPrerequisite, "2026-12-01", "Q0"},
		{"insurance ends on the day to file", filing, []Permit{liability("2026-01-01", "2026-12-01")}, "2026-06-15", InOrder, InForce, FileRenewal, "2026-12-01", "P"},
		{"another insurance follows at once", filing, []Permit{liability("2026-01-01", "2026-09-30"), liability("2026-10-01", "2027-09-30")}, "2026-06-15", InOrder, InForce, FileRenewal, "2026-12-01", "P"},
		{"another insurance begins a day late", filing, []Permit{liability("2026-01-01", "2026-09-30"), liability("2026-12-02", "2027-09-30")}, "2026-06-15", InOrder, InForce, RenewPrerequisite, "2026-12-01", "Q0"},
		{"no insurance", filing, nil, "2026-06-15", InOrder, InForce, ObtainPrerequisite, "2026-12-01", "P"},
		{"insurance of somebody else", filing, []Permit{others}, "2026-06-15", InOrder, InForce, ObtainPrerequisite, "2026-12-01", "P"},
		{"insurance of which the end is not recorded", filing, []Permit{open}, "2026-06-15", InOrder, InForce, CompleteRecord, "2026-12-01", "Q0"},
		{"insurance taken away", filing, []Permit{revoked}, "2026-06-15", InOrder, InForce, ObtainPrerequisite, "2026-12-01", "Q0"},
		{"two weeks before: there from 17 November", twoWeeks, []Permit{liability("2026-11-17", "2027-12-31")}, "2026-06-15", InOrder, InForce, FileRenewal, "2026-12-01", "P"},
		{"two weeks before: there from 18 November", twoWeeks, []Permit{liability("2026-11-18", "2027-12-31")}, "2026-06-15", InOrder, InForce, RenewPrerequisite, "2026-11-17", "Q0"},
		{"two weeks before: none at all", twoWeeks, nil, "2026-06-15", InOrder, InForce, ObtainPrerequisite, "2026-11-17", "P"},
		{"two weeks before: it ends within them, on a Sunday", twoWeeks, []Permit{liability("2026-01-01", "2026-11-22")}, "2026-06-15", InOrder, InForce, RenewPrerequisite, "2026-11-20", "Q0"},
		{"the day to file is over, and it is there", filing, []Permit{liability("2026-12-05", "2027-12-31")}, "2026-12-10", InOrder, InForce, FileRenewal, "2026-12-01", "P"},
		{"the permit has lapsed, and it is not there", filing, nil, "2027-02-01", OutOfOrder, Lapsed, ObtainPrerequisite, "2026-12-01", "P"},

		{"throughout: there", throughout, []Permit{liability("2026-01-01", "2027-12-31")}, "2026-06-15", InOrder, InForce, FileRenewal, "2026-12-01", "P"},
		{"throughout: it ends first, on a Sunday", throughout, []Permit{liability("2026-01-01", "2026-11-22")}, "2026-06-15", InOrder, InForce, RenewPrerequisite, "2026-11-20", "Q0"},
		{"throughout: on its last day", throughout, []Permit{liability("2026-01-01", "2026-11-22")}, "2026-11-22", InOrder, InForce, RenewPrerequisite, "2026-11-20", "Q0"},
		{"throughout: on the day after", throughout, []Permit{liability("2026-01-01", "2026-11-22")}, "2026-11-23", OutOfOrder, PrerequisiteMissing, RenewPrerequisite, "", "Q0"},
		{"throughout: another follows at once", throughout, []Permit{liability("2026-01-01", "2026-09-30"), liability("2026-10-01", "2027-09-30")}, "2026-06-15", InOrder, InForce, FileRenewal, "2026-12-01", "P"},
		{"throughout: none", throughout, nil, "2026-06-15", OutOfOrder, PrerequisiteMissing, ObtainPrerequisite, "", "A1"},
		{"throughout: somebody else's", throughout, []Permit{others}, "2026-06-15", OutOfOrder, PrerequisiteMissing, ObtainPrerequisite, "", "A1"},
		{"throughout: of which the end is not recorded", throughout, []Permit{open}, "2026-06-15", CannotTell, PrerequisiteUnknown, CompleteRecord, "", "Q0"},
		{"both", throughout + ", " + twoWeeks, []Permit{liability("2026-01-01", "2026-10-30")}, "2026-06-15", InOrder, InForce, RenewPrerequisite, "2026-10-30", "Q0"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, a, _ := covered(t, c.covers...)
			b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep, renewal: {lead: 30 days}, requires: ["+c.requires+"]}"))
			r := Evaluate(b, h.snapshot(), Ask{Now: noon})
			j := r.Of(Key{Requirement: "paper", Subject: a.Ref()})
			got := j.Law.At(d(c.on))
			by := ""
			if !got.Step.By.IsZero() {
				by = got.Step.By.String()
			}
			_, of, _ := strings.Cut(r.View.NameOf(got.Step.Instance), " ")
			if got.Standing != c.standing || got.State != c.state || got.Step.Do != c.do || by != c.by || of != c.instance {
				t.Errorf("%s, %s: %s of %s by %q; want %s, %s: %s of %s by %q", got.Standing, got.State, got.Step.Do, of, by, c.standing, c.state, c.do, c.instance, c.by)
			}
			why := fmt.Sprint(r.Why(j, d(c.on)))
			if c.do != FileRenewal && (!strings.Contains(why, "cover") || !strings.Contains(why, "{paper P}") || strings.HasPrefix(c.instance, "Q") && !strings.Contains(why, "{paper "+c.instance+"}")) {
				t.Errorf("it names not both papers: %s", why)
			}
		})
	}
}

// TestAPermitStillToBeObtained waits for its prerequisite too.
func TestAPermitStillToBeObtained(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: other, requires: [{class: cover}]}"))
	h, a, _ := covered(t, liability("2026-01-01", "2026-06-30"))
	line := lineOf(t, b, h.snapshot(), "paper", a.Ref())
	for on, want := range map[string]Code{"2025-12-31": ObtainPrerequisite, "2026-01-01": ObtainPaper, "2026-06-30": ObtainPaper, "2026-07-01": RenewPrerequisite} {
		if got := line.At(d(on)); got.Standing != OutOfOrder || got.State != NoPaper || got.Step.Do != want || !got.Step.By.IsZero() {
			t.Errorf("%s: %s, %s: %s by %s; want %s at once", on, got.Standing, got.State, got.Step.Do, got.Step.By, want)
		}
	}
}

// TestPapersThemselvesWaitToo: a rule about papers, one of them for a single
// animal, as its insurance is.
func TestPapersThemselvesWaitToo(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "paper", "permit", "permit", "{class: keep, requires: [{class: cover, at: throughout, citation: c}]}"))
	for _, c := range []struct {
		name   string
		animal bool // the insurance is for the same animal
		want   Standing
	}{{"for the same animal", true, InOrder}, {"for another", false, OutOfOrder}} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			s := h.species("Naja kaouthia", "Elapidae")
			one, other := h.animal(s), h.animal(s)
			p, q := h.permit("P", day.Until(d("2026-12-31"))), h.permit("Q", day.Until(d("2026-12-31")))
			p.Animals, q.Animals, q.Class = []inventory.ID{one.ID}, []inventory.ID{other.ID}, "cover"
			if c.animal {
				q.Animals = append(q.Animals, one.ID)
			}
			h.put(Record(p), Record(q))
			if got := lineOf(t, b, h.snapshot(), "paper", p.Ref()).At(d("2026-06-15")); got.Standing != c.want {
				t.Errorf("%s, %s; want %s", got.Standing, got.State, c.want)
			}
		})
	}
}

// TestWhatRestsOnAPrerequisite: throughout, the duty rests on it; at filing it
// is still watched for its own sake.
func TestWhatRestsOnAPrerequisite(t *testing.T) {
	for requires, watched := range map[string]bool{"{class: cover}": true, "{class: cover, at: throughout, citation: c}": false} {
		h, _, _ := covered(t, liability("2026-01-01", "2026-12-31"))
		s := h.snapshot()
		b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep, requires: ["+requires+"]}"))
		r := Evaluate(b, s, Ask{Now: noon})
		for p := range s.Permits.All() {
			if got := r.Of(Key{Requirement: "paper.kept", Subject: p.Ref()}) != nil; p.Class == "cover" && got != watched {
				t.Errorf("%s: watched for its own sake: %t, want %t", requires, got, watched)
			}
		}
		if classes := b.Classes(); fmt.Sprint(classes) != "[cover keep]" {
			t.Errorf("the rules ask for %v", classes)
		}
	}
}

// TestMistakesInWhatIsRequired are refused with a sentence.
func TestMistakesInWhatIsRequired(t *testing.T) {
	for _, c := range []struct{ name, requires, want string }{
		{"its own class", "{class: keep}", "cannot wait for itself"},
		{"no class", "{at: filing}", "class: is missing"},
		{"throughout without a text", "{class: cover, at: throughout}", "citation: is missing; at: throughout says"},
		{"throughout with a lead", "{class: cover, at: throughout, citation: c, lead: 2 weeks}", "lead: is for at: filing alone"},
		{"another time", "{class: cover, at: always}", "allowed: filing, throughout"},
		{"twice", "{class: cover}, {class: cover, lead: 2 weeks}", "asked for twice"},
		{"a key that there is not", "{class: cover, before: 2 weeks}", "is not a key"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadPack("p.yaml", []byte(pack("p", "law", "us", rule("a.r", "paper", "animal", "permit", "{class: keep, requires: ["+c.requires+"]}"))))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, and not %q", err, c.want)
			}
		})
	}
}

// TestRings: papers that wait for each other are refused where the rules hold
// together.
func TestRings(t *testing.T) {
	needs := func(id, class, other string, more ...string) string {
		return rule(id, "paper."+class, "animal", "permit", "{class: "+class+", requires: [{class: "+other+"}]}", more...)
	}
	for _, c := range []struct{ name, rules, want string }{
		{"two", needs("a.r", "a", "b") + needs("b.r", "b", "a"), "p.yaml:29:34: rules[2].params.requires: goes round in a ring: b needs a needs b; nobody could ever begin, so leave out"},
		{"three", needs("a.r", "a", "b") + needs("b.r", "b", "c") + needs("c.r", "c", "a"), "c needs a needs b needs c"},
		{"a chain", needs("a.r", "a", "b") + needs("b.r", "b", "c"), ""},
		{"two ways to one", needs("a.r", "a", "b") + needs("b.r", "b", "d") + rule("c.r", "paper.c", "animal", "permit", "{class: c, requires: [{class: b}, {class: d}]}"), ""},
		{"one after the other", needs("a.r", "a", "b", "    last: 2026-12-31\n") + needs("b.r", "b", "a", "    from: 2027-01-01\n"), ""},
		{"for a day", needs("a.r", "a", "b", "    last: 2027-01-01\n") + needs("b.r", "b", "a", "    from: 2027-01-01\n"), "goes round in a ring"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadPack("p.yaml", []byte(pack("p", "law", "us", c.rules)))
			switch {
			case c.want == "" && err != nil:
				t.Error(err)
			case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want) || strings.Count(err.Error(), "in a ring") != 1):
				t.Errorf("%v, and not %q once", err, c.want)
			}
		})
	}
}
