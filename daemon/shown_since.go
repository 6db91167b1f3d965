package daemon

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/store"
	"antidotary/daemon/web"
	"antidotary/inventory"
	"antidotary/notify"
	"antidotary/notify/words"
)

// How much of what changed is shown; all of it is counted.
const (
	mostLines   = 12
	mostNames   = 8
	mostRecords = 20
)

// sinceOf puts what changed into words; nil stays nil, which is not known.
func sinceOf(r *compliance.Report, s *store.Since, zone *time.Location) *web.Since {
	if s == nil {
		return nil
	}
	t := titles{r: r}
	out := &web.Since{From: s.From, Began: r.View.Pulse.Since, Zone: zone.String(), Notices: s.Reminders, People: s.People}
	out.Parts = []web.Changed{
		changedOf(r, "Opened", "Nothing new needs somebody.", s.Opened, same, func(f compliance.Finding) string {
			return words.State(f.Verdict.State) + ". " + t.of(f)
		}),
		changedOf(r, "Worse, or an act-by day moved up", "Nothing that was open became worse.", s.Worse, func(w store.Worsened) compliance.Finding { return w.After },
			func(w store.Worsened) string { return worse(w) + ". " + t.of(w.After) }),
		changedOf(r, "Ended", "Nothing that was open has ended.", s.Ended, same, func(f compliance.Finding) string {
			return words.Closing(f.How) + ". " + t.of(f)
		}),
	}
	out.Records, out.More = recordedOf(s.Changes)
	return out
}

func same(f compliance.Finding) compliance.Finding { return f }

// titles finds the titles of rules.
type titles struct{ r *compliance.Report }

func (t titles) of(f compliance.Finding) string {
	if j := t.r.Of(f.Key); j != nil {
		for _, rl := range j.Rules {
			if rl.Rule.ID == f.Rule {
				return rl.Rule.Title
			}
		}
	}
	for _, rule := range t.r.View.Book.Rules {
		if rule.ID == f.Rule {
			return rule.Title
		}
	}
	return "Requirement " + f.Key.Requirement
}

// changedOf groups findings of which the same is said, the gravest first.
func changedOf[T any](r *compliance.Report, title, empty string, list []T, of func(T) compliance.Finding, says func(T) string) web.Changed {
	type alike struct {
		rule, says string
		cause      inventory.Ref
	}
	c := web.Changed{Title: title, Empty: empty, Count: len(list)}
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b T) int {
		x, y := of(a), of(b)
		return cmp.Or(cmp.Compare(x.Severity.Rank(), y.Severity.Rank()), cmp.Compare(y.Verdict.Standing, x.Verdict.Standing))
	})
	groups := notify.Together(list, func(one T) alike {
		f := of(one)
		return alike{f.Rule, says(one), f.Verdict.Cause}
	})
	for i, group := range groups {
		if i >= mostLines {
			c.More += len(group)
			continue
		}
		line := web.Line{Says: says(group[0]), MoreNames: max(0, len(group)-mostNames)}
		for _, one := range group[:min(len(group), mostNames)] {
			line.Names = append(line.Names, nameOf(r, of(one).Key))
		}
		slices.SortFunc(line.Names, func(a, b web.Name) int { return cmp.Compare(a.Name, b.Name) })
		c.Lines = append(c.Lines, line)
	}
	return c
}

func nameOf(r *compliance.Report, k compliance.Key) web.Name {
	return web.Name{Name: strings.TrimSuffix(r.View.NameOf(k.Subject)+" for "+k.Occurrence, " for "), Subject: k.Subject.String()}
}

// worse says in which way a finding is worse than it was.
func worse(w store.Worsened) string {
	was, is := w.Before.Verdict, w.After.Verdict
	switch {
	case was.Standing != is.Standing:
		return "was " + words.Standing(was.Standing) + ", is " + words.Standing(is.Standing) + ": " + words.State(is.State)
	case w.After.Missed && !w.Before.Missed:
		return "the day to act by, " + words.Day(is.Step.By) + ", has passed"
	case is.Step.By != was.Step.By && is.Step.By.IsZero():
		return "to be done at once; it was by " + words.Day(was.Step.By)
	case is.Step.By < was.Step.By:
		return "the day to act by moved up from " + words.Day(was.Step.By) + " to " + words.Day(is.Step.By)
	default:
		return "it weighs more than it did: " + words.State(is.State)
	}
}

// kinds are records as people call them, many of each.
var kinds = map[string]string{"organisation": "the house", "species": "species", "coverage": "which antivenom is for what", "person": "people", "permit": "papers",
	"authority": "authorities", "activity": "activities", "planned": "plans", "feed": "lists", "not-watched": "what is not watched yet"}

// recordedOf sums the journal up by who made it, most entries first.
func recordedOf(changes []store.Changes) (out []web.Recorded, more int) {
	for _, list := range notify.Together(changes, func(c store.Changes) string { return c.Actor }) {
		slices.SortStableFunc(list, func(a, b store.Changes) int { return cmp.Compare(b.Entries, a.Entries) })
		r := web.Recorded{Who: list[0].Actor}
		if r.Who == "" {
			r.Who = "somebody whose name was erased"
		}
		var what []string
		for _, c := range list {
			r.Entries += c.Entries
			what = append(what, sortOf(c.Change)+" "+strconv.Itoa(c.Entries))
		}
		r.What = strings.Join(what, ", ")
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b web.Recorded) int { return cmp.Compare(b.Entries, a.Entries) })
	more = max(0, len(out)-mostRecords)
	return out[:len(out)-more], more
}

// sortOf names a sort of change: the records alone where they were put, else
// what else was done to them; words that are no kind of record stay as they are.
func sortOf(change string) string {
	verb, kind, _ := strings.Cut(change, " ")
	if _, err := inventory.ParseKind(kind); err != nil {
		return change
	}
	what, known := kinds[kind]
	if !known {
		what = kind + "s"
	}
	if verb != "put" {
		what += " (" + verb + ")"
	}
	return what
}
