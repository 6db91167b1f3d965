package lint

import (
	"regexp"
	"slices"
	"strings"

	"antidotary/compliance/strict"
	"antidotary/compliance/written"
	"antidotary/inventory"
)

// words looks at the words that a rule shares with records and other rules:
// classes of paper, activities, calendars, and scientific names in scopes.
func (l *linter) words(r *rule) {
	l.requires(r)
	l.shared(r, "paper", []string{"class"}, classesIn(r.pack), func(h House) (all []string) {
		for p := range h.Snapshot.Permits.All() {
			all = append(all, p.Class)
		}
		return all
	})
	l.shared(r, "activity", append([]string{"activity"}, deeds...), doneIn(r.pack), func(h House) (all []string) {
		for a := range h.Snapshot.Activities.All() {
			all = append(all, a.What)
		}
		return all
	})
	for _, f := range r.text.Fields {
		if strings.HasSuffix(f.Path, "calendar") && strings.HasPrefix(f.Path, "params.") && !slices.Contains(l.Holidays.Names(), f.Value) {
			l.mistake(r, f.Path, "there is no calendar %q%s; known are %s", f.Value, l.near(f.Value, l.Holidays.Names()), strings.Join(l.Holidays.Names(), ", "))
		}
	}
	for _, f := range r.text.Fields {
		if _, is := r.expression(f); is {
			l.taxa(r, f.Path, f.Value)
		}
	}
}

// deeds are the other keys that hold words of activities, one or several. Of
// what has never happened nobody has a record, so only slips are told of them.
var deeds = []string{"events", "failed", "cleared", "destroyed", "told", "checked"}

// wordsUnder gives the words that a rule's parameters hold under some keys,
// whatever mapping they are in, with their places.
func wordsUnder(r *rule, keys []string) (all written.Fields) {
	for _, f := range r.text.Fields {
		path, isParam := strings.CutPrefix(f.Path, "params.")
		if isParam && slices.Contains(keys, path[strings.LastIndex(path, ".")+1:]) {
			for _, word := range strings.Split(f.Value, ", ") {
				if required.MatchString(f.Path) { // see requires
					continue
				}
				all = append(all, written.Field{Path: f.Path, Value: word, Pos: f.Pos})
			}
		}
	}
	return all
}

// classesIn gives the classes of paper in a pack's own tests.
func classesIn(p *pack) (all []string) {
	for _, c := range p.Cases {
		for _, paper := range c.Facts.Papers {
			all = append(all, paper.Class)
		}
	}
	return all
}

// doneIn gives the activities in a pack's own tests.
func doneIn(p *pack) (all []string) {
	for _, c := range p.Cases {
		for _, d := range c.Facts.Done {
			all = append(all, d.What)
		}
	}
	return all
}

// shared looks at the words that records, rules and the pack's own tests must
// agree on. A word that stands in a test is meant, though it may be unknown
// beyond.
func (l *linter) shared(r *rule, what string, keys, tested []string, recorded func(House) []string) {
	asked := wordsUnder(r, keys)
	if len(asked) == 0 {
		return
	}
	var known []string
	own := false // there is a house of one's own
	for _, h := range l.Houses {
		known = append(known, recorded(h)...)
		own = own || !h.Demo
	}
	for _, other := range l.rules {
		if other.ID != r.ID {
			for _, w := range wordsUnder(other, keys) {
				known = append(known, w.Value)
			}
		}
	}
	for _, f := range asked {
		if slices.Contains(known, f.Value) {
			continue
		}
		rare := slices.Contains(deeds, f.Path[strings.LastIndex(f.Path, ".")+1:])
		near, beside := slip(f.Value, known), ""
		if !slices.Contains(tested, f.Value) {
			beside = slip(f.Value, tested)
		}
		switch {
		case near != "":
			l.mistake(r, f.Path, "no recorded %s and no other rule knows %q; did you mean %s? If not, record one by this very word", what, f.Value, near)
		case beside != "":
			l.mistake(r, f.Path, "no recorded %s and no other rule knows %q, and the tests of this pack have %s; write the same word in both, or use this one in a test too", what, f.Value, beside)
		case rare:
		case own:
			l.note(r, f.Path, "no recorded %s and no other rule knows %q; record it by this very word, or nothing will ever meet the rule", what, f.Value)
		default:
			l.note(r, f.Path, "no recorded %s and no other rule knows %q; that is as it should be for a new one: record it by this very word", what, f.Value)
		}
	}
}

// slip gives the known word of which a word is most likely a misspelling: at
// most two letters differ, and more than digits.
func slip(word string, known []string) (near string) {
	known = slices.Clone(known)
	slices.Sort(known)
	least := 3
	for _, k := range slices.Compact(known) {
		if d := strict.Distance([]rune(word), []rune(k)); d < least && len(word) > 5 && undigited(word) != undigited(k) {
			near, least = k, d
		}
	}
	return near
}

func undigited(s string) string {
	return strings.Map(func(c rune) rune {
		if c >= '0' && c <= '9' {
			return '0'
		}
		return c
	}, s)
}

var quoted = regexp.MustCompile(`"([^"]*)"|'([^']*)'`)

// literals gives the texts in quotes of an expression.
func literals(expr string) (all []string) {
	for _, m := range quoted.FindAllStringSubmatch(expr, -1) {
		if text := m[1] + m[2]; text != "" && !slices.Contains(all, text) {
			all = append(all, text)
		}
	}
	return all
}

// taxa looks at the names in a scope that are nearly those of species,
// genera or families that are known, from records or from the pack's own tests.
// A name that stands in a test is meant.
func (l *linter) taxa(r *rule, field, expr string) {
	var known []string
	for _, c := range r.pack.Cases {
		for _, s := range c.Facts.Species {
			genus, _, _ := strings.Cut(s.Name, " ")
			known = append(known, s.Name, genus, s.Family)
		}
	}
	for _, h := range l.Houses {
		for s := range h.Snapshot.Species.All() {
			known = append(known, s.Accepted, s.Genus(), s.Family)
		}
	}
	slices.Sort(known)
	known = slices.Compact(known)
	if !readsTaxon(expr) {
		return
	}
	for _, text := range literals(expr) {
		if slices.Contains(known, text) || len(text) < 4 {
			continue
		}
		for _, name := range known {
			if strings.EqualFold(name, text) {
				l.mistake(r, field, "%q is written %q", text, name)
			} else if name != "" && len(text) > 5 && strict.Distance([]rune(name), []rune(text)) <= 2 && text[0] == name[0] {
				l.mistake(r, field, "no species is recorded by %q; did you mean %q? If not, write a test with the species that is meant", text, name)
			}
		}
	}
}

func readsTaxon(expr string) bool {
	return slices.ContainsFunc([]string{"species", "genus", "family"}, func(w string) bool { return strings.Contains(expr, w) })
}

// uses are what a site can be, as records know it.
var uses = []string{string(inventory.UseZoo), string(inventory.UsePrivate), string(inventory.UseResearch), string(inventory.UseTrade)}
