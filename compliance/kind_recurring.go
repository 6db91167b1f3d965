package compliance

import (
	"iter"
	"strconv"
	"time"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// recurringKind asks for an activity at least every so often, for a
// certificate that has not run out, or for something by a fixed date each
// year.
//
// For the first two the facts apply in this order: what was passed for sure
// makes in order to its last good day; what may have been passed makes cannot
// tell; else it is overdue, or was never done. A failed one changes nothing.
type recurringKind struct {
	what     string
	every    day.Span
	runsOut  bool // the activity's own last good day counts as well
	habitual bool // goes on under the assumption of routine
	moves    bool // the act-by day moves earlier to a working day
	calendar string
	yearly   day.Period // FixedAnnual; zero: not yearly
	previous bool       // yearly: for the year before the one of the date
}

func readRecurringKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindSite, inventory.KindPerson, inventory.KindPlace, inventory.KindOrganisation)
	k := &recurringKind{
		what:     readWord(m, "activity"),
		runsOut:  m.OptBool("certificate", false),
		habitual: m.OptBool("habitual", false),
		moves:    m.OptBool("moves_to_working_day", false),
		calendar: m.OptString("calendar"),
	}
	m.OptText("every", &k.every)
	if y, ok := m.OptMap("yearly"); ok {
		k.yearly = day.Period{Shape: day.FixedAnnual, Month: time.Month(y.Int("month", 1, 12)), DayOfMonth: y.Int("day", 1, 31), Moves: false}
		k.previous = y.OptBool("for_previous_year", false)
		if err := k.yearly.Validate(); err != nil {
			y.Fail("day", "%v", err)
		}
	}
	ways := 0
	for _, on := range []bool{!k.every.IsZero() || k.runsOut, !k.yearly.IsZero()} {
		if on {
			ways++
		}
	}
	if ways != 1 {
		m.Fail("", "needs either every and/or certificate, or yearly")
	}
	return k
}

// Bind implements Kind. A yearly duty is a duty for each year.
func (k *recurringKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	duties := v.bind(r, TopicActivities)
	if k.yearly.IsZero() {
		return duties
	}
	return func(yield func(Duty) bool) {
		for d := range duties {
			site, _ := d.OneSite()
			first, _, _ := v.Today(site).Date()
			last, _, _ := v.Horizon(site).Date()
			for year := first - 1; year <= last; year++ {
				one := d
				one.Occurrence = strconv.Itoa(k.yearFor(year))
				if !yield(one) {
					return
				}
			}
		}
	}
}

// yearFor gives the year that the date in a year is for.
func (k *recurringKind) yearFor(year int) int {
	if k.previous {
		return year - 1
	}
	return year
}

// Judge implements Kind.
func (k *recurringKind) Judge(v *View, d *Duty) Line {
	acts := v.activities[activityKey{k.what, d.Subject}]
	if !k.yearly.IsZero() {
		return k.year(v, d, acts)
	}
	line := k.walk(v, d, acts)
	site, _ := d.OneSite()
	today := v.Today(site)
	if now := line.At(today); k.habitual && v.Ask.Routine && now.Standing == InOrder {
		kept := *now
		kept.Step = Step{}
		line = cut(line, today, v.in.Of(kept))
	}
	return line
}

// goodUntil gives the last day to which an activity is good.
func (k *recurringKind) goodUntil(a *Activity) day.End {
	end := day.Forever()
	if !k.every.IsZero() {
		end = day.Until(k.every.AddTo(a.On))
	}
	if !k.runsOut {
		return end
	}
	switch last, known := a.Until.Known(); {
	case a.Until.Kind == day.Unknown:
		return day.End{}
	case known && (end.Kind == day.Never || last < end.On):
		return day.Until(last)
	default:
		return end
	}
}

// walk walks the days on which something was done or runs out.
func (k *recurringKind) walk(v *View, d *Duty, acts []*Activity) Line {
	none := v.in.Of(Verdict{Standing: OutOfOrder, State: NeverDone, Step: k.step(v, d, 0)})
	spans := k.reach(acts)
	var turns []day.Day
	for _, s := range spans {
		turns = append(turns, s.from)
		if last, known := s.last.Known(); known {
			turns = append(turns, last+1)
		}
	}
	b := day.NewBuilder(none)
	for _, on := range sorted(turns) {
		b.Add(on, v.in.Of(k.on(v, d, spans, on)))
	}
	return b.Line()
}

// reachOf is how far one activity reaches.
type reachOf struct {
	from day.Day
	last day.End
	act  *Activity
}

// reach drops what failed: it changes nothing.
func (k *recurringKind) reach(acts []*Activity) []reachOf {
	var out []reachOf
	for _, a := range acts {
		if a.Passed != inventory.No {
			out = append(out, reachOf{a.On, k.goodUntil(a), a})
		}
	}
	return out
}

func (k *recurringKind) on(v *View, d *Duty, spans []reachOf, on day.Day) Verdict {
	var sure, last *reachOf // the one that reaches furthest, and the last that ran out
	doubt := Code("")
	for i := range spans {
		s := &spans[i]
		if s.from > on {
			continue
		}
		end, known := s.last.Known()
		switch {
		case s.act.Passed == inventory.Unknown && (!known || on <= end):
			doubt = ResultUnknown
		case s.act.Passed == inventory.Unknown:
		case s.last.Kind == day.Unknown:
			doubt = CertificateUnknown
		case s.last.Kind == day.Never || on <= end:
			if sure == nil || s.last.Kind == day.Never || sure.last.Kind == day.Known && end > sure.last.On {
				sure = s
			}
		case last == nil || end > last.last.On:
			last = s
		}
	}
	switch {
	case sure != nil && sure.last.Kind == day.Never:
		return Verdict{Standing: InOrder, State: Done} // nothing more to do
	case sure != nil:
		return Verdict{Standing: InOrder, State: Done, Step: k.step(v, d, sure.last.On)}
	case doubt != "":
		return Verdict{Standing: CannotTell, State: doubt, Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
	case last != nil:
		return Verdict{Standing: OutOfOrder, State: Overdue, Step: k.step(v, d, last.last.On)}
	default:
		return Verdict{Standing: OutOfOrder, State: NeverDone, Step: k.step(v, d, 0)}
	}
}

// step asks for the activity by its last good day; no day asks for it at
// once.
func (k *recurringKind) step(v *View, d *Duty, last day.Day) Step {
	s := Step{Do: HoldActivity, Instance: d.Subject, By: last, Legal: last, Window: d.Rule.Window, Owner: d.Rule.Owner}
	if k.moves && !last.IsZero() {
		// A calendar that the data lack counts weekends and is provisional.
		cal, _ := v.Book.Holidays.Calendar(k.calendar)
		earlier := cal.Earlier(last)
		s.By, s.Provisional = earlier.On, earlier.Provisional
	}
	return s
}

// year answers for one year's date: nothing before the year begins, then in
// order to the date, then overdue until it is done.
func (k *recurringKind) year(v *View, d *Duty, acts []*Activity) Line {
	year, _ := strconv.Atoi(d.Occurrence)
	in := year
	if k.previous {
		in++
	}
	cal, _ := v.Book.Holidays.Calendar(k.calendar)
	due := k.yearly.InYear(in, cal)
	step := k.step(v, d, due.On)
	b := day.NewBuilder(notApplicable)
	b.Add(day.Of(in, time.January, 1), v.in.Of(Verdict{Standing: InOrder, State: NotYetDue, Step: step}))
	b.Add(due.On+1, v.in.Of(Verdict{Standing: OutOfOrder, State: Overdue, Step: step}))
	line := b.Line()
	for _, a := range acts {
		if a.Year != year || a.Passed == inventory.No {
			continue
		}
		verdict := Verdict{Standing: InOrder, State: Done}
		if a.Passed == inventory.Unknown {
			verdict = Verdict{Standing: CannotTell, State: ResultUnknown,
				Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
		}
		from := day.Steps(notApplicable, day.Change[*Verdict]{On: max(a.On, day.Of(in, time.January, 1)), To: v.in.Of(verdict)})
		line = day.Combine(line, from, better)
	}
	return line
}

// Why implements Kind.
func (k *recurringKind) Why(v *View, d *Duty, on day.Day) []Reason {
	var last *Activity
	for _, a := range v.activities[activityKey{k.what, d.Subject}] {
		if a.On <= on && (d.Occurrence == "" || strconv.Itoa(a.Year) == d.Occurrence) {
			last = a
		}
	}
	if last == nil {
		return []Reason{Because("activity-never", "activity", k.what)}
	}
	r := Because("activity-last", "activity", k.what, "day", last.On.String(), "passed", last.Passed.String())
	if d.Occurrence == "" {
		r.Args = append(r.Args, Arg{"until", k.goodUntil(last).String()})
	}
	return []Reason{r}
}
