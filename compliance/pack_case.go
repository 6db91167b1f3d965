package compliance

import (
	"slices"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Case is a pack's own test: of a few facts, on one day, these answers are
// expected. It is judged by the pack's rules and those of the packs that it
// names, and by nothing else that is loaded.
type Case struct {
	Name    string
	Source  string   // why the answers are expected: a text of law, a computation by hand
	With    []string // other packs by name
	Day     day.Day
	Come    bool // what is ordered is taken to come as expected
	Facts   Facts
	Expects []Expect
	Where   strict.Pos
}

// Facts are the few records of a case: one house with one site and, unless
// they say otherwise, with complete lists that were confirmed on the day. What
// is left out is unknown.
type Facts struct {
	Law      string // jurisdiction of the site; empty: unknown
	Use      inventory.SiteUse
	Zone     string
	Calendar string // working days of the office that papers come from
	Victims  int
	NoLists  bool // nobody keeps a list

	People  []FactPerson
	Species []FactSpecies
	Animals []FactAnimal
	Papers  []FactPaper
	Done    []FactDone
	Vials   []FactVials

	Products   []FactProduct
	Places     []FactPlace
	Orders     []FactOrder
	Agreements []FactAgreement
	Authorised []FactAuthorised
	Sessions   []FactSession
}

// Expect is one answer that is expected.
type Expect struct {
	Requirement string
	Subject     string // site, house, list TOPIC, or animal, paper, person, species or place with its name
	Occurrence  string // the year, or the event and its day, of what is asked several times
	Rule        string // the answer of this rule alone; empty: of all together
	Standing    Standing
	State       Code    // empty: whatever it is
	By          day.Day // last day to act; unset: whatever it is
	Legal       day.Day // last day by the rule itself; unset: whatever it is
	Where       strict.Pos
}

var standings = []string{NotApplicable.String(), InOrder.String(), CannotTell.String(), OutOfOrder.String()}

// readCases reads the tests of a pack.
func readCases(m *strict.Map) (all []*Case) {
	first := make(map[string]bool)
	for _, cm := range m.OptMaps("tests") {
		c := &Case{Name: cm.String("name"), Source: cm.String("source"), With: cm.OptStrings("with"), Day: cm.Day("day"), Come: cm.OptBool("orders_come", false), Where: cm.Where()}
		if first[c.Name] {
			cm.Fail("name", "is the name of another test; give each its own")
		}
		first[c.Name] = true
		c.Facts = readFacts(cm.Map("facts"))
		for _, em := range cm.Maps("expect") {
			c.Expects = append(c.Expects, readExpect(em, &c.Facts))
		}
		all = append(all, c)
	}
	return all
}

func readExpect(m *strict.Map, f *Facts) Expect {
	e := Expect{
		Requirement: readWord(m, "requirement"),
		Subject:     m.String("subject"),
		Occurrence:  m.OptString("occurrence"),
		State:       Code(m.OptString("state")),
		By:          m.OptDay("by"),
		Legal:       m.OptDay("legal"),
		Where:       m.Where(),
	}
	if m.Has("rule") {
		e.Rule = readWord(m, "rule")
	}
	e.Standing = Standing(max(0, slices.Index(standings, m.Enum("standing", standings...))))
	if _, err := f.subject(e.Subject); err != nil && e.Subject != "" {
		m.Fail("subject", "%v", err)
	}
	return e
}
