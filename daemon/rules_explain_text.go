package daemon

import (
	"fmt"
	"io"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// mostTold bounds how many subjects of one answer are told by name.
const mostTold = 12

// WriteText prints the rule for a terminal.
func (a *RuleAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	field := func(label, format string, args ...any) {
		b.WriteString(words.Labelled(label, fmt.Sprintf(format, args...), 88))
	}
	b.WriteString(words.Wrapped(a.ID+": "+a.Title, 88))
	field("asks of", "%s", a.of())
	for _, r := range a.Reads {
		field("", "%s: %s (%s)", r.Name, r.Says, r.Value)
	}
	field("where", "%s", orWords(a.Jurisdiction, "everywhere", "under the law of "+a.Jurisdiction))
	field("in effect", "%s", a.effect())
	field("kind", "%s: %s", a.Kind, a.KindSays)
	for _, p := range a.Params {
		field(p.Name, "%s", strings.TrimSuffix(p.Value+". "+p.Says, ". "))
	}
	for _, p := range a.LeftOut {
		field(p.Name, "left out: %s", orWords(p.Value, "nothing", p.Value))
	}
	field("if not met", "%s", a.Consequence)
	field("whose", "%s; told from %d days before the last day to act; %s", words.Role(a.Owner), a.Window, a.Severity)
	field("cited", "%s (%s)", a.Citation, a.Certainty)
	stale := ""
	if a.Pack.Stale {
		stale = ", WHICH IS PAST: nobody has read the text again"
	}
	field("pack", "%s (%s), %s; edition %s; read on %s, to be read again by %s%s; at %s", a.Pack.Title, a.Pack.Name, a.Layer, a.Pack.Edition,
		words.Day(a.Pack.ReadOn), words.Day(a.Pack.ReviewBy), stale, a.Where)
	a.meet(field)
	b.WriteString("\n")
	a.now(&b)
	b.WriteString("\n" + words.Wrapped(words.Caution, 88))
	_, err := io.WriteString(w, b.String())
	return err
}

func orWords(value, none, some string) string {
	if value == "" {
		return none
	}
	return some
}

func (a *RuleAnswer) of() string {
	if a.Scope == "" {
		return "each " + a.Subject
	}
	return "each " + a.Subject + " for which " + a.Scope
}

func (a *RuleAnswer) effect() string {
	on := func(d day.Day) string { return words.Day(d) }
	switch {
	case a.From.IsZero() && a.Last.IsZero():
		return "always"
	case a.Last.IsZero():
		return "from " + on(a.From)
	case a.From.IsZero():
		return "until " + on(a.Last)
	}
	return "from " + on(a.From) + " until " + on(a.Last)
}

func (a *RuleAnswer) meet(field func(string, string, ...any)) {
	how := map[string]string{string(compliance.Law): "both count", string(compliance.House): "both count; no house rule relaxes law", string(compliance.Guidance): "it counts only where neither law nor house speaks"}
	for _, m := range a.Meets {
		field("meets", "%s (%s, %s): %s; %s", m.ID, m.Layer, orWords(m.Area, "everywhere", m.Area), m.Title, how[m.Layer])
	}
	if len(a.Meets) == 0 {
		field("meets", "no other rule asks for %s", a.Requirement)
	}
}

func (a *RuleAnswer) now(b *strings.Builder) {
	n := a.Now
	say := func(format string, args ...any) { b.WriteString(words.Wrapped(fmt.Sprintf(format, args...), 88)) }
	switch {
	case n.Unread != "":
		say("What it says now cannot be told: %s. With --demo it is asked of a demo house.", n.Unread)
		return
	case n.Applies == 0:
		say("In %s it applies to nothing today. That is not the same as in order.", n.Of)
		return
	}
	var counts []string
	for _, s := range []compliance.Standing{compliance.OutOfOrder, compliance.CannotTell, compliance.InOrder} {
		if c := n.Counts[s.String()]; c > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", c, s))
		}
	}
	say("In %s it applies today to %d: %s.", n.Of, n.Applies, strings.Join(counts, ", "))
	for i, s := range n.together() {
		if i == mostTold {
			b.WriteString("  and more: --json has them all\n")
			break
		}
		text := s.Standing.String()
		if s.State != "" {
			text += ": " + words.State(s.State)
		}
		if !s.By.IsZero() {
			text += ", to act by " + words.Day(s.By)
		}
		if !s.Binds {
			text += " (another rule binds)"
		}
		b.WriteString(words.Labelled("", s.Name+": "+text, 88))
	}
}

// together tells subjects of one answer together, in the order of the first.
func (n RuleNow) together() (all []RuleSubject) {
	names := make(map[RuleSubject][]string)
	var alike []RuleSubject
	for _, s := range n.Subjects {
		key := s
		key.Name = ""
		if len(names[key]) == 0 {
			alike = append(alike, key)
		}
		names[key] = append(names[key], s.Name)
	}
	for _, key := range alike {
		key.Name = words.Few(names[key], 6)
		all = append(all, key)
	}
	return all
}
