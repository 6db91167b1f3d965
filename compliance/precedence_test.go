package compliance

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestLayers: law, house and guidance over one requirement.
func TestLayers(t *testing.T) {
	drill := func(id, every string) string {
		return rule(id, "drill", "site", "recurring", "{activity: drill.x, every: "+every+"}")
	}
	for _, c := range []struct {
		name        string
		packs       []string
		law, policy Standing
		binds       string
	}{
		{"law alone", []string{pack("l", "law", "us", drill("l.a", "12 months"))}, InOrder, NotApplicable, "l.a"},
		{"P1: law speaks, guidance is silent, though it is stricter", []string{pack("l", "law", "us", drill("l.a", "12 months")), pack("g", "guidance", "", drill("g.a", "1 month"))}, InOrder, NotApplicable, "l.a"},
		{"P2: a stricter house rule stands beside the law and does not change it", []string{pack("l", "law", "us", drill("l.a", "12 months")), pack("h", "house", "", drill("h.a", "1 month"))}, InOrder, OutOfOrder, "h.a"},
		{"a laxer house rule relaxes no law", []string{pack("l", "law", "us", drill("l.a", "1 month")), pack("h", "house", "", drill("h.a", "12 months"))}, OutOfOrder, InOrder, "l.a"},
		{"P4 and P9: of two laws the stricter binds, each judged alone", []string{pack("l", "law", "us", drill("l.a", "12 months")), pack("m", "law", "us/fl", drill("m.a", "1 month"))}, OutOfOrder, NotApplicable, "m.a"},
		{"a law of elsewhere is no law here", []string{pack("l", "law", "us", drill("l.a", "12 months")), pack("m", "law", "au/qld", drill("m.a", "1 month"))}, InOrder, NotApplicable, "l.a"},
		{"guidance where nobody else speaks", []string{pack("g", "guidance", "", drill("g.a", "1 month"))}, NotApplicable, OutOfOrder, "g.a"},
		{"guidance before the law is in effect", []string{
			pack("l", "law", "us", rule("l.a", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}", "    from: 2027-01-01\n")),
			pack("g", "guidance", "", drill("g.a", "1 month"))}, NotApplicable, OutOfOrder, "g.a"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			h.put(Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: d("2026-03-01"), Passed: inventory.Yes}))
			j := Evaluate(books(t, c.packs...), h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "drill", Subject: h.site.Ref()})
			on := d("2026-06-15")
			if j.Law.At(on).Standing != c.law || j.Policy.At(on).Standing != c.policy {
				t.Errorf("law %s, policy %s; want %s, %s", j.Law.At(on).Standing, j.Policy.At(on).Standing, c.law, c.policy)
			}
			if got := j.Binding(on).Rule.ID; got != c.binds {
				t.Errorf("%s binds, want %s", got, c.binds)
			}
		})
	}
}

// TestSiteWithoutALawPack: lawful cannot be told.
func TestSiteWithoutALawPack(t *testing.T) {
	h := newHouse(t).lists()
	other := inventory.Site{ID: inventory.NewID(), Organisation: h.org.ID, Title: "Island", Zone: "Pacific/Honolulu", Jurisdiction: inventory.Always("zz/island")}
	nowhere := inventory.Site{ID: inventory.NewID(), Organisation: h.org.ID, Title: "Unknown", Zone: "UTC"}
	h.put(Record(other), Record(nowhere))
	r := Evaluate(book(t, "law", "us", rule("l.a", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}")), h.snapshot(), Ask{Now: noon})
	for ref, want := range map[inventory.Ref]Code{h.site.Ref(): HasLawPack, other.Ref(): NoLawPack, nowhere.Ref(): NoLawPack} {
		if got := r.Of(Key{Requirement: "law-pack", Subject: ref}).Law.At(d("2026-06-15")).State; got != want {
			t.Errorf("%s: %s, want %s", r.View.NameOf(ref), got, want)
		}
	}
}

// mixed is a house with a bit of everything that order could upset.
func mixed(t testing.TB) *house {
	h := newHouse(t).lists()
	kinds := []inventory.Species{h.species("Naja kaouthia", "Elapidae"), h.species("Naja naja", ""), h.species("Vipera berus", "Viperidae")}
	for i := range 9 {
		h.animal(kinds[i%3])
	}
	for i, number := range []string{"P1", "P2", "P3"} {
		p := h.permit(number, day.Until(d("2026-03-31").Add(60*i)))
		p.Grants = []Grant{{Rank: RankSpecies, Taxon: kinds[i].Accepted, Max: 2 + i}}
		h.put(Record(p))
	}
	h.put(Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: d("2026-03-01"), Passed: inventory.Yes}),
		Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: d("2026-03-01"), Passed: inventory.Unknown}))
	return h
}

var mixedRules = []string{
	rule("a.paper", "paper", "animal", "permit", part13, "    scope: venomous && family != \"Colubridae\"\n"),
	rule("a.drill", "drill", "site", "recurring", "{activity: drill.x, every: 6 months}"),
	rule("a.cover", "cover", "holding", "cover", coverRule),
}

// summary is everything that a report says, free of order and identity.
func summary(r *Report) map[Key]string {
	out := make(map[Key]string)
	for _, j := range r.Judgements {
		text := ""
		for _, line := range []Line{j.Law, j.Policy} {
			text += "|" + line.First().Standing.String()
			for on, v := range line.Changes() {
				text += " " + on.String() + " " + v.Standing.String() + " " + string(v.State) + " " + string(v.Step.Do) + " " + v.Step.By.String()
			}
		}
		out[j.Key] = text
	}
	return out
}

func TestOrderDoesNotMatter(t *testing.T) {
	h := mixed(t)
	want := summary(Evaluate(books(t, pack("a", "law", "us", mixedRules[0]+mixedRules[1]+mixedRules[2])), h.snapshot(), Ask{Now: noon}))
	rng := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		rules := slices.Clone(mixedRules)
		rng.Shuffle(len(rules), func(i, j int) { rules[i], rules[j] = rules[j], rules[i] })
		s := h.snapshot()
		got := summary(Evaluate(books(t, pack("a", "law", "us", rules[0]+rules[1]+rules[2])), shuffled(s, rng), Ask{Now: noon}))
		for k, text := range want {
			if got[k] != text {
				t.Fatalf("%v: %s, want %s", k, got[k], text)
			}
		}
		if len(got) != len(want) {
			t.Fatalf("%d judgements, want %d", len(got), len(want))
		}
	}
}

func shuffled(s *Snapshot, rng *rand.Rand) *Snapshot {
	out := *s
	out.Animals = mix(s.Animals, rng)
	out.Permits = mix(s.Permits, rng)
	out.Activities = mix(s.Activities, rng)
	out.Species = mix(s.Species, rng)
	out.Feeds = mix(s.Feeds, rng)
	return &out
}

func mix[T inventory.Record](t inventory.Table[T], rng *rand.Rand) inventory.Table[T] {
	rows := slices.Collect(t.All())
	rng.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	return inventory.NewTable(rows)
}

// TestCheckAsOfEqualsTheLine: asking for a day gives what the line says of
// it, standing and state; only what must be done may differ, because a step
// that is near is told before a list's confirmation.
func TestCheckAsOfEqualsTheLine(t *testing.T) {
	h := mixed(t)
	b := books(t, pack("a", "law", "us", mixedRules[0]+mixedRules[1]+mixedRules[2]))
	ahead := Evaluate(b, h.snapshot(), Ask{Now: noon})
	for on := d("2026-02-01"); on < d("2026-12-01"); on += 3 {
		asOf := Evaluate(b, h.snapshot(), Ask{Now: noon, On: on})
		for _, j := range ahead.Judgements {
			want, _ := j.At(on)
			got, _ := asOf.Of(j.Key).At(on)
			if got.Standing != want.Standing || got.State != want.State {
				t.Fatalf("%s of %v: as of that day %s (%s), ahead %s (%s)", on, j.Key, got.Standing, got.State, want.Standing, want.State)
			}
		}
	}
}

// TestRenamingARuleChangesNoKey: findings live on under a renamed rule.
func TestRenamingARuleChangesNoKey(t *testing.T) {
	h := mixed(t)
	one := summary(Evaluate(book(t, "law", "us", rule("a.first", "paper", "animal", "permit", part13)), h.snapshot(), Ask{Now: noon}))
	two := summary(Evaluate(book(t, "law", "us", rule("z.second", "paper", "animal", "permit", part13)), h.snapshot(), Ask{Now: noon}))
	for k, text := range one {
		if two[k] != text {
			t.Errorf("%v changed with the rule's name", k)
		}
	}
}

// TestDefiniteAnswersSurviveCompletion: whatever is filled in where facts
// were missing, what was told for sure stays told.
func TestDefiniteAnswersSurviveCompletion(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13, "    scope: venomous && !captive_bred && family != \"Colubridae\"\n"))
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		sp := inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia", Venomous: anyTri(t, "venomous"), Family: rapid.SampledFrom([]string{"", "Elapidae", "Colubridae"}).Draw(t, "family")}
		h.put(Record(sp))
		a := h.animal(sp)
		a.Origin.Bred = anyTri(t, "bred")
		p := anyPermit(t, h, "P")
		p.Grants = []Grant{{Rank: RankFamily, Taxon: "Elapidae"}}
		h.put(Record(a), Record(p))
		s, err := h.batch.Apply(&Snapshot{})
		if err != nil {
			t.Skip(err)
		}
		before := at(b, s, a)
		completed := complete(t, s, h, sp, a, p)
		if completed == nil {
			t.Skip("the completion is refused by the records themselves")
		}
		after := at(b, completed, a)
		for on := base - 5; on <= base.Add(stretch+40); on++ {
			was, is := before(on), after(on)
			if was == InOrder && is == NotApplicable {
				continue // in order stays told while it is unknown whether the duty applies: it did not
			}
			if was != CannotTell && is != was {
				t.Fatalf("%s: %s before the facts were completed, %s after\npermit %+v\nspecies %+v\nbred %s", on, was, is, p, sp, a.Origin.Bred)
			}
		}
	})
}

func at(b *Rulebook, s *Snapshot, a inventory.Animal) func(day.Day) Standing {
	j := Evaluate(b, s, Ask{Now: noon}).Of(Key{Requirement: "paper", Subject: a.Ref()})
	return func(on day.Day) Standing {
		if j == nil {
			return NotApplicable
		}
		return j.Law.At(on).Standing
	}
}

// complete fills in some way whatever is missing.
func complete(t *rapid.T, s *Snapshot, h *house, sp inventory.Species, a inventory.Animal, p Permit) *Snapshot {
	known := func(v inventory.Tri, label string) inventory.Tri {
		if v == inventory.Unknown {
			return inventory.Bool(rapid.Bool().Draw(t, label))
		}
		return v
	}
	sp.Venomous, a.Origin.Bred, p.Renewable = known(sp.Venomous, "c venomous"), known(a.Origin.Bred, "c bred"), known(p.Renewable, "c renewable")
	if sp.Family == "" {
		sp.Family = rapid.SampledFrom([]string{"Elapidae", "Colubridae"}).Draw(t, "c family")
	}
	if p.Holder.IsZero() {
		p.Holder = h.org.Ref()
		if rapid.Bool().Draw(t, "c other holder") {
			other := Person{ID: inventory.NewID(), Called: "Other"}
			s, _ = Record(other).Apply(s)
			p.Holder = other.Ref()
		}
	}
	if len(p.Sites) == 0 {
		p.AnyPlace = rapid.Bool().Draw(t, "c any place")
		if !p.AnyPlace {
			other := h.site
			other.ID, other.Title = inventory.NewID(), "Other"
			s, _ = Record(other).Apply(s)
			p.Sites = []inventory.ID{other.ID}
		}
	}
	if p.Start().IsZero() {
		p.From = anyDay(t, "c from")
	}
	if p.Expires.Kind == day.Unknown {
		p.Expires = day.Until(anyDay(t, "c expires"))
	}
	for i := range p.Applications {
		if app := &p.Applications[i]; app.Received.IsZero() && !app.Posted.IsZero() && app.Decided.IsZero() {
			app.Received = app.Posted.Add(rapid.IntRange(0, 5).Draw(t, "c received"))
		}
	}
	out, err := Batch{Record(sp), Record(a), Record(p)}.Apply(s)
	if err != nil {
		return nil
	}
	return out
}
