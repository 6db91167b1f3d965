package scale

import (
	"testing"
	"testing/fstest"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// BenchmarkKinds judges the national network under one rule of each of those
// kinds that the benchmarks' own packs do not have.
func BenchmarkKinds(b *testing.B) {
	const head = "format: 1\npack: bench\ntitle: Invented\nlayer: house\nedition: \"1\"\nread_on: 2026-11-25\nreview_by: 2027-11-25\nrules:\n" +
		"  - {id: bench.r, requirement: r, title: Invented, consequence: None., severity: serious, owner: curator, citation: {text: invented, certainty: D}, "
	s := Network(National, today)
	for _, k := range []struct{ name, rule string }{
		{"limit", "subject: site, kind: limit, params: {most: 50, of: venomous}}\n"},
		{"limit of species", "subject: organisation, kind: limit, params: {most: 5, count: species, without_antivenom: true}}\n"},
		{"prohibit", "subject: animal, kind: prohibit, params: {unless: [{citation: invented, scope: site_use == \"zoo\", paper: {class: keep-licence}}]}}\n"},
		{"order", "subject: animal, kind: order, params: {before: arrival, antivenom: {bases: [indicated, immunogen]}}}\n"},
	} {
		rules, err := compliance.ReadRulebook(day.Embedded(), fstest.MapFS{"p.yaml": {Data: []byte(head + k.rule)}})
		if err != nil {
			b.Fatal(err)
		}
		b.Run(k.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				compliance.Evaluate(rules, s, compliance.Ask{Now: now})
			}
		})
	}
	b.Run("no rule but the watch's own", func(b *testing.B) {
		for b.Loop() {
			compliance.Evaluate(&compliance.Rulebook{Holidays: day.Embedded()}, s, compliance.Ask{Now: now})
		}
	})
}
