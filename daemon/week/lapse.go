package week

import (
	"cmp"
	"slices"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// Lapse is a day on which duties leave in order, if nobody does anything.
type Lapse struct {
	On         day.Day // first day no longer in order
	Standing   compliance.Standing
	Title      string // of the rule
	Names      string // at most twelve
	Cause      string // what it turns on; empty: nothing beyond the names
	StateWords string
	Site       string
	Prevent    *notify.Step // what still prevents it; nil: nothing is known
	Rule       string
	Citation   string
	Certainty  string

	of of
}

// coming is a judgement with the change that is coming.
type coming struct {
	judgement *compliance.Judgement
	was, is   *compliance.Verdict
}

// together says which lapses are one: those of one requirement, cause, day and
// state. When a list grows stale, all that rests on it lapses with it, whatever
// the requirement.
type together struct {
	of
	on       day.Day
	standing compliance.Standing
	state    compliance.Code
}

func togetherOf(c coming, on day.Day) together {
	k := together{of{what: "lapse", requirement: c.judgement.Key.Requirement, about: c.is.Cause}, on, c.is.Standing, c.is.State}
	if k.about.IsZero() {
		k.about, k.occurrence = c.judgement.Key.Subject, c.judgement.Key.Occurrence
	}
	if c.is.State == compliance.ListStale {
		k.requirement, k.standing, k.occurrence = "", compliance.CannotTell, ""
	}
	return k
}

// lapses gives the next of every cause, the first day first.
func lapses(r *compliance.Report) (list []Lapse) {
	members := make(map[together][]coming)
	var order []together
	for _, j := range r.Judgements {
		on, c, comes := nextLapse(r, j)
		if !comes {
			continue
		}
		k := togetherOf(c, on)
		if len(members[k]) == 0 {
			order = append(order, k)
		}
		members[k] = append(members[k], c)
	}
	for _, k := range order {
		all := members[k]
		slices.SortStableFunc(all, func(a, b coming) int { return cmp.Compare(b.is.Standing, a.is.Standing) }) // the worst tells for all
		l := lapseOf(r, all[0], k.on)
		l.of = k.of
		var items []notify.Item
		for _, c := range all {
			items = append(items, notify.Item{Name: r.View.NameOf(c.judgement.Key.Subject), Occurrence: c.judgement.Key.Occurrence})
		}
		l.Names = notify.Names(items)
		list = append(list, l)
	}
	slices.SortStableFunc(list, func(a, b Lapse) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(b.Standing, a.Standing), cmp.Compare(a.Names, b.Names), cmp.Compare(a.of.requirement, b.of.requirement))
	})
	return list
}

// nextLapse finds the first day after today on which a duty leaves in order.
func nextLapse(r *compliance.Report, j *compliance.Judgement) (day.Day, coming, bool) {
	line := j.Combined()
	today := r.View.Today(j.Site(r.View.Today(inventory.ID{})))
	was := line.At(today)
	for on, is := range line.Changes() {
		if on <= today {
			continue
		}
		if on > r.View.Horizon(inventory.ID{}) {
			break
		}
		if was.Standing == compliance.InOrder && is.Standing.Bad() {
			return on, coming{j, was, is}, true
		}
		was = is
	}
	return 0, coming{}, false
}

func lapseOf(r *compliance.Report, c coming, on day.Day) Lapse {
	j, was, is := c.judgement, c.was, c.is
	l := Lapse{On: on, Standing: is.Standing, StateWords: words.State(is.State)}
	site := j.Site(on)
	l.Prevent = answer.Prevents(r, j, on, was, is, r.View.Today(site))
	if !is.Cause.IsZero() {
		l.Cause = r.View.NameOf(is.Cause)
	}
	if site != (inventory.ID{}) && site != inventory.Nowhere {
		l.Site = r.View.Site(site).Title
	}
	if rule := j.Binding(on).Rule; rule != nil {
		l.Title, l.Rule, l.Citation, l.Certainty = rule.Title, rule.ID, rule.Citation.Text, rule.Citation.Certainty.Words()
	}
	return l
}
