package web

import (
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/notify/words"
)

// Life is what is known of the watch itself. Zero instants mean never.
type Life struct {
	Began        time.Time     // end of the first sweep ever
	Read         time.Time     // when all of this was read from the database
	Swept        time.Time     // end of the last sweep that was stored
	SweepDue     time.Time     // when the next one is due
	SweepWithin  time.Duration // longest time that may lie between two; 0: not known
	SweepProblem string        // why the newest did not end well; empty: it did
	Proved       time.Time     // when the journal was last checked, and held
	ProofWithin  time.Duration // longest time that may lie between two; 0: not known
	ProofProblem string        // why the newest check did not end well
	Waiting      int           // mails that have not been taken yet
	Oldest       time.Time     // since when the oldest of them waits
	GivenUp      int           // mails that never arrived
	Held         string        // why no mail leaves
	NoMail       bool          // the house sends none
}

// Limits of what still counts as new. (Common practice, no source.)
const (
	readLimit   = 10 * time.Minute // the watch reads its own state twice a minute
	judgedLimit = 45 * time.Minute // and judges each quarter of an hour
	mailLimit   = time.Hour        // a mail server takes a mail within minutes
	clockSlack  = time.Minute      // clocks of several machines differ
)

// sign is one fact of the proof of life.
type sign struct {
	What, Says string
	Bad        bool
}

const notKnown = "not known"

// signs are the proof of life, as of now. What was read too long ago is not
// known any more.
func (l *Life) signs(check *answer.Check, c clock) []sign {
	judged := sign{"Judged", notKnown, true}
	if check != nil {
		judged.Says, judged.Bad = c.when(check.Now), c.old(check.Now, judgedLimit)
	}
	if l == nil || c.old(l.Read, readLimit) {
		return []sign{{"Last sweep", notKnown, true}, judged, {"Mail", notKnown, true}, {"Journal checked", notKnown, true}}
	}
	return []sign{l.sweep(c), l.due(c), judged, l.mail(c), l.proof(c)}
}

// old says that an instant is too long ago, or that a clock is wrong.
func (c clock) old(t time.Time, limit time.Duration) bool {
	return c.now.Sub(t) > limit || t.Sub(c.now) > clockSlack
}

func (l *Life) sweep(c clock) sign {
	s := sign{What: "Last sweep", Says: "never", Bad: true}
	if !l.Swept.IsZero() {
		s.Says, s.Bad = "ended "+c.when(l.Swept), l.late(c)
	}
	return s
}

// late says that no sweep came when one should have.
func (l *Life) late(c clock) bool {
	return l.Swept.IsZero() || l.SweepWithin == 0 || c.old(l.Swept, l.SweepWithin)
}

func (l *Life) due(c clock) sign {
	switch {
	case l.SweepDue.IsZero():
		return sign{"Next sweep", notKnown, true}
	case l.SweepDue.Before(c.now):
		return sign{"Next sweep", "was due " + c.when(l.SweepDue), c.old(l.SweepDue, readLimit)}
	}
	return sign{"Next sweep", c.when(l.SweepDue), false}
}

func (l *Life) mail(c clock) sign {
	s := sign{What: "Mail", Says: "nothing waits"}
	switch {
	case l.Waiting == 1:
		s.Says = "1 mail waits since " + c.when(l.Oldest)
	case l.Waiting > 1:
		s.Says = words.Count(l.Waiting, "mail") + " wait, the oldest since " + c.when(l.Oldest)
	}
	s.Bad = l.Waiting > 0 && c.old(l.Oldest, mailLimit)
	if l.GivenUp > 0 {
		s.Says, s.Bad = s.Says+"; "+words.Count(l.GivenUp, "mail")+" given up, see antidotary outbox", true
	}
	if l.Held != "" {
		s.Says, s.Bad = "held; "+s.Says, true
	}
	if l.NoMail {
		s.Says, s.Bad = "none is sent, and nobody is being told", true
	}
	return s
}

func (l *Life) proof(c clock) sign {
	s := sign{What: "Journal checked", Says: "never", Bad: true}
	if !l.Began.IsZero() && !c.old(l.Began, l.ProofWithin) {
		s.Says, s.Bad = "not yet, since the watch began "+c.when(l.Began), false
	}
	if !l.Proved.IsZero() {
		s.Says, s.Bad = c.when(l.Proved)+", and it held", l.ProofWithin == 0 || c.old(l.Proved, l.ProofWithin)
	}
	if l.ProofProblem != "" {
		s.Says, s.Bad = "the newest check did not end well; before it: "+s.Says, true
	}
	return s
}

// alarms are what must be read before anything else, the worst first.
func (l *Life) alarms(check *answer.Check, c clock) (out []string) {
	switch {
	case l == nil:
		out = append(out, "Nothing is known of the watch itself: it has not read its own state since it began.")
	case c.old(l.Read, readLimit):
		out = append(out, "The watch stands still: it last read its own state "+c.when(l.Read)+". Nothing here is known to be so still. See that the service runs and reaches its database.")
	case l.Swept.IsZero():
		out = append(out, words.Capital(words.State(compliance.SweepNever))+".")
	case l.Swept.Sub(c.now) > clockSlack:
		out = append(out, "The last sweep ended "+c.when(l.Swept)+", which is still to come: a clock is wrong. Nothing here is known to be so.")
	case l.late(c):
		out = append(out, words.Capital(words.State(compliance.SweepLate))+". The last sweep ended "+c.when(l.Swept)+l.allowed()+". See that the service runs.")
	case check != nil && c.old(check.Now, judgedLimit):
		out = append(out, "What is here was judged "+c.when(check.Now)+", and not again since: it is not known to be so still.")
	}
	if l != nil && l.SweepProblem != "" {
		out = append(out, "The newest sweep did not end well, and is tried again: "+firstLine(l.SweepProblem)+".")
	}
	if l != nil && l.ProofProblem != "" {
		out = append(out, "The newest check of the journal did not end well: "+firstLine(l.ProofProblem)+". Ask antidotary journal verify.")
	}
	return append(out, l.silence(check)...)
}

func (l *Life) allowed() string {
	if l.SweepWithin == 0 {
		return ""
	}
	return "; the schedule allows " + span(l.SweepWithin)
}

// silence says why nobody is being told.
func (l *Life) silence(check *answer.Check) (out []string) {
	held, none := "", l != nil && l.NoMail
	if check != nil {
		held, none = check.MailHeld, none || check.NobodyTold
	}
	if l != nil && l.Held != "" {
		held = l.Held
	}
	if none {
		out = append(out, "This house sends no mail: nobody is being told of anything on this page.")
	}
	if held != "" {
		out = append(out, "Mail is held, and nobody is being told: "+held+". Look at antidotary outbox.")
	}
	return out
}

func firstLine(text string) string {
	line, _, _ := strings.Cut(text, "\n")
	return strings.TrimRight(line, ".")
}
