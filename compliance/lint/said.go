package lint

import (
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/strict"
	"antidotary/inventory"
)

// said looks at what a pack says of itself.
func (l *linter) said(p *pack) {
	at := func(field string) strict.Pos {
		f, _ := p.file.Pack.Get(field)
		return f.Pos
	}
	missing := func(field string, is bool) {
		if is {
			l.tell(false, at("pack"), field, "is missing; without it nobody can say which text these rules are from, and that is a finding every day")
		}
	}
	missing("edition", p.Edition == "")
	missing("read_on", p.ReadOn.IsZero())
	missing("review_by", p.ReviewBy.IsZero())
	switch {
	case p.ReadOn.IsZero() || p.ReviewBy.IsZero():
	case p.ReadOn > l.Today:
		l.tell(false, at("read_on"), "read_on", "%s is still to come; write the day on which the text was read", p.ReadOn)
	case p.ReviewBy <= p.ReadOn:
		l.tell(false, at("review_by"), "review_by", "%s is not after the reading on %s; write the day by which it must be read again", p.ReviewBy, p.ReadOn)
	case p.ReviewBy < l.Today:
		l.tell(false, at("review_by"), "review_by", "was due on %s; read the text again, and if it is unchanged: antidotary rules recheck %s --as NAME", p.ReviewBy, p.file.Name)
	case p.ReviewBy > p.ReadOn.AddYears(2):
		l.tell(true, at("review_by"), "review_by", "is more than two years after the reading; law changes sooner than that (common practice, no source)")
	}
	for _, other := range l.packs {
		if other != p && other.Name == p.Name && (!other.asked || other.file.Name < p.file.Name) {
			l.tell(false, at("pack"), "pack", "%q is the name of %s too; give each pack its own", p.Name, other.file.Name)
		}
	}
	if p.Layer == compliance.Law {
		l.parents(p, at("jurisdiction"))
	}
}

// parents tells where nobody speaks for what is above a jurisdiction.
func (l *linter) parents(p *pack, at strict.Pos) {
	var silent []string
	for above := p.Area; ; {
		cut := strings.LastIndex(above, "/")
		if cut < 0 {
			break
		}
		above = above[:cut]
		if !slices.ContainsFunc(l.packs, func(other *pack) bool { return other.Layer == compliance.Law && other.Area == above }) {
			silent = append(silent, above)
		}
	}
	if len(silent) > 0 {
		l.tell(true, at, "jurisdiction", "no law pack speaks for %s; what is asked there is not watched", strings.Join(silent, " or "))
	}
}

// tested looks at whether a pack's tests reach its rules.
func (l *linter) tested(p *pack) {
	l.elsewhere(p)
	title, _ := p.file.Pack.Get("pack")
	asked := make(map[string]bool)
	for _, c := range p.Cases {
		for _, e := range c.Expects {
			asked[e.Requirement] = true
			known := slices.ContainsFunc(l.rules, func(r *rule) bool {
				return r.Requirement == e.Requirement && (r.pack == p || slices.Contains(c.With, r.pack.Name))
			})
			if !known && e.Standing != compliance.NotApplicable {
				l.tell(false, e.Where, "tests", "no rule of this pack, or of those that the test names, asks for %q%s", e.Requirement, l.near(e.Requirement, l.requirements(p)))
			}
		}
	}
	var untested []string
	for _, r := range l.rules {
		if r.pack == p && !asked[r.Requirement] && !slices.Contains(untested, r.Requirement) {
			untested = append(untested, r.Requirement)
		}
	}
	switch {
	case len(p.Cases) == 0 && len(p.Rules) > 0:
		l.tell(true, title.Pos, "tests", "there are none; write down an answer that you worked out by hand, so that a slip is found")
	case len(untested) > 0:
		l.tell(true, title.Pos, "tests", "none expects anything of %s", strings.Join(untested, ", "))
	}
}

// elsewhere tells where no test of a pack stands under its law.
func (l *linter) elsewhere(p *pack) {
	other := ""
	for _, c := range p.Cases {
		switch law := c.Facts.Law; {
		case law == "":
		case p.Area == "" || inventory.Within(law, p.Area):
			return
		case other == "":
			other = law
		}
	}
	if at, _ := p.file.Pack.Get("jurisdiction"); other != "" {
		l.tell(false, at.Pos, "jurisdiction", "no test of this pack stands within %q, and one stands under %q: no rule is asked there; write the same place in both", p.Area, other)
	}
}

func (l *linter) requirements(p *pack) (all []string) {
	for _, r := range p.Rules {
		all = append(all, r.Requirement)
	}
	return all
}

// cited looks at where a rule comes from.
func (l *linter) cited(r *rule) {
	c := r.Citation
	firm := c.Certainty == inventory.Read || c.Certainty == inventory.Secondary
	switch {
	case r.Layer == compliance.Law && c.Certainty == inventory.Memory:
		l.mistake(r, "citation.certainty", "is M, from memory, and nothing from memory is law; read the text, or put the rule into a pack of layer guidance or house")
	case r.Layer == compliance.Law && firm && c.ReadOn.IsZero():
		l.note(r, "citation.text", "says no read_on; write the day on which this text was read")
	case c.ReadOn > l.Today:
		l.mistake(r, "citation.read_on", "%s is still to come", c.ReadOn)
	}
	if r.kind == "wording" && r.Subject == inventory.KindPlace {
		l.note(r, "subject", "a place is where antivenom is kept, and not an enclosure; for a label on each enclosure write subject: animal")
	}
	if !r.Last.IsZero() && r.Last < l.Today {
		l.note(r, "last", "is past; the rule answers for days until %s only", r.Last)
	}
}

// near suggests a word.
func (l *linter) near(word string, known []string) string {
	if near := strict.Closest(word, known); near != "" && near != word {
		return "; did you mean " + near + "?"
	}
	return ""
}
