package compliance

import (
	"iter"
	"slices"

	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// signatureKind asks that the mentor of a session signs for it while it is
// fresh: what is signed too late, or never, does not count, and the trainee
// pays for it. Mentor and trainee are both told, before it runs out.
//
// A duty is the sessions of one trainee on one day. It is told until so many
// days after the window has passed: then nothing can be done about it.
type signatureKind struct{ told int }

func readSignatureKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindPerson)
	return &signatureKind{told: m.OptInt("told_days", 14, 0, 365)}
}

// Bind implements Kind.
func (k *signatureKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	return func(yield func(Duty) bool) {
		for d := range v.bind(r, TopicHandling) {
			site := d.Sites.First()
			standings := v.Standings(site)
			if standings == nil {
				continue
			}
			back := standings.Ladder().SignWithin + k.told
			var days []day.Day
			for _, s := range v.sessionsOf(d.Subject.ID) {
				if on := s.On; s.Watched != inventory.No && v.Today(site).Sub(on) <= back && !slices.Contains(days, on) {
					days = append(days, on)
				}
			}
			slices.Sort(days)
			for _, on := range days {
				one := d
				one.Occurrence = on.String()
				if !yield(one) {
					return
				}
			}
		}
	}
}

// sessionsOf gives the sessions of a trainee.
func (v *View) sessionsOf(trainee inventory.ID) []*ladder.Session {
	if v.sessions == nil {
		v.sessions = make(map[inventory.ID][]*ladder.Session)
		for s := range v.Sessions.All() {
			v.sessions[s.Trainee] = append(v.sessions[s.Trainee], s)
		}
	}
	return v.sessions[trainee]
}

// open gives the sessions of a duty, watched by somebody.
func (k *signatureKind) open(v *View, d *Duty) (all []*ladder.Session) {
	for _, s := range v.sessionsOf(d.Subject.ID) {
		if s.On.String() == d.Occurrence && s.Watched != inventory.No {
			all = append(all, s)
		}
	}
	return all
}

// Judge implements Kind.
func (k *signatureKind) Judge(v *View, d *Duty) Line {
	site := d.Sites.First()
	standings := v.Standings(site)
	line := day.Constant(notApplicable)
	if standings == nil {
		return line
	}
	for _, s := range k.open(v, d) {
		line = day.Combine(line, k.session(v, d, s, standings.Ladder().SignWithin), worse)
	}
	return line
}

func (k *signatureKind) session(v *View, d *Duty, s *ladder.Session, within int) Line {
	by := s.On.Add(within)
	step := Step{Do: SignSession, Instance: s.Ref(), By: by, Legal: by, Owner: d.Rule.Owner, Window: max(d.Rule.Window, within), Told: [2]inventory.ID{s.Mentor, s.Trainee}}
	b := day.NewBuilder(notApplicable)
	b.Add(s.On, v.in.Of(Verdict{Standing: InOrder, State: SignatureWaits, Cause: inventory.Ref{Kind: inventory.KindPerson, ID: s.Mentor}, Step: step}))
	signed := day.Day(0)
	if !s.Signed.IsZero() {
		signed = max(s.On, day.In(s.Signed, v.zoneAt(s.Site)))
	}
	if signed.IsZero() || signed > by {
		b.Add(by+1, v.in.Of(Verdict{Standing: OutOfOrder, State: SignatureMissed, Cause: inventory.Ref{Kind: inventory.KindPerson, ID: s.Mentor}, Step: Step{Do: RepeatSession, Instance: s.Ref(), Owner: d.Rule.Owner, Told: step.Told}}))
	}
	if !signed.IsZero() && signed <= by {
		b.Add(signed, v.in.Of(Verdict{Standing: InOrder, State: SignatureGiven}))
	}
	return b.Line()
}

// Why implements Kind.
func (k *signatureKind) Why(v *View, d *Duty, _ day.Day) (reasons []Reason) {
	for _, s := range k.open(v, d) {
		mentor := "somebody who is not recorded"
		if p, ok := v.People.Get(s.Mentor); ok {
			mentor = p.Called
		}
		signed := "not signed"
		if !s.Signed.IsZero() {
			signed = "signed on " + day.In(s.Signed, v.zoneAt(s.Site)).String()
		}
		reasons = append(reasons, Because("session-signature", "mentor", mentor, "species", v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: s.Species}), "signed", signed))
	}
	return reasons
}
