package lint

import (
	"cmp"
	"slices"
	"strconv"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// together looks at each rule beside the others of all packs.
func (l *linter) together() {
	for i, r := range l.rules {
		for _, other := range l.rules[:i] {
			if !r.pack.asked && !other.pack.asked {
				continue
			}
			told, first := r, other // the later one is told
			if !r.pack.asked {
				told, first = other, r
			}
			if told.ID == first.ID {
				l.twice(told, first)
			}
			if told.Requirement == first.Requirement && told.kind != first.kind {
				l.mistake(told, "requirement", "%q is asked by %s at %s too, which is of kind %s and not %s; rules of one requirement are compared, so give this one its own",
					told.Requirement, first.ID, first.Where, first.kind, told.kind)
			}
			if a, b := told.text.Value("params.class"), first.text.Value("params.class"); told.Requirement == first.Requirement && a != b && a != "" && b != "" {
				l.note(told, "params.class", "%s asks for papers of class %s under the same requirement; papers of different classes never replace each other, so give each class its own", first.ID, b)
			}
		}
	}
	for _, r := range l.rules {
		for _, law := range l.rules {
			if r.pack.asked && r.Layer == compliance.House && law.Layer == compliance.Law && r.Requirement == law.Requirement && r.kind == law.kind && meet(r.Area, law.Area) {
				l.milder(r, law)
			}
		}
	}
	l.editions()
}

// meet says whether one of two places lies within the other.
func meet(a, b string) bool {
	return a == "" || b == "" || inventory.Within(a, b) || inventory.Within(b, a)
}

// milder tells where a house seems to ask less than a law: a higher limit, or
// a longer period.
func (l *linter) milder(house, law *rule) {
	const says = "%s is more than the %s of %s; the law counts beside it all the same, and a house can ask more than the law, never less"
	a, b := house.text.Value("params.most"), law.text.Value("params.most")
	if x, err := strconv.Atoi(a); err == nil && house.text.Value("params.of") == law.text.Value("params.of") {
		if y, err := strconv.Atoi(b); err == nil && x > y {
			l.note(house, "params.most", says, a, b, law.ID)
		}
	}
	a, b = house.text.Value("params.every"), law.text.Value("params.every")
	if x, err := day.ParseSpan(a); err == nil {
		if y, err := day.ParseSpan(b); err == nil && x.AddTo(l.Today) > y.AddTo(l.Today) {
			l.note(house, "params.every", says, a, b, law.ID)
		}
	}
}

// twice tells that two rules have one id.
func (l *linter) twice(r, first *rule) {
	if overlap(r, first) {
		l.mistake(r, "id", "%q is the rule at %s too, and both are in effect on the same days; give each its own id, and if one follows the other, the first a last day and the second a first (last, from)", r.ID, first.Where)
		return
	}
	l.mistake(r, "id", "%q is the rule at %s too; they follow each other, but each edition needs an id of its own", r.ID, first.Where)
}

func overlap(a, b *rule) bool { return a.From <= lastOf(b) && b.From <= lastOf(a) }

func lastOf(r *rule) day.Day {
	if r.Last.IsZero() {
		return day.Last
	}
	return r.Last
}

// editions looks at rules that ask the same of the same, and differ in what
// and when: editions of one rule.
func (l *linter) editions() {
	type same struct {
		requirement, kind, subject, scope, area, what string
		layer                                         compliance.Layer
	}
	groups := make(map[same][]*rule)
	var keys []same
	for _, r := range l.rules {
		k := same{r.Requirement, r.kind, r.Subject.String(), r.Scope.String(), r.Area, r.text.Value("params.class") + r.text.Value("params.activity"), r.Layer}
		if len(groups[k]) == 0 {
			keys = append(keys, k)
		}
		groups[k] = append(groups[k], r)
	}
	for _, k := range keys {
		group := slices.Clone(groups[k])
		slices.SortStableFunc(group, func(a, b *rule) int { return cmp.Compare(a.From, b.From) })
		for i := 1; i < len(group); i++ {
			if was, is := group[i-1], group[i]; was.ID != is.ID && (was.pack.asked || is.pack.asked) {
				l.follows(was, is)
			}
		}
	}
}

func (l *linter) follows(was, is *rule) {
	told := is
	if !told.pack.asked {
		told = was
	}
	undated := is.From.IsZero() && is.Last.IsZero() && was.From.IsZero() && was.Last.IsZero()
	switch {
	case undated:
		l.note(told, "requirement", "%s and %s ask the same of the same, always; both count, and if one is a new edition of the other, give the old one a last day and the new one a first (last, from)", was.ID, is.ID)
	case overlap(was, is) && !is.From.IsZero():
		l.mistake(told, "from", "%s is in effect from %s, and %s, which asks the same, still is; write last: %s in %s if the one follows the other", is.ID, is.From, was.ID, is.From-1, was.ID)
	case overlap(was, is):
		l.mistake(told, "last", "%s and %s ask the same, and both are in effect until %s; give the one that follows its first day (from)", was.ID, is.ID, min(lastOf(was), lastOf(is)))
	case lastOf(was)+1 < is.From:
		l.note(told, "from", "nothing is in effect between the last day of %s, %s, and the first of %s, %s", was.ID, was.Last, is.ID, is.From)
	}
}
