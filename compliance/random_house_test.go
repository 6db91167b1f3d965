package compliance

import (
	"fmt"
	"iter"
	"testing"
	"time"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// randomHouse is a house of everything at once: two sites under two laws,
// people, animals that come, move and go, papers, stock, lists that may be
// stale or missing, decisions, declarations and plans.
func randomHouse(t *rapid.T) *Snapshot {
	h := newHouse(discard{})
	other := h.site
	other.ID, other.Title, other.Zone, other.Use, other.Jurisdiction = inventory.NewID(), "Other", "Pacific/Auckland", "", []inventory.Dated[string]{{Value: "us/tx"}, {From: anyDay(t, "law"), Value: "us/fl"}}
	h.put(Record(other))
	sites := []inventory.ID{h.site.ID, other.ID}
	head := h.personCalled("Head")
	keeper := Person{ID: inventory.NewID(), Called: "Keeper", Site: other.ID, Joined: sometimes(t, "joined"), Leaves: sometimes(t, "leaves"), Offices: []Office{{Role: Keeper, From: sometimes(t, "keeper from"), Last: sometimes(t, "keeper last")}}}
	h.put(Record(keeper))
	var cages []inventory.ID
	for i, site := range sites {
		e := inventory.Enclosure{ID: inventory.NewID(), Site: site, Code: fmt.Sprint("E", i)}
		cages = append(cages, e.ID)
		h.put(Record(e))
	}
	cages = append(cages, inventory.ID{})
	kinds := []inventory.Species{
		{ID: inventory.NewID(), Accepted: "Naja kaouthia", Family: rapid.SampledFrom([]string{"", "Elapidae"}).Draw(t, "family"), Venomous: inventory.Yes},
		{ID: inventory.NewID(), Accepted: "Vipera berus", Family: "Viperidae", Venomous: anyTri(t, "venomous")},
	}
	h.put(Record(kinds[0]), Record(kinds[1]))
	custodians := []inventory.Ref{{}, h.org.Ref(), keeper.Ref()}
	var animals []inventory.ID
	for i := range rapid.IntRange(1, 6).Draw(t, "animals") {
		a := inventory.Animal{ID: inventory.NewID(), Accession: fmt.Sprint("A", i), Species: rapid.SampledFrom(kinds).Draw(t, "species").ID,
			Custodian: rapid.SampledFrom(custodians).Draw(t, "custodian"), Origin: inventory.Origin{Bred: anyTri(t, "bred")}, Arrived: sometimes(t, "arrived")}
		on := base
		for range rapid.IntRange(0, 2).Draw(t, "stays") {
			if cage := rapid.SampledFrom(cages).Draw(t, "cage"); cage != (inventory.ID{}) {
				a.Stays = append(a.Stays, inventory.Stay{Enclosure: cage, From: on})
			}
			on = on.Add(rapid.IntRange(0, 20).Draw(t, "stays for"))
		}
		if rapid.IntRange(0, 2).Draw(t, "left?") == 0 {
			a.Left = &inventory.Disposition{How: inventory.Died, On: max(on, a.Arrived).Add(rapid.IntRange(0, 20).Draw(t, "left after"))}
		}
		animals = append(animals, a.ID)
		h.put(Record(a))
	}
	h.somePapers(t, sites, animals, custodians)
	h.someStock(t, sites, kinds)
	h.someDeeds(t, sites, animals, keeper.Ref())
	for range rapid.IntRange(0, 4).Draw(t, "activities") {
		h.put(Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: inventory.Ref{Kind: inventory.KindSite, ID: rapid.SampledFrom(sites).Draw(t, "drilled")},
			On: anyDay(t, "drill"), Passed: anyTri(t, "passed")}))
	}
	for _, topic := range Topics {
		if rapid.IntRange(0, 3).Draw(t, "list kept") > 0 {
			f := Feed{ID: inventory.NewID(), Topic: topic, Keeper: Head, Complete: base.Add(rapid.IntRange(-100, 20).Draw(t, "complete")), MaxAge: rapid.IntRange(1, 60).Draw(t, "max age")}
			if rapid.IntRange(0, 3).Draw(t, "confirmed") > 0 {
				f.Confirmed = []day.Day{max(f.Complete, anyDay(t, "confirmed on"))}
			}
			h.put(Record(f))
		}
	}
	for range rapid.IntRange(0, 2).Draw(t, "not watched") {
		n := NotWatched{ID: inventory.NewID(), Subject: inventory.Ref{Kind: inventory.KindSite, ID: rapid.SampledFrom(sites).Draw(t, "unwatched")}, By: head.ID, Why: "w", From: anyDay(t, "unwatched from")}
		n.Last = n.From.Add(rapid.IntRange(0, 20).Draw(t, "unwatched for"))
		h.put(Record(n))
	}
	if rapid.IntRange(0, 2).Draw(t, "leaving planned") == 0 {
		h.put(Record(inventory.Planned{ID: inventory.NewID(), Kind: inventory.PlanLeaving, On: anyDay(t, "leaves"), Subject: inventory.Ref{Kind: inventory.KindAnimal, ID: animals[0]}}))
	}
	s, err := h.batch.Apply(&Snapshot{})
	if err != nil {
		t.Skip("the records refuse it: ", err)
	}
	return s
}

// someDeeds are events, notices, labels read and records destroyed, about
// anything.
func (h *house) someDeeds(t *rapid.T, sites, animals []inventory.ID, keeper inventory.Ref) {
	subjects := []inventory.Ref{keeper}
	for _, id := range sites {
		subjects = append(subjects, siteRef(id))
	}
	for _, id := range animals {
		subjects = append(subjects, inventory.Ref{Kind: inventory.KindAnimal, ID: id})
	}
	for range rapid.IntRange(0, 6).Draw(t, "deeds") {
		a := Activity{ID: inventory.NewID(), What: rapid.SampledFrom([]string{"event.x", "notice.x", "label.x", "destroyed.x"}).Draw(t, "deed"),
			Subject: rapid.SampledFrom(subjects).Draw(t, "about"), On: anyDay(t, "deed on"), Passed: anyTri(t, "deed passed")}
		if rapid.Bool().Draw(t, "hour known") {
			a.At = day.StartOf(a.On, zoneOf(h.site.Zone)).Add(20 * time.Hour).UTC()
		}
		if rapid.Bool().Draw(t, "fields known") {
			a.Fields = rapid.SampledFrom([][]string{{"banner"}, {"banner", "owner"}, {"owner"}}).Draw(t, "fields")
		}
		h.put(Record(a))
	}
}

func (h *house) somePapers(t *rapid.T, sites, animals []inventory.ID, holders []inventory.Ref) {
	var last Permit
	for i := range rapid.IntRange(0, 3).Draw(t, "papers") {
		p := anyPermit(t, h, fmt.Sprint("P", i))
		p.Holder = rapid.SampledFrom(holders).Draw(t, "holder")
		switch rapid.IntRange(0, 4).Draw(t, "paper of what") {
		case 0:
			p.Sites, p.AnyPlace = nil, true
		case 1:
			p.Sites, p.Animals = nil, []inventory.ID{rapid.SampledFrom(animals).Draw(t, "named")}
		case 2:
			p.Sites = sites
		}
		p.Grants = []Grant{rapid.SampledFrom([]Grant{{Rank: RankAny, Max: 3}, {Rank: RankFamily, Taxon: "Elapidae", Max: 1}, {Rank: RankGenus, Taxon: "Vipera"}, {Rank: RankSpecies, Taxon: "Naja kaouthia", Max: 2}}).Draw(t, "grant")}
		if i > 0 && rapid.Bool().Draw(t, "renews") {
			p.Renews = last.ID
		}
		last = p
		h.put(Record(p))
	}
}

func (h *house) someStock(t *rapid.T, sites []inventory.ID, kinds []inventory.Species) {
	s := &shelf{house: h, products: map[string]inventory.Product{}}
	s.place = inventory.Place{ID: inventory.NewID(), Site: sites[0], Title: "fridge"}
	s.put(Record(s.place))
	for i, product := range []string{"first", "second"} {
		for _, sp := range kinds {
			if basis := rapid.SampledFrom([]inventory.Basis{"", inventory.Indicated, inventory.Excluded}).Draw(t, "basis"); basis != "" {
				s.covers(product, sp, basis, 0, rapid.IntRange(0, 6).Draw(t, "full"))
			}
		}
		for j := range rapid.IntRange(0, 2).Draw(t, "lots") {
			s.put(Record(anyLot(t, s, product, fmt.Sprint("L", i, j))))
		}
	}
}

// everyKind has a rule of each kind, some with scopes that may be unknown.
var everyKind = []string{
	rule("a.paper", "paper", "animal", "permit", part13, "    scope: venomous && family != \"Colubridae\"\n"),
	rule("a.certificate", "certificate", "animal", "permit", "{class: keep, match: [taxon]}", "    scope: '!captive_bred'\n"),
	rule("a.licence", "licence", "person", "permit", "{class: keep}", "    scope: '\"keeper\" in roles'\n"),
	rule("a.drill", "drill", "site", "recurring", "{activity: drill.x, every: 14 days}"),
	rule("a.report", "report", "site", "recurring", "{activity: report.x, yearly: {month: 3, day: 31, for_previous_year: true}}"),
	rule("a.cover", "cover", "holding", "cover", coverRule),
	rule("a.notice", "told", "animal", "notice", "{events: [event.x], animal_events: [arrival, move, death], told: notice.x, within: 8 hours}", "    scope: venomous\n"),
	rule("a.site-notice", "told", "site", "notice", "{events: [event.x], told: notice.x, within: 1 business day, calendar: US-FED}", "    scope: site_use == \"private\"\n"),
	rule("a.record", "record", "person", "clean-record", "{events: [event.x], failed: [label.x], cleared: notice.x, within: 20 days}"),
	rule("a.keep", "kept", "animal", "keep", "{destroyed: destroyed.x, grounds: [{after: departure, for: 10 days}, {after: paper, class: keep, for: 12 days}]}", "    scope: venomous\n"),
	rule("a.keep-lot", "kept", "lot", "keep", "{destroyed: destroyed.x, grounds: [{after: emptied, for: 10 days}]}"),
	rule("a.label", "label", "animal", "wording", "{checked: label.x, fields: [banner, owner], every: 15 days}", "    scope: venomous\n"),
	rule("a.list", "list", "feed", "watch", "{what: list}"),
	rule("a.prohibit", "held", "animal", "prohibit", `{unless: [{citation: "c", scope: native, paper: {class: keep, match: [taxon]}}]}`, "    scope: family == \"Viperidae\"\n"),
	rule("a.order", "order", "animal", "order", "{before: arrival, antivenom: {bases: [indicated]}, lead: 9 days}"),
	rule("a.limit", "limit", "site", "limit", "{most: 3, of: 'family == \"Elapidae\"'}"),
}

// everyVerdict yields what a report says on each day of the stretch.
func everyVerdict(r *Report) iter.Seq2[*Judgement, day.Day] {
	return func(yield func(*Judgement, day.Day) bool) {
		for _, j := range r.Judgements {
			for on := base - 3; on <= base.Add(stretch+60); on++ {
				if !yield(j, on) {
					return
				}
			}
		}
	}
}

// everyPack is the rules as one law pack.
func everyPack(t testing.TB) *Rulebook {
	all := ""
	for _, r := range everyKind {
		all += r
	}
	return books(t, pack("a", "law", "us", all))
}
