package store

import (
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

type personRow struct {
	bun.BaseModel `bun:"table:person"`
	ID            key                      `bun:"id,pk"`
	Name          string                   `bun:"name"`
	Email         string                   `bun:"email"`
	Site          key                      `bun:"site"`
	Offices       list[compliance.Office]  `bun:"offices,type:text"`
	Joined        day.Day                  `bun:"joined,type:text"`
	Leaves        day.Day                  `bun:"leaves,type:text"`
	Born          day.Day                  `bun:"born,type:text"`
	Away          list[compliance.Absence] `bun:"away,type:text"`
}

func rowOfPerson(p compliance.Person) personRow {
	return personRow{ID: key(p.ID), Name: p.Called, Email: p.Email, Site: key(p.Site), Offices: list[compliance.Office]{p.Offices},
		Joined: p.Joined, Leaves: p.Leaves, Born: p.Born, Away: list[compliance.Absence]{p.Away}}
}

func (r *personRow) record() compliance.Person {
	return compliance.Person{ID: inventory.ID(r.ID), Called: r.Name, Email: r.Email, Site: inventory.ID(r.Site), Offices: r.Offices.of,
		Joined: r.Joined, Leaves: r.Leaves, Born: r.Born, Away: r.Away.of}
}

type activityRow struct {
	bun.BaseModel `bun:"table:activity"`
	ID            key          `bun:"id,pk"`
	What          string       `bun:"what"`
	Subject       refText      `bun:"subject,type:text"`
	On            day.Day      `bun:"done_on,type:text"`
	By            key          `bun:"done_by"`
	Passed        int          `bun:"passed"`
	Until         day.End      `bun:"good_until,type:text"`
	Year          int          `bun:"for_year"`
	Note          string       `bun:"note"`
	At            *int64       `bun:"done_at"`
	Fields        list[string] `bun:"fields,type:text"`
	Witness       key          `bun:"witness"`
	Unwitnessed   *string      `bun:"unwitnessed"`
}

func rowOfActivity(a compliance.Activity) activityRow {
	r := activityRow{ID: key(a.ID), What: a.What, Subject: refText{a.Subject}, On: a.On, By: key(a.By), Passed: int(a.Passed),
		Until: a.Until, Year: a.Year, Note: a.Note, Fields: list[string]{a.Fields}, Witness: key(a.Witness)}
	if a.Unwitnessed != "" {
		r.Unwitnessed = &a.Unwitnessed
	}
	if !a.At.IsZero() {
		at := micros(a.At)
		r.At = &at
	}
	return r
}

func (r *activityRow) record() compliance.Activity {
	a := compliance.Activity{ID: inventory.ID(r.ID), What: r.What, Subject: r.Subject.Ref, On: r.On, By: inventory.ID(r.By), Passed: inventory.Tri(r.Passed),
		Until: r.Until, Year: r.Year, Note: r.Note, Fields: r.Fields.of, Witness: inventory.ID(r.Witness)}
	if r.Unwitnessed != nil {
		a.Unwitnessed = *r.Unwitnessed
	}
	if r.At != nil {
		a.At = time.UnixMicro(*r.At).UTC() // 1970 has an instant too
	}
	return a
}

type feedRow struct {
	bun.BaseModel `bun:"table:feed"`
	ID            key           `bun:"id,pk"`
	Topic         string        `bun:"topic"`
	Site          key           `bun:"site"`
	Keeper        string        `bun:"keeper"`
	Complete      day.Day       `bun:"complete_from,type:text"`
	Confirmed     list[day.Day] `bun:"confirmed,type:text"`
	MaxAge        int           `bun:"max_age_days"`
}

func rowOfFeed(f compliance.Feed) feedRow {
	return feedRow{ID: key(f.ID), Topic: string(f.Topic), Site: key(f.Site), Keeper: string(f.Keeper), Complete: f.Complete,
		Confirmed: list[day.Day]{f.Confirmed}, MaxAge: f.MaxAge}
}

func (r *feedRow) record() compliance.Feed {
	return compliance.Feed{ID: inventory.ID(r.ID), Topic: compliance.Topic(r.Topic), Site: inventory.ID(r.Site), Keeper: compliance.Role(r.Keeper),
		Complete: r.Complete, Confirmed: r.Confirmed.of, MaxAge: r.MaxAge}
}

type notWatchedRow struct {
	bun.BaseModel `bun:"table:not_watched"`
	ID            key     `bun:"id,pk"`
	Subject       refText `bun:"subject,type:text"`
	By            key     `bun:"declared_by"`
	Why           string  `bun:"why"`
	From          day.Day `bun:"from_day,type:text"`
	Last          day.Day `bun:"last_day,type:text"`
}

func rowOfNotWatched(n compliance.NotWatched) notWatchedRow {
	return notWatchedRow{ID: key(n.ID), Subject: refText{n.Subject}, By: key(n.By), Why: n.Why, From: n.From, Last: n.Last}
}

func (r *notWatchedRow) record() compliance.NotWatched {
	return compliance.NotWatched{ID: inventory.ID(r.ID), Subject: r.Subject.Ref, By: inventory.ID(r.By), Why: r.Why, From: r.From, Last: r.Last}
}

type decisionRow struct {
	bun.BaseModel `bun:"table:decision"`
	ID            key     `bun:"id,pk"`
	Ruling        string  `bun:"ruling"`
	Subject       refText `bun:"subject,type:text"`
	By            key     `bun:"decided_by"`
	On            day.Day `bun:"decided_on,type:text"`
	Last          day.Day `bun:"last_day,type:text"`
	Why           string  `bun:"why"`
	Consequence   string  `bun:"consequence"`
}

func rowOfDecision(d compliance.Decision) decisionRow {
	return decisionRow{ID: key(d.ID), Ruling: string(d.Ruling), Subject: refText{d.Subject}, By: key(d.By), On: d.On, Last: d.Last,
		Why: d.Why, Consequence: d.Consequence}
}

func (r *decisionRow) record() compliance.Decision {
	return compliance.Decision{ID: inventory.ID(r.ID), Ruling: compliance.Ruling(r.Ruling), Subject: r.Subject.Ref, By: inventory.ID(r.By), On: r.On, Last: r.Last,
		Why: r.Why, Consequence: r.Consequence}
}
