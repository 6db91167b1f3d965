package lint

import (
	"regexp"
	"slices"

	"antidotary/compliance"
)

// required is the place of the class of a prerequisite, in whatever mapping
// the paper is that needs it.
var required = regexp.MustCompile(`\.requires\[\d+\]\.class$`)

// requires looks at classes of papers that a rule's own paper needs and that
// nothing else knows: no record, and no rule that asks for such a paper. That
// other rules need it too proves nothing, since a slip is copied with the rest.
func (l *linter) requires(r *rule) {
	var known []string
	for _, h := range l.Houses {
		for p := range h.Snapshot.Permits.All() {
			known = append(known, p.Class)
		}
	}
	for _, other := range l.rules {
		for _, w := range wordsUnder(other, []string{"class"}) {
			known = append(known, w.Value)
		}
	}
	for _, f := range r.text.Fields {
		if !required.MatchString(f.Path) || slices.Contains(known, f.Value) {
			continue
		}
		if near := slip(f.Value, known); near != "" {
			l.mistake(r, f.Path, "no recorded paper and no rule knows %q; did you mean %s? If not, record one by this very word, or the paper that needs it waits for ever", f.Value, near)
			continue
		}
		l.note(r, f.Path, "no recorded paper and no rule knows %q; record one by this very word, and add a rule that asks for it, so that its own days are watched", f.Value)
	}
}

// rings tells of papers that wait for each other across packs. Within one pack
// the strict reader refuses them.
func (l *linter) rings() {
	var rules []*compliance.Rule
	for _, r := range l.rules {
		rules = append(rules, r.Rule)
	}
	for _, ring := range compliance.Rings(rules) {
		var told *rule
		for _, r := range l.rules {
			if slices.Contains(ring, r.Rule) && r.pack.asked {
				told = r // the last of those that are asked about
			}
		}
		if told == nil {
			continue
		}
		others := ""
		for _, r := range ring {
			if r != told.Rule {
				others += ", " + r.ID + " at " + r.Where.String()
			}
		}
		l.mistake(told, "params.requires[1].class", "goes round in a ring with other packs: %s%s; nobody could ever begin, so read both texts again and leave out what one of them does not ask for", ring, others)
	}
}
