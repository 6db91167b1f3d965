package compliance

import (
	"iter"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// cleanKind asks that none of certain events happened to somebody within a
// time: no conviction within three years, no bite within one.
//
// What happened counts from its day on, whoever keeps a list. That nothing
// happened is known only where the list of activities is confirmed and reaches
// back over the whole time, or where somebody looked into the time before it
// (cleared) once the list had begun.
type cleanKind struct {
	events  []string // activities that spoil the record
	failed  []string // activities that spoil it where they were not passed
	within  day.Span
	outside bool   // the anniversary itself is clean
	cleared string // the activity that says that there was nothing before; empty: none does
}

func readCleanKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindPerson, inventory.KindOrganisation, inventory.KindSite)
	k := &cleanKind{events: readWords(m, "events"), failed: readWords(m, "failed"),
		outside: m.OptEnum("anniversary", "inside", "inside", "outside") == "outside"}
	if !m.Has("events") && !m.Has("failed") {
		m.Fail("", "needs events and/or failed: what must not have happened?")
	}
	if m.Text("within", &k.within); k.within.IsZero() && m.Has("within") {
		m.Fail("within", "no time at all; write a span such as 3 years")
	}
	if m.Has("cleared") {
		k.cleared = readWord(m, "cleared")
	}
	return k
}

func (k *cleanKind) activities() []string {
	return append(append([]string{k.cleared}, k.events...), k.failed...)
}

// Bind implements Kind. What the list proves is the kind's own to say: here
// it is the absence of a record that is in order.
func (k *cleanKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, "") }

// until gives the last day on which what happened on a day counts.
func (k *cleanKind) until(on day.Day) day.Day {
	end := k.within.AddTo(on)
	if k.outside {
		return end - 1
	}
	return end
}

// spot is what spoils somebody's record.
type spot struct {
	*Activity
	until   day.Day
	certain bool // it is known to be one
}

func (k *cleanKind) spots(v *View, d *Duty) (all []spot) {
	for _, what := range k.events {
		for _, a := range v.activities[activityKey{what, d.Subject}] {
			all = append(all, spot{a, k.until(a.On), true})
		}
	}
	for _, what := range k.failed {
		for _, a := range v.activities[activityKey{what, d.Subject}] {
			if a.Passed != inventory.Yes {
				all = append(all, spot{a, k.until(a.On), a.Passed == inventory.No})
			}
		}
	}
	return all
}

// Judge implements Kind.
func (k *cleanKind) Judge(v *View, d *Duty) Line {
	spots := k.spots(v, d)
	return day.Switch(d.Sites, func(site inventory.ID) Line {
		known := k.knownOn(v, d, site)
		var turns []day.Day
		for _, s := range spots {
			turns = append(turns, s.On, s.until+1)
		}
		for on := range known.Changes() {
			turns = append(turns, on)
		}
		b := day.NewBuilder(v.in.Of(k.on(d, nil, known.First(), 0)))
		for _, on := range sorted(turns) {
			b.Add(on, v.in.Of(k.on(d, spots, known.At(on), on)))
		}
		return v.throughFacts(TopicActivities, site, b.Line())
	})
}

// knownOn says on which days the list reaches back over all the time that
// counts then.
func (k *cleanKind) knownOn(v *View, d *Duty, site inventory.ID) day.Line[bool] {
	feed := v.freshness(TopicActivities, site).feed
	if feed == nil {
		return day.Constant(true) // nothing is known there, and that is said instead
	}
	from := max(k.until(feed.Complete-1)+1, feed.Complete)
	if k.cleared != "" {
		for _, a := range v.activities[activityKey{k.cleared, d.Subject}] {
			if a.Passed == inventory.Yes && a.On >= feed.Complete {
				from = min(from, a.On)
			}
		}
	}
	return day.Steps(false, day.Change[bool]{On: from, To: true})
}

func (k *cleanKind) on(d *Duty, spots []spot, known bool, on day.Day) Verdict {
	complete := Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}
	var worst *spot // the one that counts longest
	doubt := false
	for i := range spots {
		s := &spots[i]
		switch {
		case on < s.On || on > s.until:
		case !s.certain:
			doubt = true
		case worst == nil || s.until > worst.until:
			worst = s
		}
	}
	switch {
	case worst != nil:
		return Verdict{Standing: OutOfOrder, State: RecordSpoilt, Cause: worst.Ref(), Step: Step{Do: StandDown, Instance: d.Subject, Owner: d.Rule.Owner}}
	case doubt:
		return Verdict{Standing: CannotTell, State: ResultUnknown, Step: complete}
	case known:
		return Verdict{Standing: InOrder, State: RecordClean}
	case k.cleared != "":
		complete.Do = HoldActivity
	}
	return Verdict{Standing: CannotTell, State: RecordTooShort, Step: complete}
}

// throughFacts is throughList for answers of which out of order rests on what
// is recorded, and in order on what is not: a list that is stale, or that
// nobody keeps, turns in order into cannot tell, and nothing else into
// anything.
func (v *View) throughFacts(topic Topic, site inventory.ID, line Line) Line {
	list := v.freshness(topic, site)
	return day.Combine(line, list.line, func(verdict *Verdict, f Freshness) *Verdict {
		if verdict.Standing == InOrder && (list.feed == nil || f == Stale) {
			return list.instead
		}
		return verdict
	})
}

// Why implements Kind.
func (k *cleanKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	for _, s := range k.spots(v, d) {
		if s.On <= on && on <= s.until {
			reasons = append(reasons, Because("record-spot", "activity", s.What, "day", s.On.String(), "passed", s.Passed.String(), "until", s.until.String()))
		}
	}
	if len(reasons) == 0 {
		reasons = append(reasons, Because("record-no-spot", "within", k.within.String()))
	}
	if feed := v.freshness(TopicActivities, d.Site(on)).feed; feed != nil && !k.knownOn(v, d, d.Site(on)).At(on) {
		reasons = append(reasons, Because("record-too-short", "day", feed.Complete.String(), "until", k.until(feed.Complete-1).String()))
	}
	return append(reasons, v.whyTopic(TopicActivities, d.Site(on), on)...)
}
