package compliance

import (
	"slices"
	"strings"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Ring is rules of which each asks for a paper that must be there before that
// of the rule before it, and the last for that of the first: nobody could ever
// begin.
type Ring []*Rule

// String names the classes in the order in which they wait, the first again at
// the end.
func (r Ring) String() string {
	var all []string
	for _, rule := range append(slices.Clone(r), r[0]) {
		all = append(all, rule.Kind.(*permitKind).class)
	}
	return strings.Join(all, " needs ")
}

// Rings finds the rings among the rules about papers. Rules count as one ring
// only where all of them are in effect on one day and at one place. Each ring
// is given once, from the rule that comes last in the list. What a paper needs
// is said by rules of kind permit; papers within other kinds are left aside.
func Rings(rules []*Rule) (found []Ring) {
	byClass := make(map[string][]*Rule)
	place := make(map[*Rule]int)
	for i, r := range rules {
		if k, ok := r.Kind.(*permitKind); ok && k.class != "" {
			byClass[k.class] = append(byClass[k.class], r)
			place[r] = i
		}
	}
	var follow func(path Ring, held common)
	follow = func(path Ring, held common) {
		first, last := path[0], path[len(path)-1]
		for _, class := range last.Kind.(*permitKind).classes()[1:] {
			for _, next := range byClass[class] {
				both, ok := held.and(next)
				switch {
				case !ok || place[next] > place[first]:
				case next == first:
					found = append(found, slices.Clone(path))
				case !slices.Contains(path, next):
					follow(append(slices.Clone(path), next), both)
				}
			}
		}
	}
	for _, r := range rules {
		if k, ok := r.Kind.(*permitKind); ok && len(k.requires) > 0 {
			all, _ := common{last: day.Last}.and(r)
			follow(Ring{r}, all)
		}
	}
	return found
}

// common is where and when several rules are in effect together.
type common struct {
	area       string
	from, last day.Day
}

func (c common) and(r *Rule) (common, bool) {
	switch {
	case inventory.Within(r.Area, c.area) || c.area == "":
		c.area = r.Area
	case r.Area == "" || inventory.Within(c.area, r.Area):
	default:
		return c, false
	}
	c.from = max(c.from, r.From)
	if !r.Last.IsZero() {
		c.last = min(c.last, r.Last)
	}
	return c, c.from <= c.last
}
