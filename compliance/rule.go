package compliance

import (
	"iter"

	"antidotary/compliance/scope"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Citation is where a rule comes from and how well that was checked.
type Citation struct {
	Text      string
	ReadOn    day.Day
	Certainty inventory.Certainty
}

// Rule is one duty that a pack lays down.
type Rule struct {
	ID          string
	Requirement string // the key under which rules of all layers meet
	Title       string
	Consequence string // what follows when it is not met
	Pack        *Pack
	Layer       Layer
	Area        string // jurisdiction; empty applies everywhere
	Subject     inventory.Kind
	Scope       *scope.Scope
	From        day.Day // first day in effect; unset: since ever
	Last        day.Day // last day in effect; unset: still
	Severity    Severity
	Owner       Role
	Window      int // days before a step's act-by day from which the owner is told
	Citation    Citation
	Kind        Kind
	Where       strict.Pos

	Exemptions []Exemption // ways out that this rule itself names
	Lifts      []*Lift     // other rules that this one lifts
}

// InEffect gives the days on which the rule is law or policy.
func (r *Rule) InEffect() day.Line[bool] {
	b := day.NewBuilder(r.From.IsZero())
	if !r.From.IsZero() {
		b.Add(r.From, true)
	}
	if !r.Last.IsZero() {
		b.Add(r.Last+1, false)
	}
	return b.Line()
}

// Kind is a kind of rule with its parameters. It is immutable, and its
// answers depend on nothing but what it is given.
type Kind interface {
	// Bind yields the duties that the rule makes of the records, each key once.
	Bind(*View, *Rule) iter.Seq[Duty]
	// Judge answers for one duty over all days, as if it applied on each and
	// every list were fresh. It does not keep the duty.
	Judge(*View, *Duty) Line
	// Why gives the facts behind Judge's answer on one day.
	Why(*View, *Duty, day.Day) []Reason
}

// Cohort is implemented by kinds whose answer is the same for many subjects:
// it gives a comparable value such that duties of one rule with equal values
// have equal lines, but for steps about the subject itself, and the one site
// at which they all are. ok false: judge this duty alone.
type Cohort interface {
	Cohort(*View, *Duty) (key any, site inventory.ID, ok bool)
}

// Duty is one rule bound to one subject.
type Duty struct {
	Rule       *Rule
	Subject    inventory.Ref
	Occurrence string
	// Applies says on which days the duty applies; Unknown where its scope
	// cannot be told.
	Applies day.Line[inventory.Tri]
	// Sites says where the subject is: whose law, calendar and lists count.
	Sites day.Line[inventory.ID]
	// Topic is the list whose completeness the answer rests on; empty: none.
	Topic Topic
	// Missing names the attributes for want of which Applies is unknown.
	Missing []string

	// The subject itself, where it is an animal or a paper: to look for each
	// again takes longer than to judge it.
	animal *stay
	paper  *Permit
	begins day.Day // from which a duty that is told ahead really applies; unset: ever since
	event  *event  // of which somebody must be told; nil where the duty is of another kind
}

// Key gives the key under which the duty's rules meet.
func (d *Duty) Key() Key { return Key{d.Rule.Requirement, d.Subject, d.Occurrence} }

// Site gives the site at which the duty's subject is on a day.
func (d *Duty) Site(on day.Day) inventory.ID { return d.Sites.At(on) }

// ahead says whether the duty may apply at a site today or later.
func (d *Duty) ahead(v *View, site inventory.ID) bool {
	applies := d.Applies
	if elsewhere := d.animal == nil || d.animal.only != site; elsewhere && d.Sites.Len() > 0 {
		applies = day.Combine(applies, d.Sites, func(is inventory.Tri, at inventory.ID) inventory.Tri {
			return is.And(inventory.Bool(at == site))
		})
	}
	today := v.Today(site)
	_, _, later := applies.Next(today, func(is inventory.Tri) bool { return is != inventory.No })
	return later || applies.At(today) != inventory.No
}

// OneSite gives the only site at which the subject ever is.
func (d *Duty) OneSite() (site inventory.ID, ok bool) { return onlySite(d.Sites) }

func onlySite(sites day.Line[inventory.ID]) (only inventory.ID, ok bool) {
	only = sites.First()
	for _, site := range sites.Changes() {
		switch {
		case site == only || site == inventory.ID{}:
		case only == inventory.ID{}:
			only = site
		default:
			return inventory.ID{}, false
		}
	}
	return only, only != inventory.ID{}
}
