package answer

import (
	"strings"

	"antidotary/notify"
	"antidotary/notify/words"
)

// mostErased is how many records that were erased the text names; the JSON
// names all.
const mostErased = 12

// known prints what an answer of a past instant rests on, and what of that is
// missing.
func (p *printer) known(k *Known) {
	switch {
	case k.First.IsZero():
		p.indented("Known at %s: NOTHING. The journal is empty.", moment(k.At))
		return
	case k.Entries == 0:
		p.indented("Known at %s: NOTHING YET. The journal begins on %s; what was before cannot be told.", moment(k.At), moment(k.First))
		return
	}
	p.indented("Known at %s: %s of the journal; what was recorded later does not count.", moment(k.At), words.Count(int(k.Entries), "entry"))
	p.rules(k)
	if n := len(k.Erased); n > 0 {
		p.indented("%s OF THAT TIME %s ERASED: what concerns them cannot be told, and what is said to be missing below may have been theirs:",
			strings.ToUpper(words.Count(n, "record")), choose(n == 1, "WAS", "WERE"))
		for _, subject := range k.Erased[:min(n, mostErased)] {
			p.indented("  %s", subject)
		}
		if n > mostErased {
			p.indented("and %d more: --json names them", n-mostErased)
		}
	}
	if k.RunsRemoved {
		p.indented("Whether the watch's own jobs had run by then cannot be told: the records of their runs were removed since.")
	}
}

func (p *printer) rules(k *Known) {
	switch {
	case k.Rules == RulesOfThen:
		p.indented("Rules and holidays: those of then.")
	case k.Told == nil:
		p.indented("Rules and holidays: TODAY'S. There had been no sweep that would say which were in use.")
	default:
		p.indented("Rules and holidays: TODAY'S, so that the answer of then may have been another. Those of then cannot be used: %s.", k.RulesWhy)
	}
	switch {
	case k.Told == nil:
	case k.Told.Engine == k.Engine:
		p.indented("Judged by the same engine as then (version %s).", k.Engine)
	default:
		p.indented("Judged by ANOTHER ENGINE than then (version %s now, %s then): it may say otherwise of the same.", k.Engine, k.Told.Engine)
	}
}

// told prints what people had been told, one line an entry.
func (p *printer) told(k *Known) {
	t := k.Told
	p.line("")
	if t == nil {
		p.line("What was told by then: nothing. There had been no sweep.")
		return
	}
	p.line("What was told by then, by the sweep of %s:", moment(t.Started))
	if len(t.Items) == 0 {
		p.indented("nothing was out of order, unknown or due.")
	}
	for _, g := range notify.Groups(t.Items) {
		p.indented("%s: %s: %s", strings.ToUpper(words.Standing(g.Standing)), g.Names, inShort(g.StateWords, g.Step))
	}
	by := choose(k.Rules == RulesOfThen, "its rules", "today's rules")
	if t.Same {
		p.text("Judged again, by what that sweep knew and " + by + ": the same.")
		return
	}
	p.text("Judged again, by what that sweep knew and " + by + ", IT DIFFERS:")
	for _, d := range t.Differences {
		name := strings.TrimSpace(d.Name + " " + d.Occurrence)
		p.indented("%s (%s): told %s; again %s", name, d.Requirement, d.Told.inWords("nothing"), d.Again.inWords("that nobody is needed"))
	}
	if t.Lost > 0 {
		p.indented("%s that it knew %s erased since: that may be why.", words.Count(t.Lost, "record"), choose(t.Lost == 1, "was", "were"))
	}
}

func (s *Said) inWords(nothing string) string {
	if s == nil {
		return nothing
	}
	return words.Standing(s.Standing) + ": " + inShort(s.StateWords, s.Step) + ", by " + s.Rule
}

func inShort(state string, step *notify.Step) string {
	switch {
	case step == nil:
		return state
	case step.By.IsZero():
		return state + "; " + step.Words + ", at once"
	}
	return state + "; " + step.Words + ", by " + words.Day(step.By)
}
