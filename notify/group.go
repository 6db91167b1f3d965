package notify

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// Group is items that share rule, cause, state and step: one permit that
// lapses is one entry that names its animals. Items without a cause share the
// site instead.
type Group struct {
	Item           // the first
	Names   string // of all, at most twelve
	Count   int
	FactsOf string // the first's name, where the facts of others differ
	Members []Item // all of them
}

// mostNames is how many names an entry lists.
const mostNames = 12

// Sort puts items in the order in which people read them: worst standing
// first, then severity, then the day, where at once comes first, then name.
func Sort(items []Item) {
	slices.SortFunc(items, func(a, b Item) int {
		return cmp.Or(
			cmp.Compare(b.Standing, a.Standing),
			cmp.Compare(a.Severity.Rank(), b.Severity.Rank()),
			cmp.Compare(a.by(), b.by()),
			cmp.Compare(a.Name, b.Name),
			cmp.Compare(a.Requirement, b.Requirement),
			cmp.Compare(a.Occurrence, b.Occurrence),
			cmp.Compare(a.Subject, b.Subject), // two may have one name
		)
	})
}

func (it *Item) by() day.Day {
	if it.Step == nil {
		return day.Last
	}
	return it.Step.By
}

// Groups merges items by cause, in the order of their first members.
func Groups(items []Item) []Group {
	type alike struct {
		rule, cause, site, whose string
		state                    compliance.Code
		standing                 compliance.Standing
		step                     Step
		mention                  Mention
		how                      compliance.Closing
	}
	members := Together(items, func(it Item) alike {
		k := alike{rule: it.Rule, cause: it.Cause, whose: it.Whose, state: it.State, standing: it.Standing, mention: it.Mention, how: it.How}
		if it.Step != nil {
			k.step = *it.Step
		}
		if it.Cause == "" {
			k.site = it.Site
		}
		return k
	})
	var out []Group
	for _, list := range members {
		out = append(out, Group{list[0], Names(list), len(list), factsOf(list), list})
	}
	return out
}

// Together puts what has one key together, in the order of the first members.
func Together[T any, K comparable](list []T, key func(T) K) (groups [][]T) {
	at := make(map[K]int)
	for _, one := range list {
		k := key(one)
		i, known := at[k]
		if !known {
			i = len(groups)
			at[k] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], one)
	}
	return groups
}

// factsOf gives whose facts an entry shows, where not all have the same.
func factsOf(list []Item) string {
	for _, it := range list[1:] {
		if !slices.Equal(it.Reasons, list[0].Reasons) {
			return list[0].Name
		}
	}
	return ""
}

// Names lists at most twelve names, each once.
func Names(items []Item) string {
	var list []string
	seen := make(map[string]bool)
	for _, it := range items {
		name := it.Name
		if it.Occurrence != "" {
			name += " for " + it.Occurrence
		}
		if !seen[name] {
			seen[name] = true
			list = append(list, name)
		}
	}
	if more := len(list) - mostNames; more > 0 {
		return strings.Join(list[:mostNames], ", ") + fmt.Sprintf(" and %d more", more)
	}
	return strings.Join(list, ", ")
}
