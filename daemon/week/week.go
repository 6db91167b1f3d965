package week

import (
	"cmp"
	"slices"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// days is how many days a sheet is for; ahead how many it looks beyond them
// for what changes standing. (Design of this project, no source.)
const (
	days  = 7
	ahead = 56
)

// Made says when and from what a week was made.
type Made struct {
	At    time.Time
	Zone  *time.Location // in which the sheet tells the time; nil: UTC
	Entry int64          // of the journal: the state of the records; 0: no journal, as in a demo
	// NobodyTold: the configuration sends no mail.
	NobodyTold bool
}

// Week is what must be done from a day on.
type Week struct {
	Made
	House     string
	From      day.Day // the first of seven, at the house; each site counts its own day
	Until     day.Day // the last of seven
	MailHeld  string  // why no mail leaves
	Now       []Task  // overdue, or due at once
	Days      []Day   // seven
	Unknown   []Task  // cannot be told
	Later     []Task  // due after the seven days: in the calendar alone
	Lapses    []Lapse // leaves in order within eight weeks after the first day
	AllLapses []Lapse // as far as the question looked: in the calendar
	Unwatched []Unwatched
	Counts    Counts

	house inventory.ID
}

// Day is one day with what is due by its end.
type Day struct {
	On    day.Day
	Tasks []Task
}

// Unwatched is a subject that is declared not watched yet.
type Unwatched struct {
	Name, By, Why string
	Last          day.Day
}

// Counts says what was looked at.
type Counts struct{ Animals, Papers, Lots, People, Rules, Duties int }

// Of makes the week from a report. Its first day is the report's today.
func Of(r *compliance.Report, made Made) *Week {
	v := r.View
	if made.Zone == nil {
		made.Zone = time.UTC
	}
	from := v.Today(inventory.ID{})
	w := &Week{Made: made, House: v.House().Title, From: from, Until: from.Add(days - 1), MailHeld: v.Pulse.MailHeld, house: v.House().ID,
		Counts: Counts{v.Animals.Len(), v.Permits.Len(), v.Lots.Len(), v.People.Len(), len(v.Book.Rules), len(r.Judgements)}}
	w.NobodyTold = w.NobodyTold || !v.House().Mailed
	for i := range days {
		w.Days = append(w.Days, Day{On: from.Add(i)})
	}
	for _, t := range tasks(r) {
		w.place(t)
	}
	w.AllLapses = lapses(r)
	for _, l := range w.AllLapses {
		if l.On <= from.Add(ahead) {
			w.Lapses = append(w.Lapses, l)
		}
	}
	for n := range v.NotWatched.All() {
		if today := v.Today(n.Subject.At); n.From <= today && today <= n.Last {
			w.Unwatched = append(w.Unwatched, Unwatched{v.NameOf(n.Subject), v.NameOf(inventory.Ref{Kind: inventory.KindPerson, ID: n.By}), n.Why, n.Last})
		}
	}
	slices.SortFunc(w.Unwatched, func(a, b Unwatched) int { return cmp.Compare(a.Name, b.Name) })
	return w
}

// place puts a task where a reader looks for it.
func (w *Week) place(t Task) {
	switch {
	case t.Standing == compliance.CannotTell:
		w.Unknown = append(w.Unknown, t)
	case t.Step == nil || t.Step.By < w.From: // unset, at once, is before every day
		w.Now = append(w.Now, t)
	case t.Step.By <= w.Until:
		d := &w.Days[t.Step.By.Sub(w.From)]
		d.Tasks = append(d.Tasks, t)
	default:
		w.Later = append(w.Later, t)
	}
}

// Owners groups tasks by whose they are, in the order of the roles.
func Owners(list []Task) []Owner {
	var out []Owner
	for _, group := range notify.Together(list, func(t Task) string { return string(t.Owner) + "\x00" + t.Whose }) {
		out = append(out, Owner{group[0].Owner, group[0].Whose, group})
	}
	slices.SortStableFunc(out, func(a, b Owner) int {
		return cmp.Compare(slices.Index(compliance.Roles, a.Role), slices.Index(compliance.Roles, b.Role))
	})
	return out
}

// Owner is a role at a site, with whoever holds it, and what is theirs to do.
type Owner struct {
	Role  compliance.Role
	Whose string
	Tasks []Task
}

// OtherDay says that the week was not made on its first day; empty where it
// was. Zones may differ by a day.
func (w *Week) OtherDay() string {
	on := day.In(w.At, w.Zone)
	if n := w.From.Sub(on); -1 <= n && n <= 1 {
		return ""
	}
	return "This was made on " + words.Day(on) + " for another day, from what was recorded then: what is recorded later may change all of it."
}

// good gives the last day on which what was made can be relied on: after a
// week nobody may be watching any more.
func (w *Week) good() day.Day {
	if w.OtherDay() != "" {
		return day.In(w.At, w.Zone).Add(days - 1)
	}
	return w.Until
}

// Stale is the sentence by which a sheet that lies around gives itself away.
func (w *Week) Stale() string {
	return "If it is after " + words.Day(w.good()) + ", this is older than a week and NOBODY IS WATCHING by it: find out why no new one came."
}
