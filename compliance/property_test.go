package compliance

import (
	"iter"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// alone hides that a kind's answer is shared by a cohort.
type alone struct{ Kind }

func (a alone) Bind(v *View, r *Rule) iter.Seq[Duty] { return a.Kind.Bind(v, r) }

// TestCohortsShareWhatEachWouldSay: judging once for a cohort gives each of
// its subjects the verdict that it gets alone, on every day on which the duty
// applies to it.
func TestCohortsShareWhatEachWouldSay(t *testing.T) {
	b := everyPack(t)
	each := *b
	each.Rules = nil
	for _, r := range b.Rules {
		one := *r
		one.Kind = alone{r.Kind}
		each.Rules = append(each.Rules, &one)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := randomHouse(t)
		shared, single := Evaluate(b, s, Ask{Now: noon}), Evaluate(&each, s, Ask{Now: noon})
		if len(shared.Judgements) != len(single.Judgements) {
			t.Fatalf("%d judgements, alone %d", len(shared.Judgements), len(single.Judgements))
		}
		for j, on := range everyVerdict(shared) {
			got, want := *j.Law.At(on), *single.Of(j.Key).Law.At(on)
			if got != want {
				t.Fatalf("%v on %s: %+v, alone %+v", j.Key, on, got, want)
			}
		}
	})
}

// TestNoOrderMatters shuffles every table and the rules.
func TestNoOrderMatters(t *testing.T) {
	b := everyPack(t)
	rapid.Check(t, func(t *rapid.T) {
		s := randomHouse(t)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		mixed := *b
		mixed.Rules = slices.Clone(b.Rules)
		rng.Shuffle(len(mixed.Rules), func(i, j int) { mixed.Rules[i], mixed.Rules[j] = mixed.Rules[j], mixed.Rules[i] })
		want, got := Evaluate(b, s, Ask{Now: noon}), Evaluate(&mixed, everyTableMixed(s, rng), Ask{Now: noon})
		if len(got.Judgements) != len(want.Judgements) {
			t.Fatalf("%d judgements, want %d", len(got.Judgements), len(want.Judgements))
		}
		for j, on := range everyVerdict(want) {
			other := got.Of(j.Key)
			if other == nil || *other.Law.At(on) != *j.Law.At(on) || *other.Policy.At(on) != *j.Policy.At(on) {
				t.Fatalf("%v on %s: want %+v, %+v; is %+v", j.Key, on, j.Law.At(on), j.Policy.At(on), other)
			}
		}
	})
}

func everyTableMixed(s *Snapshot, rng *rand.Rand) *Snapshot {
	out := *shuffled(s, rng)
	out.Sites, out.Enclosures, out.Products, out.Coverage = mix(s.Sites, rng), mix(s.Enclosures, rng), mix(s.Products, rng), mix(s.Coverage, rng)
	out.Supplies, out.Orders, out.Agreements = mix(s.Supplies, rng), mix(s.Orders, rng), mix(s.Agreements, rng)
	out.Lots, out.Planned, out.People, out.NotWatched, out.Decisions = mix(s.Lots, rng), mix(s.Planned, rng), mix(s.People, rng), mix(s.NotWatched, rng), mix(s.Decisions, rng)
	return &out
}

// TestAsOfADayIsTheLineOfThatDay: without routine, what is asked as of a day
// has the standing, state and cause that the line of one question has there.
// Steps may differ: a step that is near by the day of the question is told
// before a stale list's confirmation. Yearly duties are made around the day
// of the question, so each question may have years of its own; and a paper
// is watched for its own sake only while nothing stands under it.
func TestAsOfADayIsTheLineOfThatDay(t *testing.T) {
	b := everyPack(t)
	rapid.Check(t, func(t *rapid.T) {
		s := randomHouse(t)
		ahead := Evaluate(b, s, Ask{Now: noon})
		on := anyDay(t, "as of")
		asOf := Evaluate(b, s, Ask{Now: noon, On: on})
		for _, j := range ahead.Judgements {
			other := asOf.Of(j.Key)
			if other == nil {
				if j.Key.Requirement != "report" && j.Key.Requirement != "paper.kept" {
					t.Fatalf("%v is not judged as of %s", j.Key, on)
				}
				continue
			}
			got, _ := other.At(on)
			want, _ := j.At(on)
			if got.Standing != want.Standing || got.State != want.State || got.Cause != want.Cause {
				t.Fatalf("%v as of %s: %+v, the line says %+v", j.Key, on, got, want)
			}
		}
	})
}

// TestStalenessOnlyUntells: with each list fresh and with each stale, the
// answers differ only where in order became cannot tell.
func TestStalenessOnlyUntells(t *testing.T) {
	b := everyPack(t)
	rapid.Check(t, func(t *rapid.T) {
		s := randomHouse(t)
		lists := func(maxAge int) *Snapshot {
			out := *s
			var rows []*Feed
			for _, topic := range Topics {
				rows = append(rows, &Feed{ID: inventory.ID{15: byte(len(rows) + 1)}, Topic: topic, Keeper: Head, Complete: d("1990-01-01"), Confirmed: []day.Day{d("1990-01-01")}, MaxAge: maxAge})
			}
			out.Feeds = inventory.NewTable(rows)
			return &out
		}
		fresh, stale := Evaluate(b, lists(90000), Ask{Now: noon}), Evaluate(b, lists(1), Ask{Now: noon})
		for j, on := range everyVerdict(fresh) {
			if j.Key.Requirement == "list" {
				continue // the list's own duty is to be confirmed
			}
			want, got := j.Law.At(on), stale.Of(j.Key).Law.At(on)
			if want.Standing == InOrder && restsOnAList(j) && (want.State != NotHereYet || j.Key.Requirement != "held") {
				if got.Standing != CannotTell || got.State != ListStale && got.State != NotWatchedYet && got.State != ScopeUnknown {
					t.Fatalf("%v on %s: in order on a fresh list, %s (%s) on a stale one", j.Key, on, got.Standing, got.State)
				}
				continue
			}
			if got.Standing != want.Standing || got.State != want.State && want.State != NotWatchedYet {
				t.Fatalf("%v on %s: %s (%s) on a fresh list, %s (%s) on a stale one", j.Key, on, want.Standing, want.State, got.Standing, got.State)
			}
		}
	})
}

func restsOnAList(j *Judgement) bool {
	return j.Key.Requirement != "law-pack" && j.Key.Requirement != "located"
}

// TestLayersKeepApart: a house rule never changes the law line, guidance
// changes no line on a day on which law or house speaks, and each line is
// never better than a rule of it.
func TestLayersKeepApart(t *testing.T) {
	renamed := func(layer, every string) string {
		return pack(layer, layer, areaOf(layer), strings.NewReplacer("a.", layer+".", "14 days", every, "scope: venomous", "scope: native || venomous").Replace(everyKind[0]+everyKind[3]+everyKind[5]))
	}
	law, house, guidance := renamed("law", "14 days"), renamed("house", "9 days"), renamed("guidance", "5 days")
	lawOnly, withHouse, all := books(t, law), books(t, law, house), books(t, law, house, guidance)
	guided, unguided := books(t, house, guidance), books(t, house)
	rapid.Check(t, func(t *rapid.T) {
		s := randomHouse(t)
		ask := Ask{Now: noon}
		full, two := Evaluate(all, s, ask), Evaluate(withHouse, s, ask)
		for j, on := range everyVerdict(Evaluate(lawOnly, s, ask)) {
			if got := two.Of(j.Key); got != nil && *got.Law.At(on) != *j.Law.At(on) {
				t.Fatalf("%v on %s: the law says %+v, and %+v beside a house rule", j.Key, on, j.Law.At(on), got.Law.At(on))
			}
		}
		for j, on := range everyVerdict(two) {
			got := full.Of(j.Key)
			if got == nil { // a paper that guidance asks for is left to it
				continue
			}
			spoken := worse(j.Law.At(on), j.Policy.At(on)).Standing != NotApplicable
			if spoken && (*got.Law.At(on) != *j.Law.At(on) || *got.Policy.At(on) != *j.Policy.At(on)) {
				t.Fatalf("%v on %s: guidance changed what law or house says", j.Key, on)
			}
			for _, r := range j.Rules {
				line := j.Policy
				if r.Rule.Layer == Law {
					line = j.Law
				}
				if r.Line.At(on).Standing > line.At(on).Standing {
					t.Fatalf("%v on %s: %s says %s, its line %s", j.Key, on, r.Rule.ID, r.Line.At(on).Standing, line.At(on).Standing)
				}
			}
		}
		guideless := Evaluate(unguided, s, ask)
		for j, on := range everyVerdict(Evaluate(guided, s, ask)) {
			before := guideless.Of(j.Key)
			if before != nil && before.Policy.At(on).Standing != NotApplicable && *before.Policy.At(on) != *j.Policy.At(on) {
				t.Fatalf("%v on %s: guidance changed what the house says", j.Key, on)
			}
		}
	})
}

func areaOf(layer string) string {
	if layer == "law" {
		return "us/fl"
	}
	return ""
}
