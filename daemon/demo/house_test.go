package demo

import (
	"flag"
	"fmt"
	"iter"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/deploy"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

var asked = flag.String("today", "2026-11-25", "a day on which the demo is to be shown as well, YYYY-MM-DD")

// days are two whole years in steps of five days, so that every weekday and
// every part of a month comes, and the day that was asked for.
func days(t testing.TB) iter.Seq[day.Day] {
	t.Helper()
	today, err := day.Parse(*asked)
	if err != nil {
		t.Fatal(err)
	}
	return func(yield func(day.Day) bool) {
		for d := day.MustParse("2026-01-01"); d <= day.MustParse("2027-12-31"); d = d.Add(5) {
			if !yield(d) {
				return
			}
		}
		yield(today)
	}
}

// shipped is the book of the packs that come along.
func shipped(t testing.TB) *compliance.Rulebook {
	t.Helper()
	book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		t.Fatal(err)
	}
	return book
}

// evaluate judges a house at an hour of its day in UTC, as if the watch had
// just swept.
func evaluate(t testing.TB, book *compliance.Rulebook, house compliance.Batch, today day.Day, hour int) *compliance.Report {
	t.Helper()
	s, err := house.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatalf("on %s: %v", today, err)
	}
	year, month, dom := today.Date()
	now := time.Date(year, month, dom, hour, 0, 0, 0, time.UTC)
	s.Pulse.Swept = now
	return compliance.Evaluate(book, s, compliance.Ask{Now: now})
}

// key of a duty without an occurrence.
func key(requirement string, subject inventory.Ref) compliance.Key {
	return compliance.Key{Requirement: requirement, Subject: subject}
}

func animalRef(accession string) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindAnimal, ID: id(inventory.KindAnimal, accession)}
}

func holding(species, site string) inventory.Ref {
	return inventory.Holding(speciesID(species), siteID(site))
}

// told is everybody's whole work on the day of the house: nothing else may
// need somebody, so that what is shown is not lost in noise.
func told() (names []string) {
	add := func(state compliance.Code, subjects ...string) {
		for _, s := range subjects {
			names = append(names, string(state)+": "+s)
		}
	}
	add(compliance.InForce, numbered("animal LH-%03d", 19, 20)...)
	add(compliance.PendingContinued, numbered("animal LH-%03d", 21, 22)...)
	add(compliance.PendingNotCovered, numbered("animal LH-%03d", 23, 25)...)
	add(compliance.OverNumber, numbered("animal LH-%03d", 34, 39)...)
	add(compliance.Lapsed, numbered("animal LH-%03d", 40, 41)...)
	add(compliance.ScopeUnknown, "animal LH-014")
	add(compliance.InForce, numbered("animal WC-%03d", 10, 12)...)
	add(compliance.VoidOnExpiry, "permit CD-201")
	add(compliance.NotWatchedYet, "permit AI-422")
	add(compliance.Uncoverable, "Atractaspis bibronii at Tamarind Station")
	add(compliance.NoneInStock, "Bitis arietans at Tamarind Station")
	add(compliance.StatedIneffective, "Micruroides euryxanthus at Larkspur House")
	add(compliance.Covered, "Calloselasma rhodostoma at Larkspur House")
	add(compliance.ListStale, "Daboia russelii at Wren Cottage", "Naja kaouthia at Wren Cottage", "Naja naja at Wren Cottage",
		"Vipera berus at Wren Cottage", "list of stock at Wren Cottage")
	add(compliance.ShortTogether, "Wren Cottage")
	add(compliance.Overdue, "Wren Cottage")
	add(compliance.NoLawPack, "Tamarind Station")
	add(compliance.Done, "Bram Hollowell-Gorse")
	add(compliance.SignatureWaits, "Bram Hollowell-Gorse")
	return names
}

func numbered(format string, first, last int) (names []string) {
	for n := first; n <= last; n++ {
		names = append(names, fmt.Sprintf(format, n))
	}
	return names
}

func TestNothingElseNeedsSomebody(t *testing.T) {
	book := shipped(t)
	for today := range days(t) {
		for _, hour := range []int{2, 12, 23} { // New York and Honolulu may be a day behind
			r := evaluate(t, book, House(today, book.Holidays), today, hour)
			want, got, most := told(), needed(r), 20
			if reportDue(today, r.View.Today(siteID(larkspur))) { // one more, for some weeks of a year
				want, most = append(want, "not-yet-due: Larkspur House"), most+1
			}
			slices.Sort(want)
			if diff := cmp.Diff(want, got); diff != "" {
				t.Fatalf("on %s at %d:00 UTC (-want +got):\n%s", today, hour, diff)
			}
			// Packs have the days of the law, not of the house.
			items := slices.DeleteFunc(answer.NewCheck(r).Items, func(it notify.Item) bool { return it.Requirement == "pack-review" })
			if groups := len(notify.Groups(items)); groups < 12 || groups > most || len(got) < 25 || len(got) > 50 {
				t.Errorf("on %s: %d findings in %d entries are too few or too many to read", today, len(got), groups)
			}
		}
	}
}

// reportDue: the yearly report is asked for from 60 days before 31 March, and
// the house sends it as soon as March begins.
func reportDue(today, there day.Day) bool {
	year, month, _ := today.Date()
	return month < time.March && there >= day.Of(year, time.March, 31).Add(-60)
}

// needed names everything that needs somebody, with its state.
func needed(r *compliance.Report) (names []string) {
	for _, j := range r.Judgements {
		// Packs are read again by days of this world, whatever day it is there.
		if f, ok := r.Finding(j); ok && f.Key.Requirement != "pack-review" {
			names = append(names, string(f.Verdict.State)+": "+r.View.NameOf(f.Key.Subject))
		}
	}
	slices.Sort(names)
	return names
}

func TestEveryCaseIsTestedAndFound(t *testing.T) {
	book := shipped(t)
	today := day.MustParse(*asked)
	for _, house := range []struct {
		name  string
		batch compliance.Batch
		looks []look
	}{
		{"full", House(today, book.Holidays), looks},
		{"small", Small(today, book.Holidays), smallLooks},
	} {
		r := evaluate(t, book, house.batch, today, 12)
		for _, c := range Cases(house.name) {
			if !slices.ContainsFunc(house.looks, func(l look) bool { return l.of == c.Name }) {
				t.Errorf("%s: no test looks at the case %q", house.name, c.Name)
			}
			if _, err := answer.Find(r, c.Subject); err != nil {
				t.Errorf("%s: explain cannot find %q: %v", house.name, c.Subject, err)
			}
		}
		for _, l := range house.looks {
			if !slices.ContainsFunc(Cases(house.name), func(c Case) bool { return c.Name == l.of }) {
				t.Errorf("%s: the case %q is tested and not listed", house.name, l.of)
			}
		}
	}
}

func TestHouseIsTheSameEachTime(t *testing.T) {
	today := day.MustParse(*asked)
	for name, house := range map[string]func(day.Day, *day.Holidays) compliance.Batch{"full": House, "small": Small} {
		if diff := cmp.Diff(house(today, day.Embedded()), house(today, day.Embedded())); diff != "" {
			t.Errorf("%s: two runs differ:\n%s", name, diff)
		}
	}
}

func TestHouseIsOfTheSizeThatItSays(t *testing.T) {
	book := shipped(t)
	today := day.MustParse(*asked)
	v := evaluate(t, book, House(today, book.Holidays), today, 12).View
	for _, c := range []struct {
		what      string
		got, want int
	}{
		{"sites", v.Sites.Len(), 3}, {"animals", v.Animals.Len(), 60}, {"species", v.Species.Len(), 18}, {"people", v.People.Len(), 10},
		{"permits", v.Permits.Len(), 25}, {"lots", v.Lots.Len(), 30}, {"places", v.Places.Len(), 2},
	} {
		if c.got != c.want {
			t.Errorf("%d %s, want %d", c.got, c.what, c.want)
		}
	}
}

// Whatever is said of venom names who says it, and how well that was checked.
func TestFiguresNameTheirSource(t *testing.T) {
	book := shipped(t)
	today := day.MustParse(*asked)
	v := evaluate(t, book, House(today, book.Holidays), today, 12).View
	for p := range v.Products.All() {
		if p.Source == "" || p.Certainty == "" {
			t.Errorf("%s names no source or certainty", p.Type)
		}
	}
	for s := range v.Species.All() {
		if s.NoAntivenom != "" && s.Certainty == "" {
			t.Errorf("%s: no antivenom, and no certainty", s.Accepted)
		}
	}
	covered := make(map[inventory.ID]bool)
	for c := range v.Coverage.All() {
		covered[c.Species] = true
		if c.Certainty == inventory.Memory && !strings.Contains(c.Source, "from memory") {
			t.Errorf("%q is from memory and does not say so", c.Source)
		}
	}
	for s := range v.Species.All() {
		if !covered[s.ID] && s.NoAntivenom == "" {
			t.Errorf("%s: nothing says whether there is an antivenom", s.Accepted)
		}
	}
}

func TestMailReachesNobody(t *testing.T) {
	book := shipped(t)
	today := day.MustParse(*asked)
	v := evaluate(t, book, House(today, book.Holidays), today, 12).View
	seen := make(map[string]bool)
	for p := range v.People.All() {
		if !strings.HasSuffix(p.Email, ".example") || seen[p.Email] {
			t.Errorf("%s has the address %q", p.Called, p.Email)
		}
		seen[p.Email] = true
	}
}
