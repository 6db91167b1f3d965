package compliance

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// otherSite is another site of the house, with one enclosure.
func (h *house) otherSite(title string) (inventory.Site, inventory.Enclosure) {
	s := h.site
	s.ID, s.Title = inventory.NewID(), title
	e := inventory.Enclosure{ID: inventory.NewID(), Site: s.ID, Code: title}
	h.put(Record(s), Record(e))
	return s, e
}

// personCalled works at the site since 2020.
func (h *house) personCalled(name string) Person {
	p := Person{ID: inventory.NewID(), Called: name, Site: h.site.ID, Joined: d("2020-01-01")}
	h.put(Record(p))
	return p
}

// TestNumberOnPaper: how many animals a paper is used for, where it is not
// plain. The number on it is two.
func TestNumberOnPaper(t *testing.T) {
	const source = "50 CFR 13.42, 70 FR 18320 (2005) (R): strictly construed as to numbers; what is unknown by the definitions of this project"
	for _, c := range []struct {
		name   string
		make   func(h *house, sp inventory.Species, p *Permit)
		on     string
		want   Standing
		state  Code
		source string
	}{
		{"two at its site", func(h *house, sp inventory.Species, p *Permit) { h.animal(sp) }, "2026-06-15", InOrder, InForce, source},
		{"for any place, one more at another site", func(h *house, sp inventory.Species, p *Permit) {
			p.Sites, p.AnyPlace = nil, true
			h.animal(sp)
			a := h.animal(sp)
			a.Stays = elsewhere(h)
			h.put(Record(a))
		}, "2026-06-15", OutOfOrder, OverNumber, source},
		{"for its site, one more at another site", func(h *house, sp inventory.Species, p *Permit) {
			h.animal(sp)
			a := h.animal(sp)
			a.Stays = elsewhere(h)
			h.put(Record(a))
		}, "2026-06-15", InOrder, InForce, source},
		{"one more, of which nobody knows where it is", func(h *house, sp inventory.Species, p *Permit) {
			h.animal(sp)
			a := h.animal(sp)
			a.Stays = nil
			h.put(Record(a))
		}, "2026-06-15", CannotTell, SiteUnknown, source},
		{"a family, one more of a species whose family is not recorded", func(h *house, sp inventory.Species, p *Permit) {
			p.Grants[0] = Grant{Rank: RankFamily, Taxon: "Elapidae", Max: 2}
			h.animal(sp)
			h.animal(h.species("Bungarus fasciatus", ""))
		}, "2026-06-15", CannotTell, TaxonUnknown, source},
		{"a family, one more of another family", func(h *house, sp inventory.Species, p *Permit) {
			p.Grants[0] = Grant{Rank: RankFamily, Taxon: "Elapidae", Max: 2}
			h.animal(sp)
			h.animal(h.species("Vipera berus", "Viperidae"))
		}, "2026-06-15", InOrder, InForce, source},
		{"three, one of which died on 10 June, the day before", func(h *house, sp inventory.Species, p *Permit) { h.animal(sp); dying(h, sp) }, "2026-06-09", OutOfOrder, OverNumber, source},
		{"three, one of which died on 10 June, that day", func(h *house, sp inventory.Species, p *Permit) { h.animal(sp); dying(h, sp) }, "2026-06-10", InOrder, InForce, source},
		{"E7: nine held, twelve allowed, a litter of eight due on 1 August: the day before", func(h *house, sp inventory.Species, p *Permit) { gravid(h, sp, p) }, "2026-07-31", InOrder, InForce,
			"worked example E7 of this project's job description, common practice, no source"},
		{"E7: on 1 August there are seventeen", func(h *house, sp inventory.Species, p *Permit) { gravid(h, sp, p) }, "2026-08-01", OutOfOrder, OverNumber,
			"worked example E7 of this project's job description, common practice, no source"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			sp := h.species("Naja kaouthia", "Elapidae")
			a := h.animal(sp)
			p := h.permit("P", day.Until(d("2027-12-31")))
			p.Grants = []Grant{{Rank: RankSpecies, Taxon: sp.Accepted, Max: 2}}
			c.make(h, sp, &p)
			h.put(Record(p))
			got := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), "paper", a.Ref()).At(d(c.on))
			if got.Standing != c.want || got.State != c.state {
				t.Errorf("%s, %s; want %s, %s (%s)", got.Standing, got.State, c.want, c.state, c.source)
			}
		})
	}
}

func elsewhere(h *house) []inventory.Stay {
	_, cage := h.otherSite("Other")
	return []inventory.Stay{{Enclosure: cage.ID, From: d("2000-01-01")}}
}

func dying(h *house, sp inventory.Species) {
	a := h.animal(sp)
	a.Left = &inventory.Disposition{How: inventory.Died, On: d("2026-06-10")}
	h.put(Record(a))
}

func gravid(h *house, sp inventory.Species, p *Permit) {
	p.Grants[0].Max = 12
	for range 8 {
		h.animal(sp)
	}
	h.put(Record(inventory.Planned{ID: inventory.NewID(), Kind: inventory.PlanLitter, On: d("2026-08-01"), Site: h.site.ID, Species: sp.ID, Count: 8}))
}

// TestEachKeepersOwnPaper: two keepers with a licence for two animals each
// may have two each at one site; an animal in nobody's recorded custody may
// be anybody's third.
func TestEachKeepersOwnPaper(t *testing.T) {
	for _, c := range []struct {
		name  string
		third func(first, second Person) inventory.Ref
		want  Standing
		state Code
	}{
		{"two each", nil, InOrder, InForce},
		{"a third of the first", func(first, _ Person) inventory.Ref { return first.Ref() }, OutOfOrder, OverNumber},
		{"a third of the second", func(_, second Person) inventory.Ref { return second.Ref() }, InOrder, InForce},
		{"a third of nobody knows whom", func(Person, Person) inventory.Ref { return inventory.Ref{} }, CannotTell, HolderUnknown},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			sp := h.species("Naja kaouthia", "Elapidae")
			first, second := h.personCalled("First"), h.personCalled("Second")
			var asked inventory.Animal
			for _, who := range []Person{second, second, first, first} {
				asked = h.animal(sp)
				asked.Custodian = who.Ref()
				h.put(Record(asked))
			}
			if c.third != nil {
				a := h.animal(sp)
				a.Custodian = c.third(first, second)
				h.put(Record(a))
			}
			for _, who := range []Person{first, second} {
				p := h.permit("Licence of "+who.Called, day.Until(d("2027-12-31")))
				p.Holder, p.Grants = who.Ref(), []Grant{{Rank: RankSpecies, Taxon: sp.Accepted, Max: 2}}
				h.put(Record(p))
			}
			got := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), "paper", asked.Ref()).At(d("2026-06-15"))
			if got.Standing != c.want || got.State != c.state {
				t.Errorf("%s, %s; want %s, %s", got.Standing, got.State, c.want, c.state)
			}
		})
	}
}

// TestNumberSurvivesCompletion: whichever family the species turns out to
// have, wherever the lost animal turns up and whoever keeps it, a number that
// was told for sure stays told.
func TestNumberSurvivesCompletion(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13))
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		first, second := h.personCalled("First"), h.personCalled("Second")
		_, cage := h.otherSite("Other")
		here := inventory.Enclosure{ID: inventory.NewID(), Site: h.site.ID, Code: "here"}
		h.put(Record(here))
		kinds := []inventory.Species{h.species("Naja kaouthia", "Elapidae"), h.species("Bungarus fasciatus", ""), h.species("Vipera berus", "Viperidae")}
		p := h.permit("P", day.Until(d("2027-12-31")))
		p.Grants = []Grant{{Rank: RankFamily, Taxon: "Elapidae", Max: rapid.IntRange(1, 4).Draw(t, "max")}}
		p.Holder = rapid.SampledFrom([]inventory.Ref{h.org.Ref(), first.Ref()}).Draw(t, "holder")
		if rapid.Bool().Draw(t, "any place") {
			p.Sites, p.AnyPlace = nil, true
		}
		h.put(Record(p))
		var all []inventory.Animal
		for i := range rapid.IntRange(1, 5).Draw(t, "animals") {
			a := inventory.Animal{ID: inventory.NewID(), Accession: fmt.Sprint(i), Species: rapid.SampledFrom(kinds).Draw(t, "species").ID, Arrived: d("2026-01-01")}
			a.Custodian = rapid.SampledFrom([]inventory.Ref{{}, first.Ref(), second.Ref()}).Draw(t, "custodian")
			if e := rapid.SampledFrom([]inventory.ID{{}, cage.ID, here.ID}).Draw(t, "enclosure"); e != (inventory.ID{}) {
				a.Stays = []inventory.Stay{{Enclosure: e, From: a.Arrived}}
			}
			all = append(all, a)
			h.put(Record(a))
		}
		s := h.snapshot()
		completed := Batch{}
		if rapid.Bool().Draw(t, "an elapid") {
			kinds[1].Family = "Elapidae"
		} else {
			kinds[1].Family = "Viperidae"
		}
		completed = append(completed, Record(kinds[1]))
		for _, a := range all {
			if a.Custodian.IsZero() {
				a.Custodian = rapid.SampledFrom([]inventory.Ref{h.org.Ref(), first.Ref(), second.Ref()}).Draw(t, "c custodian")
			}
			if len(a.Stays) == 0 {
				a.Stays = []inventory.Stay{{Enclosure: rapid.SampledFrom([]inventory.ID{cage.ID, here.ID}).Draw(t, "c enclosure"), From: a.Arrived}}
			}
			completed = append(completed, Record(a))
		}
		after, err := completed.Apply(s)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range all {
			was, is := at(b, s, a)(d("2026-06-15")), at(b, after, a)(d("2026-06-15"))
			if was != CannotTell && was != NotApplicable && is != was {
				t.Fatalf("animal %s: %s, and %s once the facts were complete\n%+v\n%+v", a.Accession, was, is, p, all)
			}
		}
	})
}
