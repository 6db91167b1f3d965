package compliance

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// limited judges one subject under one limit.
func limited(t testing.TB, s *Snapshot, layer, area, subject, params string, about inventory.Ref) Line {
	t.Helper()
	j := Evaluate(book(t, layer, area, rule("test.r", "limit", subject, "limit", params)), s, Ask{Now: noon}).Of(Key{Requirement: "limit", Subject: about})
	if j == nil {
		t.Fatalf("nothing was judged for %s", about)
	}
	return j.Combined()
}

func (h *house) planned(kind inventory.PlanKind, sp inventory.Species, on string, n int) {
	h.put(Record(inventory.Planned{ID: inventory.NewID(), Kind: kind, On: d(on), Site: h.site.ID, Species: sp.ID, Count: n}))
}

// TestFiftyDangerousSnakes: the fifty-first breaks the limit.
func TestFiftyDangerousSnakes(t *testing.T) {
	const source = "Queensland Government page: at most 50 dangerous snakes unless approved (R2), vector D"
	for n, want := range map[int]Standing{49: InOrder, 50: InOrder, 51: OutOfOrder} {
		h := newHouse(t).lists()
		brown, python := h.species("Pseudonaja textilis", "Elapidae"), h.species("Morelia spilota", "Pythonidae")
		for range n {
			h.animal(brown)
		}
		h.animal(python) // does not count
		got := limited(t, h.snapshot(), "law", "us", "site", `{most: 50, of: 'family == "Elapidae"'}`, h.site.Ref()).At(d("2026-06-15"))
		if got.Standing != want {
			t.Errorf("%d: %s, %s; want %s (%s)", n, got.Standing, got.State, want, source)
		}
	}
}

// TestLowestLimitBinds is P4: a state allows fifty, a city ten. Each is judged
// alone, so that ten counts.
func TestLowestLimitBinds(t *testing.T) {
	const source = "precedence vector P4 of this project's reference: minimum of 50 and 10"
	for n, want := range map[int]Standing{10: InOrder, 11: OutOfOrder} {
		h := newHouse(t).lists()
		sp := h.species("Naja kaouthia", "Elapidae")
		for range n {
			h.animal(sp)
		}
		b := books(t, pack("state", "law", "us", rule("state.r", "limit", "site", "limit", "{most: 50}")), pack("city", "law", "us/fl", rule("city.r", "limit", "site", "limit", "{most: 10}")))
		j := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "limit", Subject: h.site.Ref()})
		if got := j.Law.At(d("2026-06-15")); got.Standing != want {
			t.Errorf("%d: %s; want %s (%s)", n, got.Standing, want, source)
		}
		if r := j.Binding(d("2026-06-15")).Rule.ID; want == OutOfOrder && r != "city.r" {
			t.Errorf("%d: %s binds (%s)", n, r, source)
		}
	}
}

// TestFirstTwoYearsOfAPaper: four snakes and two species for two years,
// beginning with the paper's first day.
func TestFirstTwoYearsOfAPaper(t *testing.T) {
	const source = "Canton of Valais: for the first two years at most 4 snakes and 2 venomous species, category 1 only (R2); vectors of a permit of 2025-05-01 (D)"
	const paper = "paper: {class: keep}, during: 2 years"
	animals := "{" + paper + ", most: 4}"
	for _, c := range []struct {
		name, params string
		held         []int // animals of each of several species
		on           string
		want         Standing
	}{
		{"four animals of two species", animals, []int{2, 2}, "2026-06-01", InOrder},
		{"the same, by species", "{" + paper + ", most: 2, count: species}", []int{2, 2}, "2026-06-01", InOrder},
		{"five animals", animals, []int{3, 2}, "2026-06-01", OutOfOrder},
		{"three species", "{" + paper + ", most: 2, count: species}", []int{1, 1, 1}, "2026-06-01", OutOfOrder},
		{"one of category 2", "{" + paper + `, most: 0, of: 'species == "Naja bb"'}`, []int{2, 1}, "2026-06-01", OutOfOrder},
		{"none of category 2", "{" + paper + `, most: 0, of: 'species == "Naja cc"'}`, []int{2, 1}, "2026-06-01", InOrder},
		{"on the last day", animals, []int{3, 2}, "2027-04-30", OutOfOrder},
		{"on the first free day", animals, []int{3, 2}, "2027-05-01", NotApplicable},
		{"before the paper", animals, []int{3, 2}, "2025-04-30", NotApplicable},
	} {
		h := newHouse(t).lists()
		for i, n := range c.held {
			sp := h.species("Naja "+string(rune('a'+i))+string(rune('a'+i)), "Elapidae")
			for range n {
				h.animal(sp)
			}
		}
		p := h.permit("P", day.Until(d("2030-04-30")))
		p.Issued, p.From = d("2025-05-01"), d("2025-05-01")
		h.put(Record(p))
		if got := limited(t, h.snapshot(), "law", "us", "permit", c.params, p.Ref()).At(d(c.on)); got.Standing != c.want {
			t.Errorf("%s: %s, %s; want %s (%s)", c.name, got.Standing, got.State, c.want, source)
		}
	}
}

// TestLitterBreaksTheLimit is E7: nine held, twelve allowed, a litter of eight
// due on 1 August. The amendment takes thirty days.
func TestLitterBreaksTheLimit(t *testing.T) {
	const source = "worked example E7 of this project's job description, common practice, no source: by 1 August less the lead"
	for _, c := range []struct{ name, subject, params string }{
		{"of a species at a site", "holding", "{most: 12, lead: 30 days}"},
		{"the number on the paper", "permit", "{paper: {class: keep}, number_on_paper: true, lead: 30 days}"},
	} {
		h := newHouse(t).lists()
		sp := h.species("Naja kaouthia", "Elapidae")
		for range 9 {
			h.animal(sp)
		}
		p := h.permit("P", day.Until(d("2027-12-31")))
		p.Grants = []Grant{{Rank: RankSpecies, Taxon: sp.Accepted, Max: 12}}
		h.put(Record(p))
		h.planned(inventory.PlanLitter, sp, "2026-08-01", 8)
		about := map[string]inventory.Ref{"holding": inventory.Holding(sp.ID, h.site.ID), "permit": p.Ref()}[c.subject]
		s := h.snapshot()
		line := limited(t, s, "law", "us", c.subject, c.params, about)
		before, after := line.At(d("2026-07-31")), line.At(d("2026-08-01"))
		if before.Standing != InOrder || before.Step.Do != HoldFewer || before.Step.By != d("2026-07-02") || before.Step.Legal != d("2026-07-31") {
			t.Errorf("%s, before: %+v (%s)", c.name, before, source)
		}
		if after.Standing != OutOfOrder || after.State != OverLimit || after.Step.By != d("2026-07-02") {
			t.Errorf("%s, after: %+v (%s)", c.name, after, source)
		}
		r := Evaluate(book(t, "law", "us", rule("test.r", "limit", c.subject, "limit", c.params)), s, Ask{Now: noon})
		why := r.Why(r.Of(Key{Requirement: "limit", Subject: about}), d("2026-06-15"))
		for _, want := range []Reason{Because("limit-planned", "what", "litter", "number", "8", "species", sp.Accepted, "day", "2026-08-01"), Because("limit-breaks", "day", "2026-08-01")} {
			if !slices.ContainsFunc(why, func(r Reason) bool { return fmt.Sprint(r) == fmt.Sprint(want) }) {
				t.Errorf("%s: %v is not among %v", c.name, want, why)
			}
		}
		if headroom := why[0].Args[3]; headroom != (Arg{"headroom", "3"}) {
			t.Errorf("%s: %v", c.name, headroom)
		}
	}
}

// TestWithoutAntivenom: only where a source says that none exists is it sure
// that a species counts; that nobody recorded any proves nothing.
func TestWithoutAntivenom(t *testing.T) {
	for _, c := range []struct {
		name string
		make func(s *shelf, sp inventory.Species)
		want Standing
	}{
		{"none exists", func(s *shelf, sp inventory.Species) {
			sp.NoAntivenom, sp.Certainty = "test", inventory.Read
			s.put(Record(sp))
		}, OutOfOrder},
		{"nothing is recorded", func(*shelf, inventory.Species) {}, CannotTell},
		{"what is stated not to work is none", func(s *shelf, sp inventory.Species) { s.covers("x", sp, inventory.Excluded, 0, 0) }, CannotTell},
		{"there is one", func(s *shelf, sp inventory.Species) { s.covers("x", sp, inventory.Immunogen, 0, 5) }, InOrder},
	} {
		s := newShelf(t)
		sp := s.species("Thelotornis capensis", "Colubridae")
		s.animal(sp)
		c.make(s, sp)
		if got := limited(t, s.snapshot(), "house", "", "organisation", "{most: 0, without_antivenom: true}", s.org.Ref()).At(d("2026-06-15")); got.Standing != c.want {
			t.Errorf("%s: %s, %s; want %s", c.name, got.Standing, got.State, c.want)
		}
	}
}

// TestLimitMistakes: what a pack may get wrong.
func TestLimitMistakes(t *testing.T) {
	for _, c := range []struct{ layer, subject, params, want string }{
		{"law", "site", "{}", "most"},
		{"law", "site", "{most: -1}", "most"},
		{"law", "site", "{most: 3, count: heads}", "animals"},
		{"law", "site", "{most: 3, of: 'captive_bred'}", "captive_bred"},
		{"law", "site", "{most: 3, paper: {class: x}}", "paper"},
		{"law", "site", "{most: 3, during: 2 years}", "during"},
		{"law", "permit", "{most: 3}", "paper"},
		{"law", "permit", "{most: 3, paper: {class: x}, number_on_paper: true}", "said by the paper"},
		{"law", "organisation", "{most: 3}", "no single law"},
		{"law", "animal", "{most: 3}", "no subject \"animal\""},
	} {
		mistaken(t, c.layer, rule("mine.r", "limit", c.subject, "limit", c.params), c.want)
	}
}

// mistaken wants a pack of one rule to be refused, in words with a place.
func mistaken(t *testing.T, layer, text, want string) {
	t.Helper()
	_, err := ReadPack("p.yaml", []byte(pack("mine", layer, "us", text)))
	if err == nil || !inPlace.MatchString(err.Error()) || !strings.Contains(err.Error(), want) {
		t.Errorf("%s: %v; want %q in it", text, err, want)
	}
}

// naiveCount says whether one animal counts: of a species, at a site, in
// somebody's hands, on a day.
type naiveCount func(species *inventory.Species, at inventory.ID, custodian inventory.Ref, on day.Day) inventory.Tri

// naiveLimit counts on one day: every animal and every plan, one by one.
func naiveLimit(s *Snapshot, counts naiveCount, species bool, most int, on day.Day) Standing {
	sure, maybe := map[string]int{}, map[string]int{}
	add := func(sp, at inventory.ID, custodian inventory.Ref, n int) {
		kind, _ := s.Species.Get(sp)
		is := counts(kind, at, custodian, on)
		if is == inventory.Yes {
			sure[kind.Accepted] += n
		}
		if is != inventory.No {
			maybe[kind.Accepted] += n
		}
	}
	for a := range s.Animals.All() {
		if at := a.Held(s.SiteOf).At(on); at != (inventory.ID{}) {
			add(a.Species, at, a.Custodian, 1)
		}
	}
	for p := range s.Planned.All() {
		if (p.Kind == inventory.PlanArrival || p.Kind == inventory.PlanLitter) && p.Cancelled.IsZero() && p.On <= on {
			add(p.Species, p.Site, inventory.Ref{}, p.Count)
		}
	}
	total := func(of map[string]int) (n int) {
		for _, one := range of {
			if species {
				one = min(one, 1)
			}
			n += one
		}
		return n
	}
	switch {
	case total(sure) > most:
		return OutOfOrder
	case total(maybe) > most:
		return CannotTell
	default:
		return InOrder
	}
}

// naivelyOf says whether an animal is one that a subject is limited for.
func naivelyOf(s *Snapshot, subject inventory.Ref) naiveCount {
	return func(species *inventory.Species, at inventory.ID, custodian inventory.Ref, on day.Day) inventory.Tri {
		nowhere := at == inventory.Nowhere
		switch subject.Kind {
		case inventory.KindHolding:
			if species.ID != subject.ID {
				return inventory.No
			}
			return naiveAt(at, subject.At, nowhere)
		case inventory.KindSite:
			return naiveAt(at, subject.ID, nowhere)
		case inventory.KindPerson:
			theirs := inventory.Bool(custodian == subject)
			if custodian.IsZero() {
				theirs = inventory.Unknown
			}
			if nowhere {
				return theirs.And(inventory.Unknown)
			}
			site, _ := s.Sites.Get(at)
			return theirs.And(inventory.Bool(inventory.Within(inventory.LineOf("", site.Jurisdiction).At(on), "us/fl")))
		default:
			return inventory.Yes
		}
	}
}

func naiveAt(at, want inventory.ID, nowhere bool) inventory.Tri {
	if nowhere {
		return inventory.Unknown
	}
	return inventory.Bool(at == want)
}

func TestLimitAgreesWithItsOracle(t *testing.T) {
	seen := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := freshLists(withPlans(t, randomHouse(t)))
		s.NotWatched = inventory.Table[NotWatched]{}
		most, species, elapids := rapid.IntRange(0, 4).Draw(t, "most"), rapid.Bool().Draw(t, "species"), rapid.Bool().Draw(t, "elapids")
		subject := rapid.SampledFrom([]string{"site", "person", "organisation", "holding"}).Draw(t, "subject")
		params := fmt.Sprintf("most: %d", most)
		if species {
			params += ", count: species"
		}
		if elapids {
			params += `, of: 'family == "Elapidae"'`
		}
		layer, area := "law", "us/fl"
		if subject == "organisation" {
			layer, area = "house", ""
		}
		r := Evaluate(book(discard{}, layer, area, rule("test.r", "limit", subject, "limit", "{"+params+"}")), s, Ask{Now: noon})
		for j, on := range everyVerdict(r) {
			if j.Key.Requirement != "limit" {
				continue
			}
			of := naivelyOf(s, j.Key.Subject)
			want := naiveLimit(s, func(sp *inventory.Species, at inventory.ID, custodian inventory.Ref, on day.Day) inventory.Tri {
				is := of(sp, at, custodian, on)
				switch {
				case elapids && sp.Family == "":
					return is.And(inventory.Unknown)
				case elapids:
					return is.And(inventory.Bool(sp.Family == "Elapidae"))
				}
				return is
			}, species, most, on)
			got, _ := j.At(on)
			if got.Standing == NotApplicable { // the person, the holding or the law is not there
				continue
			}
			if got.Standing != want {
				t.Fatalf("%v on %s under %s: %s (%s), the oracle says %s", j.Key, on, params, got.Standing, got.State, want)
			}
			seen[subject+" "+want.String()]++
		}
	})
	if len(seen) < 8 { // not every run sees all twelve
		t.Errorf("only %v were seen", seen)
	}
}

// TestTheNumberOnThePaperIsCountedOnce: a limit by the number on the paper is
// never in order on a day on which the paper's own rule says that it is broken.
func TestTheNumberOnThePaperIsCountedOnce(t *testing.T) {
	b := book(t, "law", "us", rule("a.r", "limit", "permit", "limit", "{paper: {class: keep, match: [place, taxon]}, number_on_paper: true}")+
		rule("b.r", "paper", "animal", "permit", "{class: keep, match: [place, taxon, number]}"))
	broken := 0
	rapid.Check(t, func(t *rapid.T) {
		s := freshLists(withPlans(t, randomHouse(t)))
		for site := range s.Sites.All() { // one at least that is soon exceeded
			sure := Permit{ID: inventory.NewID(), Number: "sure " + site.Title, Class: "keep", Sites: []inventory.ID{site.ID}, Issued: base, Expires: day.Forever(), Grants: []Grant{{Rank: RankAny, Max: 1}}}
			s, _ = Record(sure).Apply(s)
		}
		s.NotWatched = inventory.Table[NotWatched]{}
		r := Evaluate(b, s, Ask{Now: noon})
		over := map[inventory.Ref]map[day.Day]bool{}
		for j, on := range everyVerdict(r) {
			if v := j.Law.At(on); j.Key.Requirement == "paper" && v.State == OverNumber {
				if over[v.Cause] == nil {
					over[v.Cause] = map[day.Day]bool{}
				}
				over[v.Cause][on] = true
			}
		}
		for paper, days := range over {
			j := r.Of(Key{Requirement: "limit", Subject: paper})
			if j == nil { // a paper for no recorded place stands under no law of its own
				continue
			}
			for on := range days {
				if v := j.Law.At(on); v.Standing == InOrder { // it cannot be told where the paper's days are not known
					t.Fatalf("%s on %s: over the number for an animal, and %s (%s) for the paper", paper, on, v.Standing, v.State)
				}
				broken++
			}
		}
	})
	if broken == 0 {
		t.Error("no number was exceeded")
	}
}

// withPlans adds arrivals and litters to come.
func withPlans(t *rapid.T, s *Snapshot) *Snapshot {
	var sites, kinds []inventory.ID
	for site := range s.Sites.All() {
		sites = append(sites, site.ID)
	}
	for sp := range s.Species.All() {
		kinds = append(kinds, sp.ID)
	}
	var b Batch
	for range rapid.IntRange(0, 2).Draw(t, "plans") {
		b = append(b, Record(inventory.Planned{ID: inventory.NewID(), Kind: rapid.SampledFrom([]inventory.PlanKind{inventory.PlanArrival, inventory.PlanLitter}).Draw(t, "plan"),
			On: anyDay(t, "planned"), Site: rapid.SampledFrom(sites).Draw(t, "planned at"), Species: rapid.SampledFrom(kinds).Draw(t, "planned species"),
			Count: rapid.IntRange(1, 3).Draw(t, "planned number"), Cancelled: sometimes(t, "cancelled")}))
	}
	out, err := b.Apply(s)
	if err != nil {
		t.Skip(err)
	}
	return out
}

// freshLists replaces every list by one that is complete and fresh.
func freshLists(s *Snapshot) *Snapshot {
	out := *s
	var rows []*Feed
	for _, topic := range Topics {
		rows = append(rows, &Feed{ID: inventory.ID{15: byte(len(rows) + 1)}, Topic: topic, Keeper: Head, Complete: d("1900-01-01"), Confirmed: []day.Day{d("2026-01-01")}, MaxAge: 90000})
	}
	out.Feeds = inventory.NewTable(rows)
	return &out
}
