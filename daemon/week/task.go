package week

import (
	"cmp"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// Task is one thing to do, about one cause.
type Task struct {
	notify.Item                 // of the first duty that asks for it
	Names       string          // of all their subjects, at most twelve
	Count       int             // of duties
	Owner       compliance.Role // whose step it is; empty: no step is known
	Whose       string          // the role with who holds it there

	of of
}

// of says what a task is about, whatever its day and however it stands: the
// name under which calendars know it.
type of struct {
	what        string // step or lapse
	requirement string
	do          compliance.Code
	about       inventory.Ref // the cause, or else the subject itself
	occurrence  string
}

// tasks gives what needs somebody, one for each cause, standing, state and
// day, worst first. The facts are those of the first duty.
func tasks(r *compliance.Report) []Task {
	type alike struct {
		of
		standing compliance.Standing
		state    compliance.Code
		by       day.Day
		site     inventory.ID
	}
	members := make(map[alike][]compliance.Finding)
	var order []alike
	for _, j := range r.Judgements {
		f, needed := r.Finding(j)
		if !needed {
			continue
		}
		k := alike{ofStep(&f), f.Verdict.Standing, f.Verdict.State, f.Verdict.Step.By, f.Site}
		if len(members[k]) == 0 {
			order = append(order, k)
		}
		members[k] = append(members[k], f)
	}
	var list []Task
	for _, k := range order {
		list = append(list, taskOf(r, members[k], k.of))
	}
	slices.SortStableFunc(list, func(a, b Task) int {
		return cmp.Or(cmp.Compare(b.Standing, a.Standing), cmp.Compare(a.Severity.Rank(), b.Severity.Rank()), cmp.Compare(a.by(), b.by()),
			cmp.Compare(a.Names, b.Names), cmp.Compare(a.Requirement, b.Requirement))
	})
	return list
}

// by is the day by which tasks are sorted: at once comes first, and so does
// what has no step at all.
func (t *Task) by() day.Day {
	if t.Step == nil {
		return 0
	}
	return t.Step.By
}

func taskOf(r *compliance.Report, findings []compliance.Finding, about of) Task {
	f := findings[0]
	t := Task{Item: notify.Describe(r, f), Count: len(findings), Owner: f.Verdict.Step.Owner, of: about}
	t.Names = namesOf(r, findings)
	t.Whose = whose(r, t.Owner, f.Site)
	return t
}

// namesOf lists the subjects, at most twelve.
func namesOf(r *compliance.Report, findings []compliance.Finding) string {
	var items []notify.Item
	for _, f := range findings {
		items = append(items, notify.Item{Name: r.View.NameOf(f.Key.Subject), Occurrence: f.Key.Occurrence})
	}
	return notify.Names(items)
}

func ofStep(f *compliance.Finding) of {
	o := of{what: "step", requirement: f.Key.Requirement, do: f.Verdict.Step.Do, about: f.Verdict.Cause}
	if o.about.IsZero() {
		o.about, o.occurrence = f.Key.Subject, f.Key.Occurrence
	}
	return o
}

// whose names a role and who holds it at a site today, mailed or not.
func whose(r *compliance.Report, role compliance.Role, site inventory.ID) string {
	if role == "" {
		return "head of collection, because no step is known"
	}
	today := r.View.Today(site)
	nowhere := site == inventory.ID{} || site == inventory.Nowhere
	var names []string
	for p := range r.View.People.All() {
		if p.Has(role, site, today) || nowhere && p.HasAnywhere(role, today) {
			names = append(names, p.Called)
		}
	}
	if len(names) == 0 {
		return words.Role(role) + ": NOBODY holds this role there; the head of collection decides who does it"
	}
	slices.Sort(names)
	return words.Role(role) + ": " + strings.Join(names, ", ")
}

// ToDo says what to do, as a sentence begins.
func (t *Task) ToDo() string {
	if t.Step == nil {
		return "No step is known: find out what puts it in order"
	}
	return words.Capital(t.Step.Words)
}

// When says by when, on a day.
func (t *Task) When(today day.Day) string {
	if t.Step == nil {
		return "at once"
	}
	return t.Step.When(today)
}
