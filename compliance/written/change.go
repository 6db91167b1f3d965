package written

import "slices"

// Change is one value that is not what it was. Was or Is is empty where the
// key was or is left out.
type Change struct {
	Path, Was, Is string
}

// Changes compares two mappings field by field, in the order of the new one;
// what went comes last.
func Changes(was, is Fields) (all []Change) {
	for _, f := range is {
		if old, had := was.Get(f.Path); !had || old.Value != f.Value {
			all = append(all, Change{f.Path, old.Value, f.Value})
		}
	}
	for _, f := range was {
		if _, has := is.Get(f.Path); !has {
			all = append(all, Change{f.Path, f.Value, ""})
		}
	}
	return all
}

// RuleChange is a rule that came, went or changed.
type RuleChange struct {
	ID      string
	Was, Is *Rule // nil: it came, it went
	Changes []Change
}

// RuleChanges compares the rules of files by their ids, sorted. A rule that
// moved to another file is the same rule.
func RuleChanges(was, is []*File) (all []RuleChange) {
	old, new := byID(was), byID(is)
	var ids []string
	for id := range old {
		ids = append(ids, id)
	}
	for id := range new {
		if _, had := old[id]; !had {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	for _, id := range ids {
		c := RuleChange{ID: id, Was: old[id], Is: new[id]}
		if c.Was != nil && c.Is != nil {
			if c.Changes = Changes(c.Was.Fields, c.Is.Fields); len(c.Changes) == 0 {
				continue
			}
		}
		all = append(all, c)
	}
	return all
}

func byID(files []*File) map[string]*Rule {
	out := make(map[string]*Rule)
	for _, f := range files {
		for _, r := range f.Rules {
			out[r.ID] = r
		}
	}
	return out
}
