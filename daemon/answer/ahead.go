package answer

import (
	"cmp"
	"io"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// Ahead answers what changes when, if nobody does anything: every change of
// standing from today on, the first day first.
type Ahead struct {
	Format     int       `json:"format"`
	Now        time.Time `json:"now"`
	From       day.Day   `json:"from"`
	Until      day.Day   `json:"until"`
	Plans      bool      `json:"plans"`
	Routine    bool      `json:"routine"`
	FirstLapse day.Day   `json:"first_lapse,omitzero"` // first day on which anything leaves in order
	Turns      []Turn    `json:"turns"`
	NobodyTold bool      `json:"nobody_told"`
}

// Turn is one change of one duty's standing.
type Turn struct {
	On          day.Day             `json:"on"` // first day of the new standing
	Requirement string              `json:"requirement"`
	Subject     string              `json:"subject"`
	Name        string              `json:"name"`
	Occurrence  string              `json:"occurrence,omitempty"`
	From        compliance.Standing `json:"from"`
	To          compliance.Standing `json:"to"`
	State       compliance.Code     `json:"state"`
	StateWords  string              `json:"state_words"`
	Layer       compliance.Layer    `json:"layer"`
	Cause       string              `json:"cause,omitempty"`
	Rule        string              `json:"rule"`
	Step        *notify.Step        `json:"step,omitempty"` // what could still prevent it: the step before the turn
}

// NewAhead makes the answer from a report whose question reached to until.
func NewAhead(r *compliance.Report, until day.Day) *Ahead {
	v := r.View
	a := &Ahead{Format: Format, Now: v.Ask.Now.UTC(), From: v.Today(inventory.ID{}), Until: until, Turns: []Turn{},
		Plans: v.Ask.Plans, Routine: v.Ask.Routine, NobodyTold: !v.House().Mailed}
	for _, j := range r.Judgements {
		a.turns(r, j)
	}
	slices.SortFunc(a.Turns, func(x, y Turn) int {
		return cmp.Or(cmp.Compare(x.On, y.On), cmp.Compare(y.To, x.To), cmp.Compare(x.Name, y.Name),
			cmp.Compare(x.Requirement, y.Requirement), cmp.Compare(x.Occurrence, y.Occurrence))
	})
	for _, t := range a.Turns {
		if t.From == compliance.InOrder && t.To.Bad() {
			a.FirstLapse = t.On
			break
		}
	}
	return a
}

func (a *Ahead) turns(r *compliance.Report, j *compliance.Judgement) {
	line := j.Combined()
	today := r.View.Today(j.Site(a.From))
	was := line.At(today)
	for on, is := range line.Changes() {
		if on <= today || on > a.Until {
			continue
		}
		if is.Standing != was.Standing {
			a.Turns = append(a.Turns, turnOf(r, j, on, was, is, today))
		}
		was = is
	}
}

func turnOf(r *compliance.Report, j *compliance.Judgement, on day.Day, was, is *compliance.Verdict, today day.Day) Turn {
	rule := j.Binding(on).Rule
	t := Turn{On: on, Requirement: j.Key.Requirement, Subject: j.Key.Subject.String(), Name: r.View.NameOf(j.Key.Subject),
		Occurrence: j.Key.Occurrence, From: was.Standing, To: is.Standing, State: is.State, Step: Prevents(r, j, on, was, is, today)}
	if is.State != "" {
		t.StateWords = words.State(is.State)
	}
	if !is.Cause.IsZero() {
		t.Cause = r.View.NameOf(is.Cause)
	}
	if rule != nil {
		t.Rule, t.Layer = rule.ID, rule.Layer
	}
	return t
}

// Prevents puts into words, as of today, the step that would keep a duty from
// turning on a day; nil where there is none.
func Prevents(r *compliance.Report, j *compliance.Judgement, on day.Day, was, is *compliance.Verdict, today day.Day) *notify.Step {
	step := prevents(r.View, was, is)
	rule := j.Binding(on - 1).Rule // the step is most often of the day before
	if step == is.Step {
		rule = j.Binding(on).Rule
	}
	return notify.DescribeStep(r, rule, step, today)
}

// prevents gives the step that would keep the turn from coming: the one that
// was open before it, unless the turn comes from elsewhere and has a step of
// its own: a planned arrival, or the duty itself where only its list was to be
// confirmed. A list that grows stale is to be confirmed, whatever else is to
// be done about the duty.
func prevents(v *compliance.View, was, is *compliance.Verdict) compliance.Step {
	if feed, ok := v.Feeds.Get(is.Cause.ID); ok && is.State == compliance.ListStale {
		return compliance.Step{Do: compliance.ConfirmList, Instance: is.Cause, Owner: feed.Keeper, By: feed.FreshUntil(), Legal: feed.FreshUntil()}
	}
	elsewhere := is.State == compliance.OverNumber || was.Step.Do == compliance.ConfirmList
	if was.Step.IsZero() || elsewhere && !is.Step.IsZero() {
		return is.Step
	}
	return was.Step
}

// WriteText prints the answer for a terminal, one entry for each day and
// cause.
func (a *Ahead) WriteText(w io.Writer) error {
	out := &printer{w: w}
	out.line("If nobody does anything, from %s to %s:", words.Day(a.From), words.Day(a.Until))
	out.indented("assuming %s; %s.", choose(a.Plans, "that plans come true", "that planned gains do not come true"),
		choose(a.Routine, "that the daily routine goes on", "no new records at all (--routine assumes that the daily routine goes on)"))
	if a.NobodyTold {
		out.line("  " + words.NobodyTold)
	}
	switch {
	case len(a.Turns) == 0:
		out.line("  nothing changes.")
	case a.FirstLapse.IsZero():
		out.line("  nothing that is in order leaves it.")
	default:
		out.line("  the first to leave in order does so on %s, %s.", words.Day(a.FirstLapse), words.Relative(a.FirstLapse, a.From))
	}
	for _, group := range turnGroups(a.Turns) {
		out.line("")
		out.turn(group, a.From)
	}
	out.line("")
	out.text(words.Caution)
	return out.err
}

func choose(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

func turnGroups(turns []Turn) [][]Turn {
	type same struct {
		on          day.Day
		from, to    compliance.Standing
		rule, cause string
		state       compliance.Code
		alone       string
	}
	return notify.Together(turns, func(t Turn) same {
		k := same{on: t.On, from: t.From, to: t.To, cause: t.Cause, state: t.State}
		if t.Cause == "" {
			k.alone, k.rule = t.Subject+t.Occurrence, t.Rule
		}
		return k
	})
}

func (p *printer) turn(turns []Turn, today day.Day) {
	t := turns[0]
	p.line("%s, %s: %s -> %s", words.Day(t.On), words.Relative(t.On, today), words.Standing(t.From), words.Standing(t.To))
	list := make([]notify.Item, len(turns))
	for i, turn := range turns {
		list[i] = notify.Item{Name: turn.Name, Occurrence: turn.Occurrence}
	}
	text := notify.Names(list)
	if t.StateWords != "" {
		text += ": " + t.StateWords
	}
	p.field("what", text)
	if t.Cause != "" && t.Cause != t.Name {
		p.field("because of", t.Cause)
	}
	if t.Step != nil && t.To.Bad() {
		p.field("prevents it", words.Capital(t.Step.Words)+", "+t.Step.When(today)+" ("+words.Role(t.Step.Owner)+")")
	}
	var rules []string
	for _, turn := range turns {
		if !slices.Contains(rules, turn.Rule) {
			rules = append(rules, turn.Rule)
		}
	}
	p.field("rule", strings.Join(rules, ", "))
}
