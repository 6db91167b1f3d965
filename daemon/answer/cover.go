package answer

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Cover answers whether the antivenom at each site is enough for the worst
// bites that are planned for, on a day and until when, and what would close
// what is short.
type Cover struct {
	Telling
	Format int         `json:"format"`
	Now    time.Time   `json:"now"`
	Sites  []CoverSite `json:"sites"`
}

// CoverSite is one site's answer.
type CoverSite struct {
	Site   string   `json:"site"`
	On     day.Day  `json:"on"`
	Rule   string   `json:"rule,omitempty"` // whose terms these are; empty: none is loaded, the usual ones
	Counts string   `json:"counts"`         // which vials count
	Shared []string `json:"shared_with,omitempty"`
	// CannotTell says why the records do not prove it: what follows is by the
	// records alone.
	CannotTell []string        `json:"cannot_tell,omitempty"`
	Scenarios  []CoverScenario `json:"scenarios"`
	Apart      []CoverApart    `json:"apart"` // species that no scenario takes in
}

// CoverScenario is the worst set of so many victims.
type CoverScenario struct {
	Victims int      `json:"victims"`
	Worst   []string `json:"worst,omitempty"` // species of the worst set; none: everybody can be treated
	Given   []string `json:"given,omitempty"` // the product of each, as well as can be
	People  int      `json:"people_without_full_course"`
	Vials   int      `json:"vials_missing"`
	// Unsure: with the vials that may be usable, but are not known to be, the
	// worst set would be short of less, or of nothing.
	Unsure bool `json:"unsure,omitempty"`
	// Closing is the smallest number of vials that would let everybody be
	// treated, whoever is bitten.
	Closing []Closing `json:"closing,omitempty"`
	// First is the first later day on which the worst is worse.
	First *CoverTurn `json:"worse_from,omitempty"`
}

// Closing is vials of a product.
type Closing struct {
	Product string `json:"product"`
	Vials   int    `json:"vials"`
}

// CoverTurn is the worst set from a day on.
type CoverTurn struct {
	On     day.Day  `json:"on"`
	Worst  []string `json:"worst"`
	People int      `json:"people_without_full_course"`
	Vials  int      `json:"vials_missing"`
}

// CoverApart is a species that nothing treats, or of which nobody knows it.
type CoverApart struct {
	Species  string          `json:"species"`
	State    compliance.Code `json:"state"`
	Words    string          `json:"words"`
	Approved bool            `json:"approved"`
}

// NewCover makes the answer for the sites, for each number of victims, each by
// the terms of the rule on cover that binds there. On is unset for today at each
// site.
func NewCover(r *compliance.Report, sites []inventory.ID, victims []int, on day.Day) *Cover {
	v := r.View
	c := &Cover{Telling: Telling{!v.House().Mailed}, Format: Format, Now: v.Ask.Now.UTC(), Sites: []CoverSite{}}
	for _, site := range sites {
		there := cmp.Or(on, v.Today(site))
		c.Sites = append(c.Sites, coverAt(v, r.CoverTerms(site, there), site, victims, there))
	}
	return c
}

func coverAt(v *compliance.View, terms compliance.CoverTerms, site inventory.ID, victims []int, on day.Day) CoverSite {
	out := CoverSite{Site: v.Site(site).Title, On: on, Counts: counting(terms.Scene), Apart: []CoverApart{}}
	if terms.Rule != nil {
		out.Rule = terms.Rule.ID
	}
	for _, reason := range v.StockDoubts(site, on) {
		out.CannotTell = append(out.CannotTell, words.Reason(reason))
	}
	for _, n := range victims {
		scene := terms.Scene
		scene.Victims = n
		staged := v.Stage(scene, terms.Bases, site)
		out.Scenarios = append(out.Scenarios, scenarioOn(v, staged, on))
		if n == victims[len(victims)-1] {
			for _, other := range staged.Sites[1:] {
				out.Shared = append(out.Shared, v.Site(other).Title)
			}
		}
	}
	for _, a := range terms.Apart(v, site) {
		state := a.State
		switch {
		case a.Approved && state == compliance.Uncoverable:
			state = compliance.UncoverableApproved
		case a.Approved:
			state = compliance.UnobtainableApproved
		}
		out.Apart = append(out.Apart, CoverApart{v.NameOf(a.Holding), state, words.State(state), a.Approved})
	}
	return out
}

func counting(s compliance.Scene) string {
	text := "vials in the site's own places"
	if s.Within != compliance.OwnPlaces {
		text = fmt.Sprintf("vials recorded as %d minutes away at most, in places of the house and under confirmed agreements", s.Within)
	}
	if s.Approved {
		text += ", those of the house only where it may use them without a paper or under one in force"
	}
	return text
}

// byRule says whose terms are asked about.
func byRule(rule string) string {
	if rule == "" {
		return "by the usual terms: no rule on cover speaks here"
	}
	return "by rule " + rule
}

func scenarioOn(v *compliance.View, s *compliance.Staged, on day.Day) CoverScenario {
	worst, set := s.Worst(on, false)
	out := CoverScenario{Victims: s.Victims, People: worst.Shortage.People, Vials: worst.Shortage.Vials}
	for i, holding := range set {
		out.Worst = append(out.Worst, s.Species(v, holding))
		out.Given = append(out.Given, v.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: s.Products[worst.Given[i]]}))
	}
	if len(set) > 0 {
		most, _ := s.Worst(on, true)
		out.Unsure = worst.Shortage.Above(most.Shortage)
		out.Closing = closing(v, s, on)
	}
	for _, later := range s.Days(on, on.AddMonths(24)) {
		if next, victims := s.Worst(later, false); next.Shortage.Above(worst.Shortage) {
			turn := &CoverTurn{On: later, People: next.Shortage.People, Vials: next.Shortage.Vials}
			for _, holding := range victims {
				turn.Worst = append(turn.Worst, s.Species(v, holding))
			}
			out.First = turn
			break
		}
	}
	return out
}

// closing names the fewest vials that let everybody be treated.
func closing(v *compliance.View, s *compliance.Staged, on day.Day) (out []Closing) {
	for _, p := range s.Closing(on) {
		out = append(out, Closing{v.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: p.Product}), p.Vials})
	}
	slices.SortFunc(out, func(a, b Closing) int { return cmp.Compare(a.Product, b.Product) })
	return out
}

// WriteText writes the answer for a terminal.
func (c *Cover) WriteText(w io.Writer) error {
	p := &printer{w: w}
	for i := range c.Sites {
		c.Sites[i].write(p)
	}
	if len(c.Sites) == 0 {
		p.text("No site is recorded.")
	}
	p.text("Covered is not safe: these are planning figures for the worst bites that are planned for. " + words.Caution)
	return p.err
}

func (s *CoverSite) write(p *printer) {
	p.line("%s, %s", s.Site, words.Day(s.On))
	p.field("counted", s.Counts+", "+byRule(s.Rule))
	if len(s.Shared) > 0 {
		p.field("together", "with "+strings.Join(s.Shared, ", ")+", which may need the same vials")
	}
	for _, why := range s.CannotTell {
		p.field("CANNOT TELL", why+" What follows is by the records alone.")
	}
	for i := range s.Scenarios {
		s.Scenarios[i].write(p, len(s.Shared) > 0)
	}
	for _, a := range s.Apart {
		p.field("apart", a.Species+": "+a.Words)
	}
	p.line("")
}

func (c *CoverScenario) write(p *printer, shared bool) {
	label := words.Count(c.Victims, "victim")
	if len(c.Worst) == 0 {
		p.field(label, "everybody can have a full course, whoever is bitten")
	} else {
		p.field(label, "at worst "+missing(c.Worst, c.People, c.Vials))
		p.field("given", "as well as can be: "+strings.Join(c.Given, " + "))
		if c.Unsure {
			p.field("not counted", "vials that nobody has checked, or whose end or partner is not confirmed; they may make it better")
		}
		if len(c.Closing) > 0 {
			where := ""
			if shared {
				where = ", kept where each of these sites reaches them"
			}
			p.field("to close it", "the fewest vials"+where+": "+closingWords(c.Closing))
		}
	}
	if c.First != nil {
		p.field("worse from", words.Day(c.First.On)+": "+missing(c.First.Worst, c.First.People, c.First.Vials))
	}
}

// missing says what a set of victims is short of.
func missing(worst []string, people, vials int) string {
	return fmt.Sprintf("%s: %s without a full course, %s missing", strings.Join(worst, " + "), persons(people), words.Count(vials, "vial"))
}

func persons(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

func closingWords(all []Closing) string {
	var out []string
	for _, c := range all {
		out = append(out, fmt.Sprintf("%d of %s", c.Vials, c.Product))
	}
	return strings.Join(out, ", ")
}
