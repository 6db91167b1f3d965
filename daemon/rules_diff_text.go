package daemon

import (
	"fmt"
	"io"
	"strings"

	"antidotary/notify/words"
)

// WriteText prints what differs and what that changes, and nothing else.
func (d *DiffAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	say := func(format string, args ...any) { b.WriteString(words.Wrapped(fmt.Sprintf(format, args...), 88)) }
	for _, p := range d.Packs {
		say("The pack %s is %s.", p.Pack, p.How)
		writeFields(&b, p.Changes)
	}
	for _, r := range d.Rules {
		say("The rule %s is %s: %s", r.ID, r.How, r.Title)
		writeFields(&b, r.Changes)
	}
	if len(d.Packs)+len(d.Rules) == 0 {
		say("No rule differs.")
	}
	b.WriteString("\n")
	switch {
	case d.Unread != "":
		say("What that changes cannot be told: %s. With --demo it is asked of a demo house.", d.Unread)
	case len(d.Duties) == 0:
		say("In %s no answer changes because of it, neither today nor later.", d.Of)
	default:
		n := 0
		for _, c := range d.Duties {
			n += len(c.Subjects)
		}
		say("In %s that changes the answers of %s:", d.Of, words.Count(n, "duty"))
		for _, c := range d.Duties {
			say("%s of %s, from %s:", c.Requirement, words.Few(c.Subjects, 6), words.Day(c.From))
			b.WriteString(words.Labelled("is", c.Is.words(), 88) + words.Labelled("was", c.Was.words(), 88))
		}
	}
	b.WriteString("\n" + words.Wrapped(words.Caution, 88))
	_, err := io.WriteString(w, b.String())
	return err
}

func writeFields(b *strings.Builder, changes []FieldDiff) {
	for _, x := range changes {
		text := fmt.Sprintf("%s, was %s", x.Is, x.Was)
		switch {
		case x.Was == "":
			text = x.Is + ", was left out"
		case x.Is == "":
			text = "left out, was " + x.Was
		}
		if x.Says != "" {
			text += ". " + x.Says
		}
		b.WriteString(words.Labelled(x.Field, text, 88))
	}
}

func (d DutyIs) words() string {
	text := d.Standing.String()
	if d.State != "" {
		text += " (" + words.State(d.State) + ")"
	}
	if !d.By.IsZero() {
		text += ", to act by " + words.Day(d.By)
	}
	return text
}
