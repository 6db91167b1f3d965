package notify

import (
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// The house of the tests: fictional people, papers and vials at Larkspur
// House, which is ahead of UTC, and Wren Cottage, which is behind it. At Tern
// Barn nobody can be mailed.
var (
	org      = inventory.Organisation{ID: id("house"), Title: "Larkspur", Mailed: true, Victims: 1}
	larkspur = inventory.Site{ID: id("larkspur"), Organisation: org.ID, Title: "Larkspur House", Zone: "Pacific/Auckland", Jurisdiction: inventory.Always("zz/marram")}
	wren     = inventory.Site{ID: id("wren"), Organisation: org.ID, Title: "Wren Cottage", Zone: "America/Los_Angeles", Jurisdiction: inventory.Always("zz/marram")}
	tern     = inventory.Site{ID: id("tern"), Organisation: org.ID, Title: "Tern Barn", Zone: "America/Los_Angeles", Jurisdiction: inventory.Always("zz/marram")}
	office   = compliance.Authority{ID: id("office"), Title: "Office for Animals", Zone: "Pacific/Auckland", PostDays: 2}
	cobra    = inventory.Species{ID: id("cobra"), Accepted: "Naja kaouthia", Family: "Elapidae", Venomous: inventory.Yes}
	mamba    = inventory.Species{ID: id("mamba"), Accepted: "Dendroaspis viridis", Family: "Elapidae", Venomous: inventory.Yes}
	serum    = inventory.Product{ID: id("serum"), Type: "equine F(ab')2 against Asian cobras", LeadDays: 60}
	fridge   = inventory.Place{ID: id("fridge"), Site: larkspur.ID, Title: "fridge 1", Min: 2000, Max: 8000}
)

func id(name string) inventory.ID { return uuid.NewSHA1(uuid.NameSpaceOID, []byte(name)) }

func at(s string) time.Time {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		panic(err)
	}
	return t
}

// start is a Monday evening at UTC, and Tuesday morning at Larkspur House.
var start = at("2030-06-03T19:00:00Z")

func d(s string) day.Day { return day.MustParse(s) }

func untilDay(s string) day.End { return day.Until(d(s)) }

func person(name string, site inventory.ID, roles ...compliance.Role) compliance.Person {
	p := compliance.Person{ID: id(name), Called: name, Email: string(name[0]) + ".mail@larkspur.example", Site: site}
	for _, r := range roles {
		p.Offices = append(p.Offices, compliance.Office{Role: r, Site: site})
	}
	return p
}

func people() []compliance.Person {
	return []compliance.Person{
		person("Ada Quill", larkspur.ID, compliance.Administrator, compliance.Operations),
		person("Ben Ash", larkspur.ID, compliance.Curator),
		person("Cyd Moor", larkspur.ID, compliance.Head),
		person("Dee Fenn", wren.ID, compliance.Administrator, compliance.Curator),
		person("Eli Roe", wren.ID, compliance.Head),
		{ID: id("Flo Gale"), Called: "Flo Gale", Site: larkspur.ID, Offices: []compliance.Office{{Role: compliance.SafetyOfficer}}}, // no mail
	}
}

func permit(number string, site inventory.Site, last day.End) compliance.Permit {
	return compliance.Permit{ID: id(number), Number: number, Class: "keep", Authority: office.ID, Holder: org.Ref(), Sites: []inventory.ID{site.ID},
		From: d("2028-01-01"), Expires: last, Renewable: inventory.Yes}
}

func feed(topic compliance.Topic, confirmed string, maxAge int) compliance.Feed {
	return compliance.Feed{ID: id("list of " + string(topic)), Topic: topic, Keeper: compliance.Administrator, Complete: d("2020-01-01"),
		Confirmed: []day.Day{d(confirmed)}, MaxAge: maxAge}
}

// house makes the records: 14 cobras at Larkspur House under a permit whose
// renewal is due soon, two mambas at Wren Cottage without any antivenom.
func house() compliance.Batch {
	b := compliance.Batch{compliance.Record(org), compliance.Record(larkspur), compliance.Record(wren), compliance.Record(tern), compliance.Record(office),
		compliance.Record(cobra), compliance.Record(mamba), compliance.Record(serum), compliance.Record(fridge)}
	for _, p := range people() {
		b = append(b, compliance.Record(p))
	}
	for i := range 14 {
		b = animal(b, fmt.Sprintf("LH-%03d", i+1), cobra, larkspur)
	}
	b = animal(animal(b, "WC-001", mamba, wren), "WC-002", mamba, wren)
	return append(b,
		compliance.Record(permit("SR-114", larkspur, day.Until(d("2030-09-30")))),
		compliance.Record(permit("SR-200", wren, day.Until(d("2031-12-31")))),
		compliance.Record(inventory.Coverage{ID: id("row"), Product: serum.ID, Species: cobra.ID, Basis: inventory.Indicated,
			Vials: inventory.Always(inventory.Vials{Initial: 5, Full: 10}), Source: "the product label", Certainty: inventory.Read}),
		compliance.Record(inventory.Lot{ID: id("lot"), Product: serum.ID, Number: "K-7", Labelled: day.Until(d("2030-10-31")),
			Movements: []inventory.Movement{{On: d("2030-01-07"), Place: fridge.ID, Vials: 12, Reason: inventory.Received, Condition: inventory.Checked}}}),
		compliance.Record(inventory.Coverage{ID: id("none"), Product: serum.ID, Species: mamba.ID, Basis: inventory.Excluded, Source: "the product label", Certainty: inventory.Read}),
		compliance.Record(compliance.Activity{ID: id("drill"), What: "drill.escape", Subject: larkspur.Ref(), On: d("2030-01-15"), Passed: inventory.Yes}),
		compliance.Record(compliance.Activity{ID: id("return"), What: "report.yearly", Subject: org.Ref(), On: d("2030-01-10"), Passed: inventory.Yes, Year: 2029}),
		compliance.Record(feed(compliance.TopicAnimals, "2030-06-01", 400)), compliance.Record(feed(compliance.TopicPapers, "2030-06-01", 400)),
		compliance.Record(feed(compliance.TopicStock, "2030-05-20", 400)), compliance.Record(feed(compliance.TopicActivities, "2030-06-01", 400)),
		compliance.Record(compliance.NotWatched{ID: id("not yet"), Subject: inventory.Ref{Kind: inventory.KindPlace, ID: fridge.ID}, By: id("Cyd Moor"),
			Why: "the logger is being replaced", From: d("2030-06-01"), Last: d("2030-06-30")}),
	)
}

func animal(b compliance.Batch, accession string, s inventory.Species, site inventory.Site) compliance.Batch {
	e := inventory.Enclosure{ID: id("enclosure " + accession), Site: site.ID, Code: "E-" + accession}
	return append(b, compliance.Record(e), compliance.Record(inventory.Animal{ID: id(accession), Accession: accession, Species: s.ID,
		Custodian: org.Ref(), Arrived: d("2029-01-01"), Stays: []inventory.Stay{{Enclosure: e.ID, From: d("2029-01-01")}}}))
}

func rules(t testing.TB) *compliance.Rulebook {
	t.Helper()
	book, err := compliance.ReadRulebook(day.Embedded(), os.DirFS("testdata"))
	if err != nil {
		t.Fatal(err)
	}
	return book
}

// world is a house with what a database would keep between sweeps.
type world struct {
	t        rapid.TB
	book     *compliance.Rulebook
	now      time.Time
	snapshot *compliance.Snapshot
	open     []compliance.Finding
	closed   []compliance.Finding
	ledger   []Reminder
	mailed   map[string]bool
	made     int // identifiers
	report   *compliance.Report
}

func newWorld(t rapid.TB, book *compliance.Rulebook) *world {
	w := &world{t: t, book: book, now: start, snapshot: &compliance.Snapshot{}, mailed: make(map[string]bool)}
	w.change(house()...)
	return w
}

// change alters records; a change that would break them is a fault of the
// test.
func (w *world) change(changes ...compliance.Change) {
	w.t.Helper()
	s, err := compliance.Batch(changes).Apply(w.snapshot)
	if err != nil {
		w.t.Fatal(err)
	}
	w.snapshot = s
}

func digestKey(to inventory.ID, on day.Day) string { return to.String() + " " + on.String() }

// judge is a sweep up to the plan: it stores nothing.
func (w *world) judge() (Input, []compliance.Transition) {
	w.report = compliance.Evaluate(w.book, w.snapshot, compliance.Ask{Now: w.now})
	transitions := compliance.Diff(w.open, w.report, w.now, func() inventory.ID {
		w.made++
		return id(fmt.Sprintf("finding %d", w.made))
	})
	w.store(transitions)
	return Input{Now: w.now, Report: w.report, Open: w.open, Closed: w.closed, Ledger: (*Ledger)(nil).With(w.ledger),
		Mailed: func(to inventory.ID, on day.Day) bool { return w.mailed[digestKey(to, on)] }}, transitions
}

// store keeps findings as a database would; what ended stays news for 14 days.
func (w *world) store(transitions []compliance.Transition) {
	changed := make(map[compliance.Key]bool)
	for _, t := range transitions {
		changed[t.After.Key] = true
	}
	w.open = slices.DeleteFunc(w.open, func(f compliance.Finding) bool { return changed[f.Key] })
	for _, t := range transitions {
		if t.Move == compliance.Closed {
			w.closed = append(w.closed, *t.After)
		} else {
			w.open = append(w.open, *t.After)
		}
	}
	w.closed = slices.DeleteFunc(w.closed, func(f compliance.Finding) bool { return w.now.Sub(f.Closed) > 14*24*time.Hour })
}

// sweep judges, plans, and stores both.
func (w *world) sweep() Outcome {
	in, _ := w.judge()
	out := Plan(in)
	for i := range out.Digests {
		w.ledger = append(w.ledger, out.Digests[i].Reminders...)
		w.mailed[digestKey(out.Digests[i].To.ID, out.Digests[i].Day)] = true
	}
	return out
}

func (w *world) wait(d time.Duration) { w.now = w.now.Add(d) }

// letterOf finds a person's digest; nil where there is none.
func letterOf(out Outcome, name string) *Digest {
	for i := range out.Digests {
		if out.Digests[i].To.Called == name {
			return &out.Digests[i]
		}
	}
	return nil
}
