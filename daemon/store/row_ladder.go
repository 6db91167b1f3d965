package store

import (
	"github.com/uptrace/bun"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

type sessionRow struct {
	bun.BaseModel `bun:"table:handling_session"` // session is a word of SQL
	ID            key                            `bun:"id,pk"`
	Trainee       key                            `bun:"trainee"`
	Mentor        key                            `bun:"mentor"`
	Watched       int                            `bun:"watched"`
	Site          key                            `bun:"site"`
	Species       key                            `bun:"species"`
	Animals       list[inventory.ID]             `bun:"animals,type:text"`
	Task          task                           `bun:"task,type:text"`
	Results       string                         `bun:"results"`
	On            day.Day                        `bun:"held_on,type:text"`
	Begun         when                           `bun:"begun_at,type:bigint"`
	Ended         when                           `bun:"ended_at,type:bigint"`
	Signed        when                           `bun:"signed_at,type:bigint"`
	Unsafe        int                            `bun:"unsafe"`
	Note          string                         `bun:"note"`
}

func rowOfSession(s ladder.Session) sessionRow {
	return sessionRow{ID: key(s.ID), Trainee: key(s.Trainee), Mentor: key(s.Mentor), Watched: int(s.Watched), Site: key(s.Site), Species: key(s.Species),
		Animals: ids(s.Animals), Task: task(s.Level), Results: s.Results, On: s.On, Begun: when{s.Begun}, Ended: when{s.Ended}, Signed: when{s.Signed},
		Unsafe: int(s.Unsafe), Note: s.Note}
}

func (r *sessionRow) record() ladder.Session {
	return ladder.Session{ID: inventory.ID(r.ID), Trainee: inventory.ID(r.Trainee), Mentor: inventory.ID(r.Mentor), Watched: inventory.Tri(r.Watched),
		Site: inventory.ID(r.Site), Species: inventory.ID(r.Species), Animals: r.Animals.of, Level: ladder.Level(r.Task), Results: r.Results, On: r.On,
		Begun: r.Begun.Time, Ended: r.Ended.Time, Signed: r.Signed.Time, Unsafe: inventory.Tri(r.Unsafe), Note: r.Note}
}

type authorisationRow struct {
	bun.BaseModel `bun:"table:authorisation"`
	ID            key                `bun:"id,pk"`
	Person        key                `bun:"person"`
	What          string             `bun:"what"`
	Stage         int                `bun:"stage"`
	Species       key                `bun:"species"`
	Task          *task              `bun:"task,type:text"` // NULL: none is allowed by it
	On            day.Day            `bun:"from_day,type:text"`
	At            when               `bun:"done_at,type:bigint"`
	Mentor        key                `bun:"mentor"`
	Signers       list[inventory.ID] `bun:"signers,type:text"`
	Criteria      string             `bun:"criteria"`
	Founding      string             `bun:"founding"`
	Until         day.End            `bun:"good_until,type:text"`
	Reason        string             `bun:"reason"`
}

func rowOfAuthorisation(a ladder.Authorisation) authorisationRow {
	r := authorisationRow{ID: key(a.ID), Person: key(a.Person), What: string(a.What), Stage: a.Stage, Species: key(a.Species), On: a.On, At: when{a.At},
		Mentor: key(a.Mentor), Signers: ids(a.Signers), Criteria: a.Criteria, Founding: a.Founding, Until: a.Until, Reason: a.Reason}
	if a.Level != 0 {
		level := task(a.Level)
		r.Task = &level
	}
	return r
}

func (r *authorisationRow) record() ladder.Authorisation {
	a := ladder.Authorisation{ID: inventory.ID(r.ID), Person: inventory.ID(r.Person), What: ladder.What(r.What), Stage: r.Stage, Species: inventory.ID(r.Species),
		On: r.On, At: r.At.Time, Mentor: inventory.ID(r.Mentor), Signers: r.Signers.of, Criteria: r.Criteria, Founding: r.Founding, Until: r.Until, Reason: r.Reason}
	if r.Task != nil {
		a.Level = ladder.Level(*r.Task)
	}
	return a
}

type creditRow struct {
	bun.BaseModel `bun:"table:credit"`
	ID            key                `bun:"id,pk"`
	Person        key                `bun:"person"`
	Where         string             `bun:"done_at"`
	Proof         string             `bun:"proof"`
	Taxon         string             `bun:"taxon"`
	First         day.Day            `bun:"first_day,type:text"`
	Last          day.Day            `bun:"last_day,type:text"`
	Hours         int                `bun:"hours"`
	Repetitions   int                `bun:"repetitions"`
	Days          int                `bun:"days"`
	Percent       int                `bun:"percent"`
	On            day.Day            `bun:"decided_on,type:text"`
	Signers       list[inventory.ID] `bun:"signers,type:text"`
	Note          string             `bun:"note"`
}

func rowOfCredit(c ladder.Credit) creditRow {
	return creditRow{ID: key(c.ID), Person: key(c.Person), Where: c.Where, Proof: string(c.Proof), Taxon: c.Taxon, First: c.First, Last: c.Last, Hours: c.Hours,
		Repetitions: c.Repetitions, Days: c.Days, Percent: c.Percent, On: c.On, Signers: ids(c.Signers), Note: c.Note}
}

func (r *creditRow) record() ladder.Credit {
	return ladder.Credit{ID: inventory.ID(r.ID), Person: inventory.ID(r.Person), Where: r.Where, Proof: ladder.Proof(r.Proof), Taxon: r.Taxon, First: r.First, Last: r.Last,
		Hours: r.Hours, Repetitions: r.Repetitions, Days: r.Days, Percent: r.Percent, On: r.On, Signers: r.Signers.of, Note: r.Note}
}

type placementRow struct {
	bun.BaseModel `bun:"table:placement"`
	ID            key     `bun:"id,pk"`
	Subject       refText `bun:"subject,type:text"`
	Stage         int     `bun:"stage"`
	On            day.Day `bun:"from_day,type:text"`
	Until         day.End `bun:"good_until,type:text"`
	By            key     `bun:"decided_by"`
	Reason        string  `bun:"reason"`
}

func rowOfPlacement(p ladder.Placement) placementRow {
	return placementRow{ID: key(p.ID), Subject: refText{p.Subject}, Stage: p.Stage, On: p.On, Until: p.Until, By: key(p.By), Reason: p.Reason}
}

func (r *placementRow) record() ladder.Placement {
	return ladder.Placement{ID: inventory.ID(r.ID), Subject: r.Subject.Ref, Stage: r.Stage, On: r.On, Until: r.Until, By: inventory.ID(r.By), Reason: r.Reason}
}
