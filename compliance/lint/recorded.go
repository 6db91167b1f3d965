package lint

import (
	"fmt"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/scope"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// recorded looks at how many of what is recorded a rule is asked of, wherever
// it stands: its law's place and its days are left aside. Of what nothing
// would be asked without a scope either, such as events that never happened,
// the scope is not to blame.
func (l *linter) recorded(r *rule) {
	scoped := strings.TrimSpace(r.Scope.String()) != ""
	var none []string
	for _, h := range l.Houses {
		there, meant := l.count(r, h)
		switch {
		case there == 0:
			continue
		case meant > 0 && meant == there && scoped && there > 1 && !h.Demo:
			l.note(r, "scope", "is true of every one of %d in %s, as if it were left out", there, h.Name)
		case meant == 0:
			none = append(none, fmt.Sprintf("none of %d in %s", there, h.Name))
			continue
		}
		if !h.Demo || meant > 0 {
			return
		}
	}
	if len(none) > 0 && scoped {
		l.note(r, "scope", "is true of %s, wherever they are; check its words if you know of one that is meant", strings.Join(none, " and of "))
	}
}

// count gives how many subjects of the rule's kind there are today, and of
// how many it may be asked.
func (l *linter) count(r *rule, h House) (there, meant int) {
	all := *r.Rule
	all.Area, all.From, all.Last = "", 0, 0
	v := l.view(h)
	if meant = l.bound(v, &all); meant == 0 {
		all.Scope = &scope.Scope{}
		if l.bound(v, &all) == 0 {
			return 0, 0
		}
	}
	switch r.Subject {
	case inventory.KindSite:
		there = h.Snapshot.Sites.Len()
	case inventory.KindOrganisation:
		there = h.Snapshot.Organisations.Len()
	case inventory.KindPerson:
		for p := range h.Snapshot.People.All() {
			if p.Here(l.Today) {
				there++
			}
		}
	case inventory.KindPlace:
		there = h.Snapshot.Places.Len()
	case inventory.KindFeed:
		there = h.Snapshot.Feeds.Len()
	case inventory.KindAnimal:
		for a := range h.Snapshot.Animals.All() {
			if a.Left == nil || a.Left.On > l.Today {
				there++
			}
		}
	case inventory.KindHolding:
		there = len(v.Holdings())
	}
	return there, meant
}

// bound counts the subjects of which a rule may be asked today.
func (l *linter) bound(v *compliance.View, r *compliance.Rule) int {
	seen := make(map[inventory.Ref]bool)
	for d := range r.Kind.Bind(v, r) {
		if d.Applies.At(l.Today) != inventory.No {
			seen[d.Subject] = true
		}
	}
	return len(seen)
}

// view indexes a house once for all rules.
func (l *linter) view(h House) *compliance.View {
	if v := l.views[h.Name]; v != nil {
		return v
	}
	now := day.StartOf(l.Today, time.UTC).Add(12 * time.Hour)
	l.views[h.Name] = compliance.NewView(&compliance.Rulebook{Holidays: l.Holidays}, h.Snapshot, compliance.Ask{Now: now, On: l.Today})
	return l.views[h.Name]
}
