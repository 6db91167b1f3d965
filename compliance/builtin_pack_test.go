package compliance

import (
	"strings"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestPacksAreRecheckedInTime: a pack is told of thirty days before it must be
// read again, and cannot be told to be the law from the day after; one of
// which nobody recorded what was read when, never.
func TestPacksAreRecheckedInTime(t *testing.T) {
	const source = "definition of this project: law.md 6, a rule past its review or without an edition is a finding, not silence"
	whole := pack("mine", "law", "us", rule("mine.r", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}"))
	for _, c := range []struct {
		name, drop string
		area       string
		want       map[string]Code
		needed     map[string]bool
	}{
		{"read in time", "", "us", map[string]Code{"2026-06-15": PackRead, "2027-01-01": PackRead, "2027-01-02": RuleUnverified},
			map[string]bool{"2026-12-01": false, "2026-12-02": true, "2027-01-02": true}},
		{"no edition", "edition: \"1\"\n", "us", map[string]Code{"2026-06-15": RuleUnverified}, map[string]bool{"2026-06-15": true}},
		{"nobody knows when it was read", "read_on: 2026-01-01\n", "us", map[string]Code{"2026-06-15": RuleUnverified}, map[string]bool{"2026-06-15": true}},
		{"nobody says when to read it again", "review_by: 2027-01-01\n", "us", map[string]Code{"2026-06-15": RuleUnverified}, map[string]bool{"2026-06-15": true}},
		{"a law of elsewhere", "edition: \"1\"\n", "au", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t)
			text := replaced(replaced(whole, c.drop, ""), "jurisdiction: us\n", "jurisdiction: "+c.area+"\n")
			key := Key{Requirement: "pack-review", Subject: h.org.Ref(), Occurrence: "mine"}
			b, s := books(t, text), h.snapshot()
			j := Evaluate(b, s, Ask{Now: noon}).Of(key)
			if (j == nil) != (c.want == nil) {
				t.Fatalf("judged: %t (%s)", j != nil, source)
			}
			for on, want := range c.want {
				if got := j.Policy.At(d(on)); got.State != want || (want == PackRead) != (got.Standing == InOrder) || got.Standing == OutOfOrder {
					t.Errorf("%s: %s (%s), want %s (%s)", on, got.State, got.Standing, want, source)
				}
			}
			for on, want := range c.needed {
				r := Evaluate(b, s, Ask{Now: noon, On: d(on)})
				f, needed := r.Finding(r.Of(key))
				if needed != want || needed && (f.Verdict.Step.Do != RecheckPack || f.Verdict.Step.Owner != Administrator || c.drop == "" && f.Verdict.Step.By != d("2027-01-01")) {
					t.Errorf("%s: needed %t with %+v, want %t (%s)", on, needed, f.Verdict.Step, want, source)
				}
				if needed && !strings.Contains(string(r.Why(r.Of(key), d(on))[0].Code), "pack-read") {
					t.Errorf("%s: why: %v", on, r.Why(r.Of(key), d(on)))
				}
			}
		})
	}
}

// TestTheAreaOfAPackIsByDay: a pack is asked about while a site stands under
// its law, and no longer.
func TestTheAreaOfAPackIsByDay(t *testing.T) {
	h := newHouse(t)
	h.site.Jurisdiction = []inventory.Dated[string]{{Value: "us/fl"}, {From: d("2026-09-01"), Value: "gb/eaw"}}
	h.put(Record(h.site))
	j := Evaluate(book(t, "law", "us", rule("mine.r", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}")), h.snapshot(), Ask{Now: noon}).
		Of(Key{Requirement: "pack-review", Subject: h.org.Ref(), Occurrence: "test"})
	for on, want := range map[day.Day]Standing{d("2026-08-31"): InOrder, d("2026-09-01"): NotApplicable} {
		if got := j.Policy.At(on).Standing; got != want {
			t.Errorf("%s: %s, want %s", on, got, want)
		}
	}
}
