package answer

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// drillRule is a rule about drills, as a pack of its own.
func drillRule(id, layer, area, every, more string) string {
	if area != "" {
		area = "jurisdiction: " + area + "\n"
	}
	return fmt.Sprintf(`format: 1
pack: %[1]s
title: Pack %[1]s
layer: %[2]s
%[3]sedition: "1"
read_on: 2026-01-01
review_by: 2027-01-01
rules:
  - id: %[1]s
    requirement: drill
    title: A drill
    consequence: C
    severity: serious
    owner: administrator
    subject: site
    citation: {text: by-law %[1]s, certainty: R}
    kind: recurring
    params: {activity: drill.x, every: %[4]s}
%[5]s`, id, layer, area, every, more)
}

// explained is the answer for a site where a drill was held three months ago.
func explained(t *testing.T, use inventory.SiteUse, packs ...string) (*Explain, *Check) {
	t.Helper()
	org := inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}
	site := inventory.Site{ID: inventory.NewID(), Organisation: org.ID, Title: "Site", Zone: "UTC", Use: use, Jurisdiction: inventory.Always("xx/moss")}
	feed := compliance.Feed{ID: inventory.NewID(), Topic: compliance.TopicActivities, Keeper: compliance.Head, Complete: day.MustParse("2020-01-01"),
		Confirmed: []day.Day{day.MustParse("2026-06-01")}, MaxAge: 1000}
	drill := compliance.Activity{ID: inventory.NewID(), What: "drill.x", Subject: site.Ref(), On: day.MustParse("2026-03-15"), Passed: inventory.Yes}
	s, err := compliance.Batch{compliance.Record(org), compliance.Record(site), compliance.Record(feed), compliance.Record(drill)}.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	files := fstest.MapFS{}
	for i, text := range packs {
		files[fmt.Sprint(i, ".yaml")] = &fstest.MapFile{Data: []byte(text)}
	}
	book, err := compliance.ReadRulebook(day.Embedded(), files)
	if err != nil {
		t.Fatal(err)
	}
	r := compliance.Evaluate(book, s, compliance.Ask{Now: time.Date(2026, 6, 15, 12, 0, 0, 0, time.UTC)})
	return NewExplain(r, site.Ref()), NewCheck(r)
}

// TestExplainTellsWhatEachRuleCountsFor: which binds, which is superseded,
// lifted or silent, by what, and where a law of a lower place is laxer.
func TestExplainTellsWhatEachRuleCountsFor(t *testing.T) {
	const (
		exemptions = "    exemptions: [{name: licensed-zoo, citation: {text: section 9, certainty: R}}]\n"
		exempts    = "    exempts: [{rule: xx.a, exemption: licensed-zoo, when: 'site_use == \"zoo\"', citation: {text: section 9 of the other, certainty: R2}}]\n"
		preempts   = "    preempts: [{rule: moss.b, citation: {text: the treaty, certainty: R}}]\n"
	)
	for _, c := range []struct {
		name  string
		use   inventory.SiteUse
		packs []string
		parts map[string]compliance.Part
		says  []string
	}{
		{"the lower law is laxer", inventory.UseZoo, []string{drillRule("xx.a", "law", "xx", "1 month", ""), drillRule("moss.b", "law", "xx/moss", "12 months", "")},
			map[string]compliance.Part{"xx.a": compliance.Binds, "moss.b": compliance.Superseded}, []string{"lower layer laxer", "meet xx.a"}},
		{"the house is laxer", inventory.UseZoo, []string{drillRule("xx.a", "law", "xx", "1 month", ""), drillRule("own.b", "house", "", "12 months", "")},
			map[string]compliance.Part{"xx.a": compliance.Binds, "own.b": compliance.Superseded}, []string{"The rule of the house is laxer"}},
		{"guidance is silent", inventory.UseZoo, []string{drillRule("xx.a", "law", "xx", "12 months", ""), drillRule("any.g", "guidance", "", "1 month", "")},
			map[string]compliance.Part{"xx.a": compliance.Binds, "any.g": compliance.Silenced}, []string{"silent: guidance"}},
		{"an exemption lifts it", inventory.UseZoo, []string{drillRule("xx.a", "law", "xx", "1 month", exemptions), drillRule("moss.b", "law", "xx/moss", "12 months", exempts)},
			map[string]compliance.Part{"xx.a": compliance.LiftedOut, "moss.b": compliance.Binds}, []string{"moss.b lifts it, by the exemption licensed zoo", "section 9 of the other"}},
		{"not for this site", inventory.UsePrivate, []string{drillRule("xx.a", "law", "xx", "1 month", exemptions), drillRule("moss.b", "law", "xx/moss", "12 months", exempts)},
			map[string]compliance.Part{"xx.a": compliance.Binds, "moss.b": compliance.Superseded}, []string{"lower layer laxer"}},
		{"nobody recorded what the site is", "", []string{drillRule("xx.a", "law", "xx", "1 month", exemptions), drillRule("moss.b", "law", "xx/moss", "12 months", exempts)},
			map[string]compliance.Part{"xx.a": compliance.Binds, "moss.b": compliance.Superseded}, []string{"may lift (it cannot be told)", "Not recorded"}},
		{"a higher law cancels it", inventory.UseZoo, []string{drillRule("xx.a", "law", "xx", "12 months", preempts), drillRule("moss.b", "law", "xx/moss", "1 month", "")},
			map[string]compliance.Part{"xx.a": compliance.Binds, "moss.b": compliance.LiftedOut}, []string{"NEEDS LEGAL REVIEW", "the treaty"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			e, check := explained(t, c.use, c.packs...)
			found := false
			for _, d := range e.Duties {
				if d.Requirement != "drill" {
					continue
				}
				found = true
				for _, r := range d.Rules {
					if r.Part != c.parts[r.ID] || r.Binds != (r.Part == compliance.Binds) {
						t.Errorf("%s: %s, binds %t; want %s", r.ID, r.Part, r.Binds, c.parts[r.ID])
					}
				}
			}
			text := strings.Join(strings.Fields(written(t, e)), " ")
			for _, want := range c.says {
				if !strings.Contains(text, want) {
					t.Errorf("%q is not in\n%s", want, written(t, e))
				}
			}
			if !found {
				t.Error("nothing is said of drills")
			}
			review := strings.Contains(written(t, check), "NEEDS LEGAL REVIEW")
			if want := strings.Contains(c.packs[0], "preempts"); review != want {
				t.Errorf("check asks for legal review: %t, want %t", review, want)
			}
		})
	}
}
