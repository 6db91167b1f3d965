package intake

import (
	"fmt"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// sameDay is what one session shares with those that may be the same.
type sameDay struct {
	trainee, species inventory.ID
	on               day.Day
}

func sameDayOf(x ladder.Session) sameDay { return sameDay{x.Trainee, x.Species, x.On} }

func (p *planner) indexSessions() {
	p.sat, p.met = make(map[sameDay][]*ladder.Session), make(map[inventory.ID]bool)
	for s := range p.was.Sessions.All() {
		p.sat[sameDayOf(*s)] = append(p.sat[sameDayOf(*s)], s)
	}
}

// twin is what two rows of one session have alike. Nobody begins two sessions
// with one species at one instant, whoever watches; where the beginning is not
// known, the mentor tells sessions of a day apart.
func twin(x ladder.Session) string {
	key := fmt.Sprintf("%s %s %s ", x.Trainee, x.Species, x.On)
	if !x.Begun.IsZero() {
		return key + x.Begun.Format(time.RFC3339)
	}
	return key + x.Mentor.String() + " " + x.Watched.String()
}

// alikeSession says whether two records of one trainee, species and day are of
// one session.
func alikeSession(a, b ladder.Session) inventory.Tri {
	timed := !a.Begun.IsZero() && !b.Begun.IsZero()
	untimed := a.Begun.IsZero() && b.Begun.IsZero()
	told := a.Watched != inventory.Unknown && b.Watched != inventory.Unknown
	same := a.Watched == b.Watched && a.Mentor == b.Mentor
	switch {
	case timed:
		return inventory.Bool(a.Begun.Equal(b.Begun))
	case untimed && same:
		return inventory.Yes
	case told && !same:
		return inventory.No
	}
	return inventory.Unknown
}

// recordedOf finds the record of the session that a row is about; nil: there
// is none. Where one may be the same, the row is refused: recorded twice, it
// would count twice.
func (p *planner) recordedOf(e *Entry, x ladder.Session) *ladder.Session {
	var same, perhaps []*ladder.Session
	for _, s := range p.sat[sameDayOf(x)] {
		switch alikeSession(x, *s) {
		case inventory.Yes:
			same = append(same, s)
		case inventory.Unknown:
			perhaps = append(perhaps, s)
		}
	}
	switch {
	case len(same) > 1:
		e.refuse("date", "%d sessions are recorded that are alike by trainee, species, mentor, day and beginning, and which of them is meant would be a guess; correct them in an export", len(same))
	case len(same) == 1:
		return same[0]
	case len(perhaps) > 0:
		e.refuse("date", "a session of that day is recorded that may be this one: %s; write that here as well, or correct the record in an export", p.told(*perhaps[0]))
	}
	return nil
}

// told says when a recorded session began, and who watched.
func (p *planner) told(s ladder.Session) string {
	from := "from is not known"
	if !s.Begun.IsZero() {
		from = "from " + s.Begun.In(p.zoneAt(s.Site)).Format("15:04:05")
	}
	return from + ", mentor " + p.watcher(s)
}

// watcher names the mentor, nobody, or says that it is not known.
func (p *planner) watcher(s ladder.Session) string {
	switch {
	case s.Watched == inventory.No:
		return "nobody"
	case s.Mentor == (inventory.ID{}):
		return "not recorded"
	}
	return p.nameOf(p.people)(s.Mentor)
}

// merged gives a recorded session with what a row says. Who watched and when
// it was signed is evidence: a row adds it, and never puts another in its
// place.
func (p *planner) merged(e *Entry, was, x ladder.Session) ladder.Session {
	r := was
	switch {
	case x.Watched == inventory.Unknown:
		if was.Watched != inventory.Unknown {
			e.doubts("mentor", p.watcher(was))
		}
	case was.Watched == inventory.Unknown:
		r.Mentor, r.Watched = x.Mentor, x.Watched
		e.Diffs = append(e.Diffs, Difference{"mentor", "", p.watcher(r)})
	case was.Mentor != x.Mentor || was.Watched != x.Watched:
		e.refuse("mentor", "%s is recorded for this session; correct the record in an export if that is wrong", p.watcher(was))
	}
	if e.text("site") != "" {
		set(e, "site", &r.Site, x.Site, p.siteName)
	}
	if x.Level != was.Level {
		e.Diffs = append(e.Diffs, Difference{"task", was.Level.String(), x.Level.String()})
		r.Level = x.Level
	}
	setAll(e, "animals", &r.Animals, x.Animals, func(id inventory.ID) string { return p.called[id] })
	set(e, "results", &r.Results, x.Results, plain)
	set(e, "to", &r.Ended, x.Ended, showInstant)
	set(e, "unsafe", &r.Unsafe, x.Unsafe, inventory.Tri.String)
	set(e, "note", &r.Note, x.Note, plain)
	p.signedBefore(e, was, &r, x)
	return r
}

// signedBefore takes a signature. A day alone is the one that is recorded with
// its time.
func (p *planner) signedBefore(e *Entry, was ladder.Session, r *ladder.Session, x ladder.Session) {
	zone := p.zoneAt(r.Site)
	alone := x.Signed.Equal(endOf(day.In(x.Signed, zone), zone, p.Now))
	switch {
	case x.Signed.IsZero() || was.Signed.IsZero():
		set(e, "signed", &r.Signed, x.Signed, showInstant)
	case x.Signed.Equal(was.Signed), alone && day.In(x.Signed, zone) == day.In(was.Signed, zone):
	default:
		e.refuse("signed", "%s is recorded for this session; correct the record in an export if that is wrong", showInstant(was.Signed))
	}
}
