package intake

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// sessions takes the rows of handling sessions in. Whether one counts is not
// for an import to say: what somebody noted is recorded, and judged with the
// rest. So a row of somebody who was away is taken, while one that cannot have
// been so, of an animal of another species, is refused.
func (p *planner) sessions(entries []*Entry, each func(*List, func(*Entry))) {
	held := make(map[*Entry]ladder.Session, len(entries))
	for _, e := range entries {
		x := p.heldBy(e)
		if held[e] = x; !e.bad() {
			e.key = twin(x)
		}
	}
	onceSaying(entries, "date", func(_ *Entry, other Position) string {
		return fmt.Sprintf("the session stands here and at %s, by trainee, species, mentor, day and beginning; one row each is allowed, and neither was taken; write when each began, or make one row of them", other)
	})
	each(sessionList, func(e *Entry) { p.session(e, held[e]) })
}

// heldBy reads who handled what, where and when, watched by whom.
func (p *planner) heldBy(e *Entry) (x ladder.Session) {
	x.Trainee = p.find(e, "trainee", p.people, e.text("trainee"))
	x.Species = p.find(e, "species", p.species, e.text("species"))
	switch mentor := e.text("mentor"); strings.ToLower(mentor) {
	case "":
	case "alone", "nobody":
		x.Watched = inventory.No
	default:
		x.Mentor, x.Watched = p.find(e, "mentor", p.people, mentor), inventory.Yes
	}
	if x.Site = p.site(e); x.Site == (inventory.ID{}) && !e.bad() {
		if trainee, ok := p.was.People.Get(x.Trainee); ok {
			x.Site = trainee.Site
		}
		if x.Site == (inventory.ID{}) {
			e.refuse("site", "is not given; a recorded site is required, in this column or by --site")
		}
	}
	if x.On = e.day(p, "date", p.today(x.Site)); x.On.IsZero() && !e.wrongIn("date") {
		e.refuse("date", "is blank; %s", sessionList.field("date").Help)
	}
	if at := dayClock.FindStringSubmatch(tidy(e.raw("date"))); at != nil && strings.Trim(at[2], "0:") != "" {
		e.refuse("date", "%q has a time of day; write that in the column from, or leave it out", tidy(e.raw("date")))
	}
	if x.Site == (inventory.ID{}) || x.On.IsZero() {
		return x // a time of day says nothing yet
	}
	x.Begun = p.clock(e, "from", x)
	if on := day.In(x.Begun, p.zoneAt(x.Site)); !x.Begun.IsZero() && on != x.On {
		e.refuse("from", "is on %s by the clock of the site, and date says %s; one of the two is wrong", on, x.On)
	}
	return x
}

func (e *Entry) wrongIn(field string) bool {
	return slices.ContainsFunc(e.Mistakes, func(m Mistake) bool { return m.Field == field })
}

// clock reads when a session began or ended.
func (p *planner) clock(e *Entry, field string, x ladder.Session) time.Time {
	text := e.raw(field)
	if text == "" {
		return time.Time{}
	}
	at, wrong := moment(text, x.On, p.mapping.Dates, p.zoneAt(x.Site))
	if wrong != "" {
		e.refuse(field, "%s", wrong)
	} else if at.After(p.Now) {
		e.refuse(field, "%s is to come; what has happened is required", at.Format(time.RFC3339))
	}
	return at
}

// session reads the rest of a row, and makes the record of it.
func (p *planner) session(e *Entry, x ladder.Session) {
	if text := e.text("task"); text != "" {
		if x.Level.UnmarshalText([]byte(strings.ToLower(text))) != nil {
			e.refuse("task", "%q is not allowed; allowed: %s", text, strings.Join(ladder.LevelNames(), ", "))
		}
	}
	x.Results = e.results()
	x.Animals = p.handled(e, x)
	x.Unsafe = e.tri("unsafe", nil, nil)
	x.Note = e.text("note")
	if x.Site != (inventory.ID{}) && !x.On.IsZero() {
		if x.Ended = p.clock(e, "to", x); !x.Ended.IsZero() && x.Ended.Before(x.Begun) {
			e.refuse("to", "is before it began; where that was after midnight, the day is required with it, such as 2026-11-01 00:30")
		}
		x.Signed = p.signed(e, x)
	}
	if e.bad() {
		return
	}
	e.Name = fmt.Sprintf("%s on %s", e.text("trainee"), x.On)
	was := p.recordedOf(e, x)
	if e.bad() {
		return
	}
	if was == nil {
		x.ID = inventory.NewID()
	} else {
		p.met[was.ID] = true
		x = p.merged(e, *was, x)
	}
	e.session = x.ID
	p.checked(e, x)
	settle(e, x, was != nil)
}

// checked tells what is wrong with a record at the cell that says it.
func (p *planner) checked(e *Entry, x ladder.Session) {
	columns := map[string]string{"on": "date", "begun": "from", "ended": "to", "watched": "mentor"}
	if wrong := new(inventory.FieldError); errors.As(x.Check(), &wrong) {
		field := wrong.Field
		if column, ok := columns[field]; ok {
			field = column
		}
		e.refuse(field, "%s", wrong.Problem)
	}
}

// results reads how the repetitions went: letters in their order, or how many
// went how. A number that is missing beside another is not taken for none.
func (e *Entry) results() string {
	text := e.text("results")
	letters := strings.Map(func(r rune) rune {
		if strings.ContainsRune(" ,;/", r) {
			return -1
		}
		return r
	}, strings.ToLower(text))
	if strings.Trim(letters, "cps") != "" {
		e.refuse("results", "%q is not allowed; a letter for each repetition is required: c clean, p prompted, s stopped; or the columns clean, prompted and stopped", text)
		return ""
	}
	counted, given := e.counted()
	switch {
	case !given:
		return letters
	case letters == "":
		return counted
	}
	for _, r := range []string{"c", "p", "s"} {
		if strings.Count(letters, r) != strings.Count(counted, r) {
			e.refuse("results", "%q does not agree with the columns clean, prompted and stopped; correct one of the two", text)
			return ""
		}
	}
	return letters
}

// counted makes letters of numbers, the worst last, because the order is not
// known and a run of clean ones counts up to the end.
func (e *Entry) counted() (letters string, given bool) {
	fields := []string{"clean", "prompted", "stopped"}
	texts := make([]string, len(fields))
	for i, f := range fields {
		texts[i] = e.text(f)
		given = given || texts[i] != ""
	}
	if !given {
		return "", false
	}
	for i, f := range fields {
		text := texts[i]
		if text == "" {
			if !e.wrongIn(f) {
				e.refuse(f, "is blank beside the others; 0 is required where there was none")
			}
			continue
		}
		n, wrong := parseCount(text)
		if wrong == "" && n > 1000 {
			wrong = fmt.Sprintf("%d is more than a session has; at most 1000 are allowed", n)
		}
		if wrong != "" {
			e.refuse(f, "%s", wrong)
			continue
		}
		letters += strings.Repeat("cps"[i:i+1], n)
	}
	return letters, true
}

// handled reads the animals. One of another species, or that was not there, is
// a slip in the row.
func (p *planner) handled(e *Entry, x ladder.Session) []inventory.ID {
	all := p.single(e)
	for _, id := range all {
		a := p.accessions[p.called[id]]
		switch {
		case x.Species != (inventory.ID{}) && a.Species != x.Species:
			e.refuse("animals", "%s is %s; a row for each species is required", a.Accession, p.nameOf(p.species)(a.Species))
		case x.On.IsZero():
		case !a.Arrived.IsZero() && x.On < a.Arrived:
			e.refuse("animals", "%s arrived on %s, after the session; an animal that was there is required", a.Accession, a.Arrived)
		case a.Left != nil && x.On > a.Left.On:
			e.refuse("animals", "%s left the house on %s, before the session; an animal that was there is required", a.Accession, a.Left.On)
		}
	}
	return all
}

// signed reads when the mentor signed. A day alone counts as its end, the
// later reading: what is signed earlier may count where it should not. Of
// today only what is over counts.
func (p *planner) signed(e *Entry, x ladder.Session) time.Time {
	text, zone := e.raw("signed"), p.zoneAt(x.Site)
	if text == "" || strings.EqualFold(tidy(text), "no") {
		return time.Time{}
	}
	var at time.Time
	var wrong string
	if strings.Contains(text, ":") {
		at, wrong = moment(text, 0, p.mapping.Dates, zone)
	} else {
		var on day.Day
		if on, wrong = parseDay(text, p.mapping.Dates); wrong == "" && on <= p.today(x.Site) {
			at = endOf(on, zone, p.Now)
		} else if len(readingsOf(strings.ToLower(tidy(text)))) == 0 {
			wrong = fmt.Sprintf("%q does not say when the mentor signed; a day such as 2026-11-20, or a day and a time, is required, or no", text)
		} else if wrong == "" {
			wrong = fmt.Sprintf("%s is after today, %s; a day not after today is allowed", on, p.today(x.Site))
		}
	}
	switch {
	case wrong != "":
		e.refuse("signed", "%s", wrong)
	case at.After(p.Now):
		e.refuse("signed", "%s is to come; what has happened is required", at.Format(time.RFC3339))
	case at.Before(x.Begun) || at.Before(x.Ended):
		e.refuse("signed", "%s is before the session was over; nobody signs for it before", at.Format(time.RFC3339))
	case x.Watched == inventory.No:
		e.refuse("signed", "is given, and mentor says that nobody watched; one of the two is wrong")
	}
	return at
}

// endOf gives the last second of a day, or now if that is to come.
func endOf(on day.Day, zone *time.Location, now time.Time) time.Time {
	last := day.EndOf(on, zone).Add(-time.Second).UTC().Truncate(time.Second)
	if last.After(now) {
		return now.UTC().Truncate(time.Second)
	}
	return last
}
