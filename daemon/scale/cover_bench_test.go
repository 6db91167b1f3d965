package scale

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"testing/fstest"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// facility is one site with so many species, a third as many products, a lot
// for each fiftieth of a species and 50 places: the largest that is planned
// for has 400 species, 120 products and 20,000 lots. Lots end within the next
// three years; most products are plentiful at first.
func facility(species int) *compliance.Snapshot {
	m := &maker{rng: rand.New(rand.NewPCG(4, 2)), today: today}
	org := &inventory.Organisation{ID: m.id(), Title: "Invented house"}
	site := &inventory.Site{ID: m.id(), Organisation: org.ID, Title: "Invented site", Zone: "UTC"}
	enclosure := &inventory.Enclosure{ID: m.id(), Site: site.ID, Code: "E"}
	var places []*inventory.Place
	for i := range 50 {
		places = append(places, &inventory.Place{ID: m.id(), Site: site.ID, Title: fmt.Sprint("place ", i)})
	}
	var products []*inventory.Product
	for i := range max(2, species*3/10) {
		products = append(products, &inventory.Product{ID: m.id(), Type: fmt.Sprint("product ", i), LeadDays: 200})
	}
	var kinds []*inventory.Species
	var coverage []*inventory.Coverage
	var animals []*inventory.Animal
	for i := range species {
		sp := &inventory.Species{ID: m.id(), Accepted: "Inventa " + letters(i), Venomous: inventory.Yes}
		kinds = append(kinds, sp)
		for _, p := range m.rng.Perm(len(products))[:1+m.rng.IntN(2)] {
			coverage = append(coverage, &inventory.Coverage{ID: m.id(), Product: products[p].ID, Species: sp.ID, Basis: inventory.Indicated, Source: "invented",
				Vials: inventory.Always(inventory.Vials{Full: 2 * (1 + m.rng.IntN(10))})})
		}
		for n := range 1 + m.rng.IntN(3) {
			animals = append(animals, &inventory.Animal{ID: m.id(), Accession: fmt.Sprint(i, "-", n), Species: sp.ID, Arrived: today.Add(-400),
				Stays: []inventory.Stay{{Enclosure: enclosure.ID, From: today.Add(-400)}}})
		}
	}
	var lots []*inventory.Lot
	for i := range 50 * species {
		end := today.Add(m.rng.IntN(1100) - 300)
		if i%len(products) < len(products)/4 { // some products are nearly gone
			end = today.Add(-1 - m.rng.IntN(200))
			if m.oneIn(60) {
				end = today.Add(m.rng.IntN(600))
			}
		}
		lots = append(lots, &inventory.Lot{ID: m.id(), Product: products[i%len(products)].ID, Number: fmt.Sprint("L", i), Labelled: day.Until(end),
			Movements: []inventory.Movement{{On: today.Add(-700), Place: places[m.rng.IntN(len(places))].ID, Vials: 1 + m.rng.IntN(8), Reason: inventory.Received, Condition: inventory.Checked}}})
	}
	s := &m.out
	s.Organisations, s.Sites, s.Enclosures = tableOf([]*inventory.Organisation{org}), tableOf([]*inventory.Site{site}), tableOf([]*inventory.Enclosure{enclosure})
	s.Places, s.Products, s.Species, s.Coverage = tableOf(places), tableOf(products), tableOf(kinds), tableOf(coverage)
	s.Feeds = tableOf([]*compliance.Feed{{ID: m.id(), Topic: compliance.TopicStock, Site: site.ID, Keeper: compliance.Curator, Complete: today.Add(-2000), Confirmed: []day.Day{today}, MaxAge: 400}})
	s.Animals, s.Lots = tableOf(animals), tableOf(lots)
	return s
}

// letters writes a number as a word of letters.
func letters(n int) (out string) {
	for range 4 {
		out += string(rune('a' + n%26))
		n /= 26
	}
	return out
}

// BenchmarkCover judges cover for one victim, two and three over 24 months and
// all days before, by the size of the facility.
func BenchmarkCover(b *testing.B) {
	const pack = "format: 1\npack: bench\ntitle: Invented\nlayer: house\nedition: \"1\"\nread_on: 2026-11-25\nreview_by: 2027-11-25\nrules:\n" +
		"  - {id: bench.r, requirement: r, title: Invented, consequence: None., severity: serious, owner: curator, citation: {text: invented, certainty: D}, " +
		"subject: holding, kind: cover, params: {victims: %d, bases: [indicated], order_lead: 200 days}}\n"
	for _, victims := range []int{1, 2, 3} {
		for _, species := range []int{50, 100, 200, 400} {
			s := facility(species)
			rules, err := compliance.ReadRulebook(day.Embedded(), fstest.MapFS{"p.yaml": {Data: fmt.Appendf(nil, pack, victims)}})
			if err != nil {
				b.Fatal(err)
			}
			b.Run(fmt.Sprintf("victims=%d/species=%d", victims, species), func(b *testing.B) {
				out := 0
				for b.Loop() {
					r := compliance.Evaluate(rules, s, compliance.Ask{Now: now})
					out = 0
					for _, j := range r.Judgements {
						if v, _ := j.At(today); j.Key.Requirement == "r" && v.Standing == compliance.OutOfOrder {
							out++
						}
					}
				}
				b.ReportMetric(float64(out), "out-of-order")
			})
		}
	}
}
