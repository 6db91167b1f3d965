package compliance

import (
	"iter"
	"slices"
	"strings"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// wordingKind asks that a label or a document carries certain fields, going by
// the latest time that somebody read it and wrote down what is on it. Each
// rule asks for its own; the label that satisfies all carries the union.
//
// A field that was missing makes out of order, and so does a label that was
// found wanting. Whatever nobody has read, or read too long ago, or read before
// the animal was put elsewhere, cannot be told. Of several readings on one day
// the latest counts where the instant of each is known, else the worst.
type wordingKind struct {
	checked string   // the activity that reads it
	fields  []string // what it must carry
	every   day.Span // how long a reading is good for; empty: until the next
}

func readWordingKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindAnimal, inventory.KindHolding, inventory.KindSite, inventory.KindPlace, inventory.KindPermit, inventory.KindOrganisation)
	k := &wordingKind{checked: readWord(m, "checked"), fields: readWords(m, "fields")}
	if len(k.fields) == 0 {
		m.Fail("fields", "is missing: name at least one field that it must carry, such as scientific-name")
	}
	m.OptText("every", &k.every)
	return k
}

func (k *wordingKind) activities() []string { return []string{k.checked} }

// Bind implements Kind.
func (k *wordingKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, TopicActivities) }

// Judge implements Kind.
func (k *wordingKind) Judge(v *View, d *Duty) Line {
	acts := v.activities[activityKey{k.checked, d.Subject}]
	moves := movesOf(d)
	turns := slices.Clone(moves)
	for _, a := range acts {
		turns = append(turns, a.On)
		if !k.every.IsZero() {
			turns = append(turns, k.every.AddTo(a.On)+1)
		}
	}
	b := day.NewBuilder(v.in.Of(k.on(d, acts, moves, 0)))
	for _, on := range sorted(turns) {
		b.Add(on, v.in.Of(k.on(d, acts, moves, on)))
	}
	return b.Line()
}

// movesOf gives the days on which an animal was put into another enclosure,
// whose label is another one. A reading of that very day may have been of the
// old one.
func movesOf(d *Duty) (days []day.Day) {
	if d.animal == nil {
		return nil
	}
	for i, s := range d.animal.Stays {
		if i > 0 && s.Enclosure != d.animal.Stays[i-1].Enclosure {
			days = append(days, s.From)
		}
	}
	return days
}

func (k *wordingKind) on(d *Duty, acts []*Activity, moves []day.Day, on day.Day) Verdict {
	check := Step{Do: HoldActivity, Instance: d.Subject, Owner: d.Rule.Owner}
	latest := latestOf(acts, on)
	if len(latest) == 0 {
		return Verdict{Standing: CannotTell, State: WordingUnread, Step: check}
	}
	read := latest[0].On
	good := k.every.AddTo(read)
	if !k.every.IsZero() {
		check.By, check.Legal, check.Window = good, good, d.Rule.Window
	}
	switch {
	case slices.ContainsFunc(moves, func(m day.Day) bool { return read <= m && m <= on }):
		check.By, check.Legal = 0, 0
		return Verdict{Standing: CannotTell, State: WordingOfBefore, Step: check}
	case !k.every.IsZero() && on > good:
		return Verdict{Standing: CannotTell, State: WordingOld, Step: check}
	}
	out := k.reading(d, latest[0])
	for _, a := range latest[1:] {
		if one := k.reading(d, a); one.Standing > out.Standing {
			out = one
		}
	}
	if out.Standing == InOrder && !k.every.IsZero() {
		out.Step = check
	}
	return out
}

// latestOf gives the readings of the latest day to a day; the last of them
// alone where the instant of each is known.
func latestOf(acts []*Activity, on day.Day) (latest []*Activity) {
	known := true
	for _, a := range acts {
		switch {
		case a.On > on:
		case len(latest) == 0 || a.On > latest[0].On:
			latest, known = []*Activity{a}, !a.At.IsZero()
		case a.On == latest[0].On:
			latest, known = append(latest, a), known && !a.At.IsZero()
		}
	}
	if !known || len(latest) == 0 {
		return latest
	}
	last := slices.MaxFunc(latest, func(a, b *Activity) int { return a.At.Compare(b.At) }).At
	return slices.DeleteFunc(latest, func(a *Activity) bool { return !a.At.Equal(last) })
}

// reading is what one reading says.
func (k *wordingKind) reading(d *Duty, a *Activity) Verdict {
	mend := Verdict{Standing: OutOfOrder, State: WordingIncomplete, Step: Step{Do: MendWording, Instance: d.Subject, Owner: d.Rule.Owner}}
	doubt := Verdict{Standing: CannotTell, State: ResultUnknown, Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
	switch {
	case len(a.Fields) > 0 && len(lacking(k.fields, a.Fields)) > 0:
		return mend
	case a.Passed == inventory.No:
		mend.State = WordingFailed
		return mend
	case len(a.Fields) == 0:
		doubt.State = WordingNotListed
		return doubt
	case a.Passed == inventory.Unknown:
		return doubt
	default:
		return Verdict{Standing: InOrder, State: WordingComplete}
	}
}

// lacking gives what of the fields asked for is not there.
func lacking(asked, there []string) (missing []string) {
	for _, f := range asked {
		if !slices.Contains(there, f) {
			missing = append(missing, f)
		}
	}
	return missing
}

// Why implements Kind. It tells what all rules of the requirement together ask
// for: that is what the label must carry.
func (k *wordingKind) Why(v *View, d *Duty, on day.Day) []Reason {
	all := k.union(v, d, on)
	reasons := []Reason{Because("wording-asked", "fields", fieldsText(all))}
	latest := latestOf(v.activities[activityKey{k.checked, d.Subject}], on)
	if len(latest) == 0 {
		return append(reasons, Because("activity-never", "activity", k.checked))
	}
	for _, a := range latest {
		if len(a.Fields) == 0 {
			reasons = append(reasons, Because("wording-not-listed", "activity", k.checked, "day", a.On.String(), "passed", a.Passed.String()))
			continue
		}
		reasons = append(reasons, Because("wording-read", "activity", k.checked, "day", a.On.String(), "fields", fieldsText(a.Fields), "passed", a.Passed.String()))
		if missing := lacking(all, a.Fields); len(missing) > 0 {
			reasons = append(reasons, Because("wording-lacks", "fields", fieldsText(missing)))
		}
	}
	for _, m := range movesOf(d) {
		if latest[0].On <= m && m <= on {
			reasons = append(reasons, Because("wording-moved", "day", m.String()))
		}
	}
	return reasons
}

func fieldsText(fields []string) string {
	return strings.ReplaceAll(strings.Join(fields, ", "), "-", " ")
}

// union gives the fields that law and house ask for together, for the duty's
// requirement and subject on a day, and read by the same activity; guidance
// joins where it is guidance that asks.
func (k *wordingKind) union(v *View, d *Duty, on day.Day) []string {
	all := slices.Clone(k.fields)
	only := *v
	only.only = d.Subject
	for _, r := range v.Book.Rules {
		other, is := r.Kind.(*wordingKind)
		if !is || other.checked != k.checked || r.Requirement != d.Rule.Requirement || r.Layer == Guidance && d.Rule.Layer != Guidance {
			continue
		}
		for one := range other.Bind(&only, r) {
			if one.Key() == d.Key() && one.Applies.At(on) != inventory.No {
				all = append(all, other.fields...)
			}
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}
