package compliance

import (
	"cmp"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// settle turns a kind's answer into the answer for this duty: through the
// lists that it rests on, what is not watched yet, and whether it applies.
func (v *View) settle(d *Duty, line Line) Line {
	line = v.throughWatching(d, line)
	if d.Applies.Always(inventory.Yes) {
		return line
	}
	return day.Combine(line, d.Applies, v.apply)
}

// apply: if applicability is unknown, in order stays and everything else
// cannot be told.
func (v *View) apply(verdict *Verdict, applies inventory.Tri) *Verdict {
	switch {
	case applies == inventory.Yes:
		return verdict
	case applies == inventory.No:
		return notApplicable
	case verdict.Standing == InOrder || verdict.Standing == NotApplicable:
		return verdict
	default:
		out := *verdict
		out.Standing, out.State = CannotTell, ScopeUnknown
		return v.in.Of(out)
	}
}

// proof is what a list proves on each day; feed is nil where nobody keeps it.
type proof struct {
	line day.Line[Freshness]
	feed *Feed
	// instead stands for in order while the list is stale, and for everything
	// where nobody keeps it.
	instead *Verdict
}

// freshness gives what the list of a topic proves at a site.
func (v *View) freshness(topic Topic, site inventory.ID) proof {
	k := feedKey{topic, site}
	p, known := v.fresh[k]
	if known {
		return p
	}
	if p.feed = v.feeds[k]; p.feed == nil {
		p.feed = v.feeds[feedKey{topic, inventory.ID{}}]
	}
	if p.feed == nil { // outside what any list covers, for ever
		p.instead = v.in.Shared(Verdict{Standing: CannotTell, State: ListMissing, Cause: siteRef(site),
			Step: Step{Do: KeepList, Instance: siteRef(site), Owner: Head}})
	} else {
		p.line = p.feed.Freshness(v.Today(site), v.Ask.Routine)
		p.instead = v.in.Shared(Verdict{Standing: CannotTell, State: ListStale, Cause: p.feed.Ref(), Step: p.feed.confirm(0)})
	}
	v.fresh[k] = p
	return p
}

// throughList: outside what a list covers, only in order stays told; where
// nobody keeps the list at all, nothing does. A stale list turns in order
// into cannot tell, and nothing else into anything.
func (v *View) throughList(topic Topic, site inventory.ID, line Line) Line {
	if topic == "" {
		return line
	}
	list := v.freshness(topic, site)
	today := v.Today(site)
	return day.Combine(line, list.line, func(verdict *Verdict, f Freshness) *Verdict {
		switch {
		case verdict.Standing == NotApplicable || f == Fresh:
			return verdict
		case list.feed == nil:
			return list.instead
		case f == Outside && verdict.Standing == OutOfOrder:
			return v.in.Of(Verdict{Standing: CannotTell, State: ListMissing, Cause: list.feed.Ref(), Step: verdict.Step})
		case f == Outside || verdict.Standing != InOrder:
			return verdict
		case !verdict.Step.IsZero() && verdict.Step.Opens() <= today: // has come within its window and must not be lost
			return v.in.Of(Verdict{Standing: CannotTell, State: ListStale, Cause: list.feed.Ref(), Step: verdict.Step})
		default: // the step is to confirm the list
			return list.instead
		}
	})
}

func siteRef(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindSite, ID: id}
}

// throughWatching: what is declared not watched yet never reads as in order.
// A site stands for all that it holds, while it holds it.
func (v *View) throughWatching(d *Duty, line Line) Line {
	if len(v.unwatched) == 0 {
		return line
	}
	line = v.notWatched(d, line, v.declared(d.Subject))
	return v.notWatched(d, line, day.Switch(d.Sites, func(site inventory.ID) day.Line[*NotWatched] {
		return v.declared(siteRef(site))
	}))
}

func (v *View) notWatched(d *Duty, line Line, declared day.Line[*NotWatched]) Line {
	return day.Combine(line, declared, func(verdict *Verdict, n *NotWatched) *Verdict {
		if n == nil || verdict.Standing != InOrder {
			return verdict
		}
		return v.in.Of(Verdict{Standing: CannotTell, State: NotWatchedYet, Cause: n.Ref(),
			Step: Step{Do: WatchIt, Instance: n.Ref(), By: n.Last, Window: d.Rule.Window, Owner: Head}})
	})
}

// declared gives the declaration about a subject that counts on each day: of
// several the one that lasts longest.
func (v *View) declared(subject inventory.Ref) day.Line[*NotWatched] {
	line := day.Constant[*NotWatched](nil)
	for _, n := range v.unwatched[subject] {
		one := day.Steps(nil, day.Change[*NotWatched]{On: n.From, To: n}, day.Change[*NotWatched]{On: n.Last + 1, To: nil})
		line = day.Combine(line, one, func(a, b *NotWatched) *NotWatched {
			if a == nil || b != nil && cmp.Or(cmp.Compare(b.Last, a.Last), slices.Compare(b.ID[:], a.ID[:])) > 0 {
				return b
			}
			return a
		})
	}
	return line
}
