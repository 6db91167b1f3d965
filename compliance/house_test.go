package compliance

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// house builds small records for tests: one organisation, one site under
// us/fl, one authority, and lists that cover everything and are fresh.
type house struct {
	t     testing.TB
	batch Batch
	org   inventory.Organisation
	site  inventory.Site
	auth  Authority
	n     int
}

// noon is the instant at which tests ask, unless they say otherwise.
var noon = time.Date(2026, time.June, 15, 16, 0, 0, 0, time.UTC)

var d = day.MustParse

func newHouse(t testing.TB) *house {
	h := &house{t: t}
	h.org = inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}
	h.site = inventory.Site{ID: inventory.NewID(), Organisation: h.org.ID, Title: "Site", Zone: "America/New_York", Use: inventory.UsePrivate, Jurisdiction: inventory.Always("us/fl")}
	h.auth = Authority{ID: inventory.NewID(), Title: "Office", Zone: "America/New_York", Calendar: "US-FED"}
	h.put(Record(h.org), Record(h.site), Record(h.auth))
	return h
}

// lists makes every list complete since ever and confirmed beyond every test.
func (h *house) lists() *house {
	for _, topic := range Topics {
		h.put(Record(Feed{ID: inventory.NewID(), Topic: topic, Keeper: Head, Complete: d("1990-01-01"), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 20000}))
	}
	return h
}

func (h *house) put(changes ...Change) { h.batch = append(h.batch, changes...) }

func (h *house) snapshot() *Snapshot {
	h.t.Helper()
	s, err := h.batch.Apply(&Snapshot{})
	if err != nil {
		h.t.Fatal(err)
	}
	return s
}

func (h *house) species(name, family string) inventory.Species {
	s := inventory.Species{ID: inventory.NewID(), Accepted: name, Family: family, Venomous: inventory.Yes}
	h.put(Record(s))
	return s
}

// animal is held at the site since 2000.
func (h *house) animal(s inventory.Species) inventory.Animal {
	h.n++
	e := inventory.Enclosure{ID: inventory.NewID(), Site: h.site.ID, Code: fmt.Sprintf("E%d", h.n)}
	a := inventory.Animal{ID: inventory.NewID(), Accession: fmt.Sprintf("A%d", h.n), Species: s.ID, Arrived: d("2000-01-01"),
		Stays: []inventory.Stay{{Enclosure: e.ID, From: d("2000-01-01")}}}
	h.put(Record(e), Record(a))
	return a
}

// permit is held by the house for the site and lists every animal.
func (h *house) permit(number string, expires day.End) Permit {
	return Permit{ID: inventory.NewID(), Number: number, Class: "keep", Authority: h.auth.ID, Holder: h.org.Ref(), Sites: []inventory.ID{h.site.ID},
		Grants: []Grant{{Rank: RankAny}}, Issued: d("2001-01-01"), From: d("2001-01-01"), Expires: expires, Renewable: inventory.Yes}
}

// book reads rules written as YAML list items with the given head.
func book(t testing.TB, layer, area, rules string) *Rulebook {
	t.Helper()
	return books(t, pack("test", layer, area, rules))
}

func books(t testing.TB, packs ...string) *Rulebook {
	t.Helper()
	files := fstest.MapFS{}
	for i, p := range packs {
		files[fmt.Sprintf("p%d.yaml", i)] = &fstest.MapFile{Data: []byte(p)}
	}
	b, err := ReadRulebook(day.Embedded(), files)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func pack(name, layer, area, rules string) string {
	jurisdiction := ""
	if area != "" {
		jurisdiction = "jurisdiction: " + area + "\n"
	}
	return "format: 1\npack: " + name + "\ntitle: Test\nlayer: " + layer + "\n" + jurisdiction +
		"edition: \"1\"\nread_on: 2026-01-01\nreview_by: 2027-01-01\nrules:\n" + rules
}

// rule writes one rule; params is YAML in flow style.
func rule(id, requirement, subject, kind, params string, more ...string) string {
	return fmt.Sprintf(`  - id: %s
    requirement: %s
    title: T
    consequence: C
    severity: serious
    owner: administrator
    subject: %s
    citation: {text: "test", certainty: R}
    kind: %s
    params: %s
%s`, id, requirement, subject, kind, params, strings.Join(more, ""))
}

// lineOf evaluates and gives the law line of a requirement and subject.
func lineOf(t testing.TB, b *Rulebook, s *Snapshot, requirement string, subject inventory.Ref) Line {
	t.Helper()
	j := Evaluate(b, s, Ask{Now: noon}).Of(Key{Requirement: requirement, Subject: subject})
	if j == nil {
		t.Fatalf("nothing was judged for %s of %s", requirement, subject)
	}
	return j.Law
}

// replaced is a text in which something stands for something else, and must.
func replaced(text, old, instead string) string {
	if old == "" {
		return text
	}
	out := strings.Replace(text, old, instead, 1)
	if out == text && old != instead {
		panic(fmt.Sprintf("%q is not in %q", old, text))
	}
	return out
}
