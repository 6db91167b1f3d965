package compliance

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// strange is a change of which a batch knows nothing but that it is one.
type strange struct{ c Change }

func (s strange) Apply(from *Snapshot) (*Snapshot, error) { return s.c.Apply(from) }
func (s strange) Touches() []inventory.Ref                { return s.c.Touches() }

// few are the identifiers of which each kind has records, and nothing else.
func few(kind inventory.Kind, n int) inventory.ID {
	return inventory.ID{0: byte(kind), 1: byte(n >> 8), 2: byte(n), 15: 1}
}

// one puts a record as the store and the import do, whatever its kind.
func one(rec inventory.Record) Change { return Record(rec) }

// recordsOf lists a snapshot in the order of its tables.
func recordsOf(s *Snapshot) (all []inventory.Record) {
	all = inOrder(all, s.Organisations)
	all = inOrder(all, s.Sites)
	all = inOrder(all, s.Enclosures)
	all = inOrder(all, s.Species)
	all = inOrder(all, s.Animals)
	all = inOrder(all, s.Products)
	all = inOrder(all, s.Coverage)
	all = inOrder(all, s.Places)
	all = inOrder(all, s.Supplies)
	all = inOrder(all, s.Orders)
	all = inOrder(all, s.Agreements)
	all = inOrder(all, s.Lots)
	all = inOrder(all, s.Planned)
	all = inOrder(all, s.People)
	all = inOrder(all, s.Authorities)
	all = inOrder(all, s.Permits)
	all = inOrder(all, s.Activities)
	all = inOrder(all, s.Feeds)
	all = inOrder(all, s.NotWatched)
	all = inOrder(all, s.Decisions)
	all = inOrder(all, s.Sessions)
	all = inOrder(all, s.Authorisations)
	all = inOrder(all, s.Credits)
	return inOrder(all, s.Placements)
}

func inOrder[T inventory.Record](all []inventory.Record, t inventory.Table[T]) []inventory.Record {
	for rec := range t.All() {
		all = append(all, *rec)
	}
	return all
}

// anyRecord has an identifier, a name and references of which there are so
// few that it corrects, renames, clashes and refers to nothing all the time.
func anyRecord(t *rapid.T) inventory.Record {
	id := func(kind inventory.Kind) inventory.ID { return few(kind, rapid.IntRange(1, 4).Draw(t, "id")) }
	name := rapid.SampledFrom([]string{"a", "b", "c", "d", "e"}).Draw(t, "name")
	kinds := []inventory.Kind{inventory.KindOrganisation, inventory.KindSite, inventory.KindEnclosure, inventory.KindSpecies, inventory.KindPerson,
		inventory.KindAnimal, inventory.KindProduct, inventory.KindCoverage, inventory.KindPlace, inventory.KindLot, inventory.KindPlanned,
		inventory.KindSupply, inventory.KindOrder, inventory.KindAgreement,
		inventory.KindAuthority, inventory.KindPermit, inventory.KindActivity, inventory.KindFeed, inventory.KindNotWatched, inventory.KindDecision,
		inventory.KindSession, inventory.KindAuthorisation, inventory.KindCredit, inventory.KindPlacement}
	site, product, species, person := id(inventory.KindSite), id(inventory.KindProduct), id(inventory.KindSpecies), id(inventory.KindPerson)
	at := inventory.Ref{Kind: inventory.KindSite, ID: site}
	switch kind := rapid.SampledFrom(kinds).Draw(t, "kind"); kind {
	case inventory.KindOrganisation:
		return inventory.Organisation{ID: id(kind), Title: name, Victims: 1}
	case inventory.KindSite:
		return inventory.Site{ID: id(kind), Organisation: id(inventory.KindOrganisation), Title: name, Zone: "Europe/London", Use: inventory.UseZoo, Jurisdiction: inventory.Always("us/fl")}
	case inventory.KindEnclosure:
		return inventory.Enclosure{ID: id(kind), Site: site, Code: name, State: inventory.InService}
	case inventory.KindSpecies:
		sp := inventory.Species{ID: id(kind), Accepted: "Naja " + name + name}
		for _, other := range rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "c", "d", "e"}), 0, 2).Draw(t, "synonyms") {
			sp.Synonyms = append(sp.Synonyms, "Naja "+other+other)
		}
		return sp
	case inventory.KindAnimal:
		return inventory.Animal{ID: id(kind), Accession: name, Species: species}
	case inventory.KindProduct:
		return inventory.Product{ID: id(kind), Type: name}
	case inventory.KindCoverage:
		return inventory.Coverage{ID: id(kind), Product: product, Species: species, Basis: inventory.Indicated,
			Source: rapid.SampledFrom([]string{"s", "s", "t"}).Draw(t, "source"), Locality: rapid.SampledFrom([]string{"", "", "in"}).Draw(t, "locality")}
	case inventory.KindPlace:
		p := inventory.Place{ID: id(kind), Site: site, Title: name}
		if other := id(inventory.KindSite); other != site && rapid.Bool().Draw(t, "reaches") {
			p.Reach = []inventory.Reach{{Site: other, Minutes: 5}}
		}
		return p
	case inventory.KindSupply:
		return inventory.Supply{ID: id(kind), Product: product, Supplier: name, PackSize: rapid.IntRange(0, 1).Draw(t, "pack")}
	case inventory.KindOrder:
		o := inventory.Order{ID: id(kind), Number: name, Product: product, Place: id(inventory.KindPlace), Vials: 1, Stages: []inventory.Stage{{What: inventory.StageOrdered, On: base}}}
		if rapid.Bool().Draw(t, "offered") {
			o.Supply = id(inventory.KindSupply)
		}
		return o
	case inventory.KindAgreement:
		return inventory.Agreement{ID: id(kind), Number: name, Partner: "p", Site: site, Product: product, Signed: base, Confirmations: []inventory.Confirmation{{On: base, By: person}}}
	case inventory.KindLot:
		return inventory.Lot{ID: id(kind), Product: product, Number: name}
	case inventory.KindPlanned:
		return inventory.Planned{ID: id(kind), Kind: inventory.PlanVials, On: base, Site: site, Product: product, Count: 1}
	case inventory.KindPerson:
		return Person{ID: id(kind), Called: name, Site: site}
	case inventory.KindAuthority:
		return Authority{ID: id(kind), Title: name, Zone: "Europe/London"}
	case inventory.KindPermit:
		p := Permit{ID: id(kind), Number: name, Class: "keep", Authority: id(inventory.KindAuthority)}
		if rapid.Bool().Draw(t, "renews") {
			p.Renews = id(kind)
		}
		return p
	case inventory.KindActivity:
		return Activity{ID: id(kind), What: "drill." + name, Subject: at, On: base, By: person}
	case inventory.KindFeed:
		return Feed{ID: id(kind), Topic: rapid.SampledFrom(Topics[:2]).Draw(t, "topic"), Site: rapid.SampledFrom([]inventory.ID{{}, site}).Draw(t, "of"), Keeper: Head, Complete: base, MaxAge: 9}
	case inventory.KindNotWatched:
		return NotWatched{ID: id(kind), Subject: at, By: person, Why: name, From: base, Last: base}
	case inventory.KindSession:
		s := ladder.Session{ID: id(kind), Trainee: person, Site: site, Species: species, On: base}
		if rapid.Bool().Draw(t, "of animals") {
			s.Animals = []inventory.ID{id(inventory.KindAnimal)}
		}
		return s
	case inventory.KindAuthorisation:
		return ladder.Authorisation{ID: id(kind), Person: person, What: ladder.StageGrant, Stage: 1, On: base}
	case inventory.KindCredit:
		return ladder.Credit{ID: id(kind), Person: person, Where: name, Proof: ladder.Log, Taxon: "Elapidae", First: base, Last: base, On: base}
	case inventory.KindPlacement:
		return ladder.Placement{ID: id(kind), Subject: inventory.Ref{Kind: inventory.KindSpecies, ID: species}, Stage: 1, On: base, By: person, Reason: name}
	default:
		return Decision{ID: id(kind), Ruling: RunDown, Subject: inventory.Holding(species, site), By: person, On: base, Why: name, Consequence: "c"}
	}
}

// anyLoaded is a snapshot as a database might hold it, where nothing kept two
// animals, papers or enclosures from having one name.
func anyLoaded(t *rapid.T) *Snapshot {
	s := &Snapshot{}
	var animals []*inventory.Animal
	var papers []*Permit
	var cages []*inventory.Enclosure
	for i := range rapid.IntRange(0, 3).Draw(t, "loaded") {
		name := rapid.SampledFrom([]string{"a", "b"}).Draw(t, "loaded as")
		animals = append(animals, &inventory.Animal{ID: few(inventory.KindAnimal, i+1), Accession: name})
		papers = append(papers, &Permit{ID: few(inventory.KindPermit, i+1), Number: name})
		cages = append(cages, &inventory.Enclosure{ID: few(inventory.KindEnclosure, i+1), Site: few(inventory.KindSite, 1), Code: name})
	}
	s.Animals, s.Permits, s.Enclosures = inventory.NewTable(animals), inventory.NewTable(papers), inventory.NewTable(cages)
	return s
}

// anyBatch mostly makes changes that can be made one after the other: one in
// ten of those that cannot is left in. Some are in batches of their own, some
// are strange.
func anyBatch(t *rapid.T, from *Snapshot) (b Batch) {
	for range rapid.IntRange(0, 25).Draw(t, "tries") {
		c := one(anyRecord(t))
		after, err := OneByOne(Batch{c}, from)
		if err == nil {
			from = after
		} else if rapid.IntRange(0, 9).Draw(t, "left in") > 0 {
			continue
		}
		switch rapid.IntRange(0, 9).Draw(t, "how") {
		case 0:
			c = Batch{c, Batch{}}
		case 1:
			c = strange{c}
		case 2:
			b = Batch{append(Batch{}, b...)}
		}
		b = append(b, c)
	}
	return b
}

// agree applies a batch both ways: the same records in the same order, or the
// same refusal.
func agree(t testingT, b Batch, from *Snapshot) *Snapshot {
	t.Helper()
	before := recordsOf(from)
	got, err := b.Apply(from)
	want, wantErr := OneByOne(b, from)
	if fmt.Sprint(err) != fmt.Sprint(wantErr) {
		t.Fatalf("refused with %v, one by one with %v", err, wantErr)
	}
	var refusal *Refusal
	if err != nil {
		var plain *Refusal
		if got != nil || !errors.As(err, &refusal) || !errors.As(wantErr, &plain) || refusal.Subject != plain.Subject || refusal.Name != plain.Name {
			t.Fatalf("%v with %#v, one by one %#v", got, err, wantErr)
		}
		got = from
	} else if diff := cmp.Diff(recordsOf(want), recordsOf(got)); diff != "" {
		t.Fatalf("one by one -, as a batch +\n%s", diff)
	}
	if diff := cmp.Diff(before, recordsOf(from)); diff != "" {
		t.Fatalf("the snapshot that was given changed:\n%s", diff)
	}
	return got
}

type testingT interface {
	Helper()
	Fatalf(string, ...any)
}

// TestABatchIsItsChangesOneByOne: batch upon batch, from any snapshot that
// there ever was, of new records, corrections, renames that free a name for a
// later one, clashes and references to nothing.
func TestABatchIsItsChangesOneByOne(t *testing.T) {
	made, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		past := []*Snapshot{anyLoaded(t)}
		for range rapid.IntRange(1, 4).Draw(t, "batches") {
			from := rapid.SampledFrom(past).Draw(t, "from")
			b := anyBatch(t, from)
			if got := agree(t, b, from); got != from {
				past = append(past, got)
				made++
			} else {
				refused++
			}
		}
	})
	if made == 0 || refused == 0 {
		t.Errorf("%d batches were made and %d refused: the test asks only one half", made, refused)
	}
}

// TestLongBatches: the same where tables fold (256 changes) on the way, and
// with what a first long batch left for a second.
func TestLongBatches(t *testing.T) {
	for seed := range uint64(6) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(seed, 1))
			s := &Snapshot{}
			s.Species = s.Species.With(inventory.Species{ID: few(inventory.KindSpecies, 1), Accepted: "Naja naja"})
			for _, most := range []int{700, 90, 700} {
				s = agree(t, manyAnimals(rng, s, most), s)
			}
			b := append(manyAnimals(rng, s, 400), Record(inventory.Animal{ID: inventory.NewID(), Accession: "none", Species: few(inventory.KindSpecies, 2)}))
			if agree(t, b, s) != s {
				t.Error("an animal of no species was taken")
			}
		})
	}
}

// manyAnimals come, and give each other their accessions, as far as these are
// free when their turn comes.
func manyAnimals(rng *rand.Rand, from *Snapshot, tries int) (b Batch) {
	has, of := map[string]inventory.ID{}, map[inventory.ID]string{}
	for a := range from.Animals.All() {
		has[a.Accession], of[a.ID] = a.ID, a.Accession
	}
	for range tries {
		a := inventory.Animal{ID: few(inventory.KindAnimal, rng.IntN(500)), Accession: fmt.Sprint("N-", rng.IntN(600)), Species: few(inventory.KindSpecies, 1)}
		if holder, taken := has[a.Accession]; taken && holder != a.ID {
			continue
		}
		delete(has, of[a.ID])
		has[a.Accession], of[a.ID] = a.ID, a.Accession
		b = append(b, one(a))
	}
	return b
}

// TestAFreedNameInOneBatch: who gives a name up frees it for whoever comes
// later in the batch, not for who came before.
func TestAFreedNameInOneBatch(t *testing.T) {
	w := newWhole(t)
	s := w.snapshot()
	renamed := with(w.paper, func(p *Permit) { p.Number = "Q" })
	heir := with(w.paper, func(p *Permit) { p.ID = few(inventory.KindPermit, 9) })
	if after := agree(t, Batch{renamed, heir}, s); after.Permits.Len() != 2 {
		t.Errorf("%d papers, want the renamed one and its heir", after.Permits.Len())
	}
	_, err := Batch{heir, renamed}.Apply(s)
	const want = `permit P: another permit is already recorded as "P": correct that one, or give this one its own number`
	if err == nil || err.Error() != want {
		t.Errorf("%v; want %s", err, want)
	}
}

// TestWhatIfsAtOnce: many ask about one snapshot at once, first of all whether
// a name is free.
func TestWhatIfsAtOnce(t *testing.T) {
	w := newWhole(t)
	from := w.snapshot()
	s := *from
	s.Permits = inventory.NewTable([]*Permit{&w.paper})
	var all sync.WaitGroup
	for n := range 8 {
		all.Go(func() {
			free := w.permit(fmt.Sprint("W", n), day.Until(d("2027-01-01")))
			after, err := Batch{Record(free), Record(w.animal)}.Apply(&s)
			if err != nil || after.Permits.Len() != 2 {
				t.Errorf("what if %s: %v", free.Number, err)
			}
			if _, err := Record(w.permit("P", day.Until(d("2027-01-01")))).Apply(&s); err == nil {
				t.Error("a number that is taken was free")
			}
			for range s.Permits.All() {
			}
		})
	}
	all.Wait()
	if s.Permits.Len() != 1 {
		t.Errorf("%d papers after nothing but what-ifs", s.Permits.Len())
	}
}
