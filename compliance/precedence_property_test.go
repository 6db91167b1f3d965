package compliance

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// drills gives what a rulebook says of each site's drills on each day of the
// stretch: law, then policy.
func drills(packs []string, s *Snapshot) (*Report, map[Key]*Judgement) {
	r := Evaluate(books(discard{}, packs...), s, Ask{Now: noon})
	out := make(map[Key]*Judgement)
	for _, j := range r.Judgements {
		if j.Key.Requirement == "drill" {
			out[j.Key] = j
		}
	}
	return r, out
}

// sides gives the verdicts of a judgement on a day; of none, not applicable.
func sides(j *Judgement, on day.Day) (law, policy Verdict) {
	if j == nil {
		return *notApplicable, *notApplicable
	}
	return *j.Law.At(on), *j.Policy.At(on)
}

// compared asks the same of two answers on every day of the stretch.
func compared(s *Snapshot, one, two map[Key]*Judgement, ask func(site inventory.Site, on day.Day, a, b *Judgement)) {
	for site := range s.Sites.All() {
		key := Key{Requirement: "drill", Subject: site.Ref()}
		for on := base - 3; on <= base.Add(stretch+60); on++ {
			ask(*site, on, one[key], two[key])
		}
	}
}

// TestPrecedenceProperties: on random houses and rulebooks, with lifts.
func TestPrecedenceProperties(t *testing.T) {
	for name, property := range map[string]func(t *rapid.T, laws []anyLaw, s *Snapshot){
		"order does not matter":                             orderDoesNotMatter,
		"a rule outside its jurisdiction changes nothing":   strangersChangeNothing,
		"a house rule never relaxes law":                    houseRelaxesNoLaw,
		"adding a law never improves the law line":          moreLawIsNoBetter,
		"without guidance law and house say the same":       guidanceChangesNoLaw,
		"a definite answer survives every completion":       definiteSurvives,
		"renaming rules changes no finding":                 namesDoNotMatter,
		"where nothing lifts, law is the worst of the laws": liftlessIsAnd,
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) { property(t, anyLaws(t, 4), randomHouse(t)) })
		})
	}
}

func orderDoesNotMatter(t *rapid.T, laws []anyLaw, s *Snapshot) {
	packs := packsOf(laws, plainName)
	_, want := drills(packs, s)
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	rng.Shuffle(len(packs), func(i, j int) { packs[i], packs[j] = packs[j], packs[i] })
	_, got := drills(packs, everyTableMixed(s, rng))
	compared(s, want, got, func(site inventory.Site, on day.Day, a, b *Judgement) {
		l1, p1 := sides(a, on)
		l2, p2 := sides(b, on)
		if l1 != l2 || p1 != p2 {
			t.Fatalf("%s at %s: %+v, %+v; in another order %+v, %+v", on, site.Title, l1, p1, l2, p2)
		}
	})
}

func strangersChangeNothing(t *rapid.T, laws []anyLaw, s *Snapshot) {
	_, want := drills(packsOf(laws, plainName), s)
	stranger := anyLaws(t, 1)[0]
	stranger.area = "au/qld"
	_, got := drills(packsOf(append(laws, stranger), plainName), s)
	compared(s, want, got, func(site inventory.Site, on day.Day, a, b *Judgement) {
		l1, p1 := sides(a, on)
		l2, p2 := sides(b, on)
		if l1 != l2 || p1 != p2 {
			t.Fatalf("%s at %s: %+v, %+v; with a law of elsewhere %+v, %+v", on, site.Title, l1, p1, l2, p2)
		}
	})
}

func houseRelaxesNoLaw(t *rapid.T, laws []anyLaw, s *Snapshot) {
	_, before := drills(packsOf(laws, plainName), s)
	own := anyLaws(t, 1)[0]
	own.layer = "house"
	_, after := drills(packsOf(append(laws, own), plainName), s)
	compared(s, before, after, func(site inventory.Site, on day.Day, a, b *Judgement) {
		l1, _ := sides(a, on)
		l2, _ := sides(b, on)
		if l1 != l2 {
			t.Fatalf("%s at %s: the law says %+v, beside a house rule %+v", on, site.Title, l1, l2)
		}
	})
}

func moreLawIsNoBetter(t *rapid.T, laws []anyLaw, s *Snapshot) {
	_, before := drills(packsOf(laws, plainName), s)
	more := anyLaws(t, 1)[0] // which lifts nothing
	more.layer, more.area = "law", "us"
	_, after := drills(packsOf(append(laws, more), plainName), s)
	compared(s, before, after, func(site inventory.Site, on day.Day, a, b *Judgement) {
		was, _ := sides(a, on)
		is, _ := sides(b, on)
		later := was.Standing == is.Standing && !was.Step.IsZero() && (is.Step.IsZero() || is.Step.By > was.Step.By)
		if is.Standing < was.Standing || later {
			t.Fatalf("%s at %s: %+v, and with one law more %+v", on, site.Title, was, is)
		}
	})
}

func guidanceChangesNoLaw(t *rapid.T, laws []anyLaw, s *Snapshot) {
	for i := range laws {
		if laws[i].layer == "guidance" && rapid.Bool().Draw(t, "law") { // lifts name rules by their place
			laws[i].layer, laws[i].area = "law", "us"
		}
	}
	laws = append(laws, anyLaws(t, 1)[0])
	laws[len(laws)-1].layer = "guidance"
	_, all := drills(packsOf(laws, plainName), s)
	without := packsOf(laws, plainName)
	var kept []string
	for i, l := range laws {
		if l.layer != "guidance" {
			kept = append(kept, without[i])
		}
	}
	bare := make(map[Key]*Judgement)
	if len(kept) > 0 {
		_, bare = drills(kept, s)
	}
	compared(s, all, bare, func(site inventory.Site, on day.Day, a, b *Judgement) {
		l1, p1 := sides(a, on)
		l2, p2 := sides(b, on)
		spoken := inventory.No
		if a != nil {
			for _, rl := range a.Rules {
				if rl.Rule.Layer != Guidance {
					spoken = spoken.Or(rl.speaks().At(on))
				}
			}
		}
		if l1 != l2 || spoken == inventory.Yes && p1 != p2 {
			t.Fatalf("%s at %s: %+v, %+v; without guidance %+v, %+v", on, site.Title, l1, p1, l2, p2)
		}
	})
}

func definiteSurvives(t *rapid.T, laws []anyLaw, s *Snapshot) {
	packs := packsOf(laws, plainName)
	_, before := drills(packs, s)
	whole := *s
	for site := range s.Sites.All() {
		if site.Use == "" {
			filled := *site
			filled.Use = rapid.SampledFrom([]inventory.SiteUse{inventory.UseZoo, inventory.UsePrivate, inventory.UseTrade}).Draw(t, "use")
			whole.Sites = whole.Sites.With(filled)
		}
	}
	_, after := drills(packs, &whole)
	survives := func(was, is Standing) bool {
		return was == CannotTell || was == is || was == InOrder && is == NotApplicable
	}
	compared(s, before, after, func(site inventory.Site, on day.Day, a, b *Judgement) {
		l1, p1 := sides(a, on)
		l2, p2 := sides(b, on)
		if !survives(l1.Standing, l2.Standing) || !survives(p1.Standing, p2.Standing) {
			t.Fatalf("%s at %s: %s, %s; once more is known %s, %s\n%+v", on, site.Title, l1.Standing, p1.Standing, l2.Standing, p2.Standing, laws)
		}
	})
}

// namesDoNotMatter: other names sort the rules otherwise. No episode opens or
// closes, nothing is told anew, and all but the rule's name stays.
func namesDoNotMatter(t *rapid.T, laws []anyLaw, s *Snapshot) {
	one, _ := drills(packsOf(laws, plainName), s)
	two, _ := drills(packsOf(laws, func(i int) string { return fmt.Sprint("z", 9-i) }), s)
	var open []Finding
	for _, move := range Diff(nil, one, noon, inventory.NewID) {
		open = append(open, *move.After)
	}
	for _, move := range Diff(open, two, noon, inventory.NewID) {
		was, is := move.Before, move.After
		if was == nil || is == nil || move.Move != Changed {
			t.Fatalf("renaming: %s %+v -> %+v", move.Move, was, is)
		}
		renamed := *is
		renamed.Rule = was.Rule
		if renamed != *was {
			t.Fatalf("renaming changes %+v to %+v\n%+v", was, is, laws)
		}
	}
	for on := base; on <= base.Add(stretch); on += 7 {
		for _, j := range one.Judgements {
			a, _ := j.At(on)
			b, _ := two.Of(j.Key).At(on)
			if *a != *b {
				t.Fatalf("%v on %s: %+v, renamed %+v", j.Key, on, a, b)
			}
		}
	}
}

// liftlessIsAnd: without lifts the law line is the worst of the laws.
func liftlessIsAnd(t *rapid.T, laws []anyLaw, s *Snapshot) {
	for i := range laws {
		laws[i].lifts = nil
	}
	_, all := drills(packsOf(laws, plainName), s)
	compared(s, all, nil, func(site inventory.Site, on day.Day, j, _ *Judgement) {
		law, _ := sides(j, on)
		want := NotApplicable
		if j != nil {
			for _, rl := range j.Rules {
				if rl.Rule.Layer == Law {
					want = max(want, rl.Line.At(on).Standing)
				}
			}
		}
		if law.Standing != want {
			t.Fatalf("%s at %s: %s, the worst law %s", on, site.Title, law.Standing, want)
		}
	})
}
