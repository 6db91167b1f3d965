package answer

import (
	"cmp"
	"fmt"
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

// Supposed answers what would be otherwise if something were so: only the
// difference, and nothing of it is written.
type Supposed struct {
	Telling
	Format    int         `json:"format"`
	Now       time.Time   `json:"now"`
	From      day.Day     `json:"from"`
	Until     day.Day     `json:"until"`
	Supposing []string    `json:"supposing"`
	Worse     int         `json:"worse"`  // duties that are worse on some day
	Better    int         `json:"better"` // duties that are better on some day, and worse on none
	Otherwise []Otherwise `json:"otherwise"`
	// Already is what is wrong, or cannot be told, about what is supposed on
	// the day of it, with or without it: that nothing changes is not that it is
	// fine.
	Already []Otherwise `json:"already"`
}

// Otherwise is a span of days on which one duty stands otherwise.
type Otherwise struct {
	From        day.Day             `json:"from"`
	Last        day.Day             `json:"last,omitzero"` // unset: beyond the last day that was looked at
	Requirement string              `json:"requirement"`
	Subject     string              `json:"subject"`
	Name        string              `json:"name"`
	Occurrence  string              `json:"occurrence,omitempty"`
	Title       string              `json:"title"`
	Was         compliance.Standing `json:"was"`
	Is          compliance.Standing `json:"is"`
	State       compliance.Code     `json:"state"`
	StateWords  string              `json:"state_words"`
	Cause       string              `json:"cause,omitempty"`
	Rule        string              `json:"rule"`
	Step        *notify.Step        `json:"step,omitempty"` // that is open from then on
}

// NewSupposed compares two reports of the same question.
func NewSupposed(base, then *compliance.Report, until day.Day, supposing []string) *Supposed {
	v := then.View
	a := &Supposed{Telling: Telling{!v.House().Mailed}, Format: Format, Now: v.Ask.Now.UTC(), From: v.Today(inventory.ID{}), Until: until,
		Supposing: supposing, Otherwise: []Otherwise{}, Already: []Otherwise{}}
	for _, j := range then.Judgements {
		a.compare(then, j, base.Of(j.Key), j)
	}
	for _, j := range base.Judgements {
		if then.Of(j.Key) == nil {
			a.compare(base, j, j, nil)
		}
	}
	slices.SortFunc(a.Otherwise, func(x, y Otherwise) int {
		return cmp.Or(cmp.Compare(x.From, y.From), cmp.Compare(y.Is, x.Is), cmp.Compare(x.Name, y.Name), cmp.Compare(x.Requirement, y.Requirement))
	})
	return a
}

// standings is what one duty says on a day, without and with what is supposed.
type standings struct{ was, is compliance.Verdict }

func (s standings) alike(o standings) bool {
	return s.was.Standing == o.was.Standing && s.is.Standing == o.is.Standing && s.is.State == o.is.State
}

// compare adds the spans on which a duty stands otherwise. of is the report
// that knows the duty.
func (a *Supposed) compare(of *compliance.Report, known, base, then *compliance.Judgement) {
	line := func(j *compliance.Judgement) compliance.Line {
		if j == nil {
			return day.Constant(&compliance.Verdict{})
		}
		return j.Combined()
	}
	both := day.Combine(line(base), line(then), func(x, y *compliance.Verdict) standings { return standings{*x, *y} })
	today := of.View.Today(known.Site(a.From))
	var open *Otherwise
	worse, better := false, false
	last := standings{}
	step := func(on day.Day, s standings) {
		if open != nil && (!s.alike(last) || on > a.Until) {
			if on <= a.Until {
				open.Last = on - 1
			}
			a.Otherwise = append(a.Otherwise, *open)
			open = nil
		}
		last = s
		if on > a.Until || s.was.Standing == s.is.Standing || open != nil {
			return
		}
		worse = worse || s.is.Standing.Bad() && s.is.Standing > s.was.Standing
		better = better || s.was.Standing.Bad() && s.is.Standing < s.was.Standing
		open = differenceOf(of, known, on, s, today)
	}
	step(today, both.At(today))
	for on, s := range both.Changes() {
		if on > today {
			step(on, s)
		}
	}
	step(a.Until+1, standings{})
	switch {
	case worse:
		a.Worse++
	case better:
		a.Better++
	}
}

func differenceOf(r *compliance.Report, j *compliance.Judgement, on day.Day, s standings, today day.Day) *Otherwise {
	d := &Otherwise{From: on, Requirement: j.Key.Requirement, Subject: j.Key.Subject.String(), Name: r.View.NameOf(j.Key.Subject), Occurrence: j.Key.Occurrence,
		Was: s.was.Standing, Is: s.is.Standing, State: s.is.State, Step: notify.DescribeStep(r, j.Binding(on).Rule, s.is.Step, today)}
	if s.is.State != "" {
		d.StateWords = words.State(s.is.State)
	}
	if !s.is.Cause.IsZero() {
		d.Cause = r.View.NameOf(s.is.Cause)
	}
	if rule := j.Binding(on).Rule; rule != nil {
		d.Rule, d.Title = rule.ID, rule.Title
	}
	return d
}

// Anyway notes what is not in order about what is supposed, on the day of it,
// and is no difference.
func (a *Supposed) Anyway(then *compliance.Report, about map[inventory.Ref]day.Day) {
	told := make(map[string]bool)
	for _, d := range a.Otherwise {
		told[d.Requirement+" "+d.Subject] = true
	}
	for _, j := range then.Judgements {
		on, concerned := about[j.Key.Subject]
		if !concerned {
			continue
		}
		verdict, _ := j.At(on)
		if d := differenceOf(then, j, on, standings{*verdict, *verdict}, on); verdict.Standing.Bad() && !told[d.Requirement+" "+d.Subject] {
			a.Already = append(a.Already, *d)
		}
	}
}

// WriteText prints the answer for a terminal.
func (a *Supposed) WriteText(w io.Writer) error {
	out := &printer{w: w}
	out.line("Supposing, and writing nothing:")
	for _, s := range a.Supposing {
		out.indented("%s", s)
	}
	switch {
	case len(a.Otherwise) == 0:
		out.text(fmt.Sprintf("Nothing would be otherwise, from %s to %s.", words.Day(a.From), words.Day(a.Until)))
	default:
		out.text(fmt.Sprintf("Otherwise, from %s to %s: %s worse, %d better.", words.Day(a.From), words.Day(a.Until), words.Count(a.Worse, "duty"), a.Better))
	}
	for _, group := range notify.Together(a.Otherwise, func(d Otherwise) Otherwise {
		d.Subject, d.Name, d.Occurrence, d.Step = "", "", "", nil
		return d
	}) {
		out.line("")
		out.difference(group, a.From)
	}
	if len(a.Already) > 0 {
		out.line("")
		out.line("With or without it, on that day:")
	}
	for _, d := range a.Already {
		out.indented("%s: %s: %s: %s", strings.ToUpper(words.Standing(d.Is)), d.Name, d.Title, d.StateWords)
	}
	out.line("")
	out.text(words.Caution)
	return out.err
}

func (p *printer) difference(group []Otherwise, today day.Day) {
	d := group[0]
	when := "from " + words.Day(d.From)
	if !d.Last.IsZero() {
		when += " to " + words.Day(d.Last)
	}
	is := words.Standing(d.Is)
	if d.Is.Bad() {
		is = strings.ToUpper(is)
	}
	p.text(fmt.Sprintf("%s: %s instead of %s: %s", words.Capital(when), is, words.Standing(d.Was), d.Title))
	var names []string
	for _, one := range group {
		names = append(names, one.Name)
	}
	what := words.Few(names, 12)
	if d.StateWords != "" {
		what += ": " + d.StateWords
	}
	p.field("what", what)
	if d.Cause != "" && d.Cause != d.Name {
		p.field("because of", d.Cause)
	}
	if d.Step != nil && d.Is.Bad() {
		p.field("to do", words.Capital(d.Step.Words)+", "+d.Step.When(today)+" ("+words.Role(d.Step.Owner)+")")
	}
	p.field("rule", d.Rule)
}
