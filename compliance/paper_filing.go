package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Filing are the last days on which an application is in time, by the way in
// which it goes to the office. Unset: nothing is to be filed, or it is not
// known by when.
type Filing struct {
	Post   day.Day // last day to post it
	HandIn day.Day // last day to hand it in at an open office
}

// FilingOf gives the last days for a step that is to file a renewal, as the
// rule reads the paper. They are before the margin of the house, so that Post
// may be later than the day to act by.
func (r *Report) FilingOf(rule *Rule, step Step) Filing {
	if step.Do != FileRenewal || rule == nil {
		return Filing{}
	}
	permit, known := r.View.Permits.Get(step.Instance.ID)
	kind, asks := rule.Kind.(readsPapers)
	if !known || !asks || step.Instance.Kind != inventory.KindPermit {
		return Filing{}
	}
	k := kind.papersOf(permit.Class)
	if k == nil {
		return Filing{}
	}
	p := k.open(r.View, rule, permit)
	return Filing{Post: p.post, HandIn: p.handIn}
}

// readsPapers is implemented by kinds that answer with the step of a paper:
// it gives how they read one of a class, nil where they read none.
type readsPapers interface {
	papersOf(class string) *permitKind
}

func (k *permitKind) papersOf(class string) *permitKind {
	if k.class == class || k.class == "" { // the watch's own rule reads any
		return k
	}
	return nil
}

func (k *prohibitKind) papersOf(class string) *permitKind {
	for i := range k.unless {
		if w := &k.unless[i]; w.paper != nil && w.paper.class == class {
			return w.paper
		}
	}
	return nil
}
