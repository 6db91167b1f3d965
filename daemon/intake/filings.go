package intake

import (
	"maps"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// class gives the class of a paper. One that is near a class that rules ask
// for, and is none, would cover nothing, and nobody would see why; one that is
// far from all is taken and told.
func (p *planner) class(e *Entry, recorded string) string {
	written := e.text("class")
	class := strings.ReplaceAll(strings.ToLower(written), " ", "-")
	if meaning, accepted := p.mapping.meaning(written); accepted {
		class = meaning
	}
	if class == "" || class == recorded || len(p.Classes) == 0 || slices.Contains(p.Classes, class) {
		return class
	}
	if close := near(class, p.Classes); len(close) > 0 && !p.mapping.endorsed(class) {
		e.refuse("class", `%q is no class that the loaded rules ask for; did you mean %s? Correct the cell, or accept it with --accept "%s=%s", or as it stands with --accept "%s=%s"`,
			written, strings.Join(quoted(close), " or "), written, close[0], written, class)
		return ""
	}
	e.unasked = class
	return class
}

// filing records how far the renewal of a paper is: one application a row, the
// last. It is known by the day on which it was filed.
func (p *planner) filing(e *Entry, x *compliance.Permit, today day.Day) {
	to := compliance.Application{Posted: e.day(p, "filed", today), Received: e.day(p, "received by authority", today), Receipt: e.text("receipt"),
		Deficient: e.day(p, "told deficient", today), Decided: e.day(p, "decided", today), Outcome: e.outcome()}
	n := len(x.Applications)
	i := n - 1
	if to == (compliance.Application{}) || e.bad() {
		if i >= 0 {
			e.doubtsFiling(x.Applications[i])
		}
		return
	}
	if known := slices.IndexFunc(x.Applications, func(a compliance.Application) bool { return a.Posted == to.Posted }); known >= 0 && !to.Posted.IsZero() {
		i = known
	} else if i >= 0 && !to.Posted.IsZero() && !x.Applications[i].Posted.IsZero() {
		if x.Applications[i].Decided.IsZero() {
			e.refuse("filed", "an application filed on %s is recorded, and not its decision; write that day, or record the decision first", x.Applications[i].Posted)
			return
		}
		i = n // another one
	}
	all := slices.Clone(x.Applications)
	if i < 0 || i == n {
		i, all = n, append(all, compliance.Application{})
	}
	a := &all[i]
	set(e, "filed", &a.Posted, to.Posted, day.Day.String)
	set(e, "received by authority", &a.Received, to.Received, day.Day.String)
	set(e, "receipt", &a.Receipt, to.Receipt, plain)
	set(e, "told deficient", &a.Deficient, to.Deficient, day.Day.String)
	set(e, "decided", &a.Decided, to.Decided, day.Day.String)
	set(e, "outcome", &a.Outcome, to.Outcome, plain)
	switch {
	case (a.Outcome == "") != a.Decided.IsZero():
		e.refuse("outcome", "and the day of the decision belong together; both are required, or neither")
	case !a.Received.IsZero() && a.Received < a.Posted:
		e.refuse("received by authority", "%s is before it was filed, on %s; a day not before that is required", a.Received, a.Posted)
	case !a.Decided.IsZero() && a.Decided < max(a.Posted, a.Received):
		e.refuse("decided", "%s is before it was filed or received, on %s; a day not before that is required", a.Decided, max(a.Posted, a.Received))
	}
	x.Applications = all
}

// doubtsFiling refuses a row that says that nobody knows what is recorded.
func (e *Entry) doubtsFiling(a compliance.Application) {
	for field, on := range map[string]day.Day{"filed": a.Posted, "received by authority": a.Received, "decided": a.Decided} {
		if !on.IsZero() {
			e.doubts(field, on.String())
		}
	}
}

func (e *Entry) outcome() compliance.Outcome {
	switch text := strings.ToLower(e.text("outcome")); text {
	case "":
		return ""
	case string(compliance.Granted), string(compliance.Refused):
		return compliance.Outcome(text)
	default:
		e.refuse("outcome", "%q is not allowed; allowed: granted, refused, or blank while nothing is decided", text)
		return ""
	}
}

// outOfForce records what takes a paper out of force. A cell that leaves it
// open is refused: the paper would read as in force.
func (p *planner) outOfForce(e *Entry, x *compliance.Permit, today day.Day) {
	for _, field := range []string{"suspended", "revoked", "surrendered"} {
		if i, ok := e.Table.at[field]; ok && isDoubt(e.Row.cell(i)) {
			e.refuse(field, "%q leaves open whether the paper is in force; a day is required, or no", tidy(e.Row.cell(i)))
		}
	}
	set(e, "revoked", &x.Revoked, e.dayOrNo(p, "revoked", today), day.Day.String)
	set(e, "surrendered", &x.Surrendered, e.dayOrNo(p, "surrendered", today), day.Day.String)
	from, lifted := e.dayOrNo(p, "suspended", 0), e.day(p, "lifted", 0)
	if from.IsZero() && lifted.IsZero() || e.bad() {
		return
	}
	all := slices.Clone(x.Suspensions)
	i := slices.IndexFunc(all, func(s compliance.Suspension) bool { return s.From == from })
	open := slices.IndexFunc(all, func(s compliance.Suspension) bool { return s.Lifted.IsZero() })
	switch {
	case i >= 0:
	case from.IsZero() && open < 0 && len(all) > 0 && all[len(all)-1].Lifted == lifted:
		return // known
	case from.IsZero() && open < 0:
		e.refuse("lifted", "is given, and no suspension is recorded that could be; the first day of the suspension is required")
		return
	case from.IsZero():
		i = open
	case open >= 0:
		e.refuse("suspended", "the paper is recorded as suspended since %s; write that day, or when that was lifted first", all[open].From)
		return
	default:
		i, all = len(all), append(all, compliance.Suspension{})
	}
	set(e, "suspended", &all[i].From, from, day.Day.String)
	set(e, "lifted", &all[i].Lifted, lifted, day.Day.String)
	if s := all[i]; !s.Lifted.IsZero() && s.Lifted < s.From {
		e.refuse("lifted", "%s is before the suspension began, on %s; a day not before that is required", s.Lifted, s.From)
	}
	slices.SortStableFunc(all, func(a, b compliance.Suspension) int { return int(a.From - b.From) })
	x.Suspensions = all
}

// dayOrNo reads a day of something that may not have happened.
func (e *Entry) dayOrNo(p *planner, field string, today day.Day) day.Day {
	if strings.EqualFold(tidy(e.raw(field)), "no") {
		return 0
	}
	return e.day(p, field, today)
}

// unaskedFor tells of papers that no rule asks for.
func (p *planner) unaskedFor(say func(n int, format string, args ...any)) {
	papers, as := make(map[string]int), make(map[string]string)
	for _, e := range p.plan.Entries {
		if e.change == nil {
			continue
		}
		if e.unasked != "" {
			papers[e.unasked]++
		}
		if x, ok := e.record.(compliance.Permit); ok {
			if written := tidy(e.raw("class")); written != x.Class {
				as[written] = x.Class
			}
		}
	}
	for _, class := range slices.Sorted(maps.Keys(papers)) {
		say(papers[class], "%d papers are of the class %q, for which no loaded rule asks: they cover nobody and nothing.", papers[class], class)
	}
	for _, written := range slices.Sorted(maps.Keys(as)) {
		say(1, "%q is the class %s.", written, as[written])
	}
}
