package compliance

import (
	"cmp"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Code names a state, a step or a reason. Its words live in one catalogue
// (package notify/words), so that mail, pages and commands stay in step.
type Code string

// Step is the next thing that somebody must do about a duty.
type Step struct {
	Do Code
	// Instance is what the step is about: a paper, a lot, a holding. A step
	// about another instance is a new step, with reminders of its own.
	Instance inventory.Ref
	By       day.Day // last day on which acting is still in time; unset: at once
	Legal    day.Day // the last day by the rule itself, before margins; may be unset
	// At is the last instant that is in time, in UTC, where the rule counts by
	// the clock and from when is known; else zero.
	At     time.Time `json:",omitzero"`
	Window int       // days before By from which the owner is told
	Owner  Role
	// Told are people who are told beside whoever owns the step, because it is
	// theirs: a session's mentor and its trainee. Unset: nobody else.
	Told [2]inventory.ID `json:",omitzero"`
	// Provisional says that By was computed beyond the holiday data's
	// coverage.
	Provisional bool
}

// IsZero says that nobody must do anything.
func (s Step) IsZero() bool { return s.Do == "" }

// Opens gives the day from which the owner is told of the step.
func (s Step) Opens() day.Day {
	if s.By.IsZero() {
		return day.First
	}
	return s.By.Add(-s.Window)
}

// Verdict is the answer for one duty over a segment of its line. Verdicts are
// interned: within one line, equal verdicts are the same pointer.
type Verdict struct {
	Standing Standing
	State    Code
	Step     Step
	// Cause is what the verdict turns on (a paper, a lot, a feed, a person):
	// it groups findings in mail and is no part of their identity.
	Cause inventory.Ref
}

// Line is the answer for one duty over all days.
type Line = day.Line[*Verdict]

var notApplicable = &Verdict{}

// Interner gives equal verdicts one pointer, so that lines compare by
// pointer. It serves one evaluation on one goroutine.
type Interner struct {
	seen   map[Verdict]*Verdict // Shared ones: few
	recent [8]*Verdict          // the others: of one duty or two, at most
	next   int
	kept   slab[Verdict]
}

// NewInterner makes an empty interner.
func NewInterner() *Interner { return &Interner{seen: make(map[Verdict]*Verdict)} }

// Of gives the pointer for a verdict. One with a step, or about a paper, is
// looked for among the latest ones only: its days are a single paper's or
// lot's, and a map of them all would cost more than it saves.
func (in *Interner) Of(v Verdict) *Verdict {
	if v == (Verdict{}) {
		return notApplicable
	}
	if v.Step.IsZero() && v.Cause.Kind != inventory.KindPermit {
		return in.Shared(v)
	}
	for _, p := range in.recent {
		if p != nil && *p == v {
			return p
		}
	}
	p := in.kept.keep(v)
	in.recent[in.next] = p
	in.next = (in.next + 1) % len(in.recent)
	return p
}

// Shared gives the pointer for a verdict that many duties share, whether it
// has a step or not.
func (in *Interner) Shared(v Verdict) *Verdict {
	p, ok := in.seen[v]
	if !ok {
		p = in.kept.keep(v)
		in.seen[v] = p
	}
	return p
}

// Reason is one fact behind a verdict: a code with named arguments.
type Reason struct {
	Code Code
	Args []Arg
}

// Arg is a named argument of a reason, already in words: a number, a name, a
// day as YYYY-MM-DD.
type Arg struct{ Name, Value string }

// Because makes a reason from a code and pairs of name and value.
func Because(code Code, pairs ...string) Reason {
	r := Reason{Code: code}
	for i := 0; i+1 < len(pairs); i += 2 {
		r.Args = append(r.Args, Arg{pairs[i], pairs[i+1]})
	}
	return r
}

// worse gives the worse of two verdicts: the higher standing, or else the one
// with the earlier step. NotApplicable is neutral.
func worse(a, b *Verdict) *Verdict {
	switch {
	case a.Standing != b.Standing:
		if a.Standing > b.Standing {
			return a
		}
		return b
	case b.Step.IsZero():
		return a
	case a.Step.IsZero():
		return b
	case b.Step.By < a.Step.By: // unset, at once, comes first
		return b
	default:
		return a
	}
}

// worseOfEquals is worse without regard to which of the two comes first.
func worseOfEquals(a, b *Verdict) *Verdict {
	if w := worse(a, b); w == worse(b, a) || a.compare(b) <= 0 {
		return w
	}
	return b
}

// compare orders verdicts by all that is in them.
func (v *Verdict) compare(o *Verdict) int {
	return cmp.Or(cmp.Compare(v.Standing, o.Standing), cmp.Compare(v.State, o.State), cmp.Compare(v.Step.Do, o.Step.Do),
		cmp.Compare(v.Step.By, o.Step.By), v.Step.At.Compare(o.Step.At), cmp.Compare(v.Step.Legal, o.Step.Legal), cmp.Compare(o.Step.Window, v.Step.Window),
		cmp.Compare(v.Step.Owner, o.Step.Owner), v.Step.Instance.Compare(o.Step.Instance), v.Cause.Compare(o.Cause),
		truth(v.Step.Provisional)-truth(o.Step.Provisional))
}

// better gives the better of two alternatives, either of which is enough
// alone: the lower standing, or else the one that asks for nothing, or else
// for something later. NotApplicable is neutral here too.
func better(a, b *Verdict) *Verdict {
	switch {
	case a.Standing == NotApplicable:
		return b
	case b.Standing == NotApplicable:
		return a
	case a.Standing != b.Standing:
		if a.Standing < b.Standing {
			return a
		}
		return b
	case a.Step.IsZero():
		return a
	case b.Step.IsZero():
		return b
	case b.Step.By > a.Step.By:
		return b
	default:
		return a
	}
}
