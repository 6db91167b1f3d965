package compliance

import (
	"iter"
	"slices"

	"antidotary/compliance/scope"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// bind yields a duty for each subject of the rule's kind of subject to which
// the rule may apply on some day.
func (v *View) bind(r *Rule, topic Topic) iter.Seq[Duty] {
	b := v.binder(r, topic)
	return func(yield func(Duty) bool) {
		for d := range b.subjects() {
			if d.Applies.Always(inventory.No) {
				continue
			}
			if !yield(d) {
				return
			}
		}
	}
}

func (v *View) binder(r *Rule, topic Topic) *binder {
	reads := r.Scope.Reads()
	b := &binder{
		view: v, rule: r, effect: r.InEffect(), topic: topic,
		laws:   make(map[inventory.ID]day.Line[where]),
		bySite: readsSite(reads),
		memo:   make(map[cohort]scope.Answer),
	}
	if len(reads) == 0 { // the answer is the same for all
		answer := r.Scope.Ask(&attributes{})
		b.fixed = &answer
	}
	return b
}

// readsSite says whether a scope reads more of a site than the law that it
// stands under.
func readsSite(reads []string) bool {
	return slices.ContainsFunc(siteVars, func(a scope.Var) bool {
		return a.Name != "jurisdiction" && slices.Contains(reads, a.Name)
	})
}

// binder binds one rule. Scopes are asked once for each cohort: subjects that
// agree in what the scope reads share the answer.
type binder struct {
	view   *View
	rule   *Rule
	effect day.Line[bool]
	topic  Topic
	laws   map[inventory.ID]day.Line[where] // by site; see lawAt
	bySite bool                             // see readsSite
	memo   map[cohort]scope.Answer
	fixed  *scope.Answer // of a scope that reads nothing; nil where it reads something
}

type cohort struct {
	path    string
	site    inventory.ID // zero where the scope reads nothing of it but the path
	species inventory.ID
	bred    inventory.Tri
	one     inventory.ID // a subject that shares its answer with nobody
	on      day.Day      // from which its roles are as they are
}

func (b *binder) subjects() iter.Seq[Duty] {
	switch b.rule.Subject {
	case inventory.KindSite:
		return each(b.view, b.view.Sites, b.site)
	case inventory.KindOrganisation:
		return each(b.view, b.view.Organisations, b.organisation)
	case inventory.KindPlace:
		return each(b.view, b.view.Places, b.place)
	case inventory.KindAnimal:
		return func(yield func(Duty) bool) {
			for a := range b.view.wantedStays() {
				if !yield(b.animal(a)) {
					return
				}
			}
		}
	case inventory.KindPerson:
		return each(b.view, b.view.People, b.person)
	case inventory.KindFeed:
		return each(b.view, b.view.Feeds, b.feed)
	case inventory.KindPermit:
		return each(b.view, b.view.Permits, b.permit)
	case inventory.KindLot:
		return each(b.view, b.view.Lots, b.lot)
	case inventory.KindHolding:
		return func(yield func(Duty) bool) {
			for _, ref := range b.view.wantedHoldings() {
				if !yield(b.holding(ref)) {
					return
				}
			}
		}
	}
	return func(func(Duty) bool) {}
}

func each[T inventory.Record](v *View, t inventory.Table[T], bind func(*T) Duty) iter.Seq[Duty] {
	return func(yield func(Duty) bool) {
		for rec := range wanted(v, t) {
			if !yield(bind(rec)) {
				return
			}
		}
	}
}

// wanted yields the records to be bound: all of them, or the only one, found
// without a search.
func wanted[T inventory.Record](v *View, t inventory.Table[T]) iter.Seq[*T] {
	if v.only.IsZero() {
		return t.All()
	}
	return func(yield func(*T) bool) {
		if rec, ok := t.Get(v.only.ID); ok {
			yield(rec)
		}
	}
}

func (v *View) wantedStays() iter.Seq[*stay] {
	return func(yield func(*stay) bool) {
		if !v.only.IsZero() {
			if a := v.stayOf[v.only.ID]; a != nil {
				yield(a)
			}
			return
		}
		for i := range v.stays {
			if !yield(&v.stays[i]) {
				return
			}
		}
	}
}

func (v *View) wantedHoldings() []inventory.Ref {
	if v.only.IsZero() {
		return v.Holdings()
	}
	if _, ever := v.counts[v.only]; !ever {
		return nil
	}
	return []inventory.Ref{v.only}
}

var always = day.Constant(true)

func (b *binder) site(s *inventory.Site) Duty {
	return b.duty(s.Ref(), day.Constant(s.ID), always, cohort{}, attributes{})
}

func (b *binder) organisation(o *inventory.Organisation) Duty {
	return b.duty(o.Ref(), day.Constant(inventory.ID{}), always, cohort{}, attributes{house: o})
}

func (b *binder) place(p *inventory.Place) Duty {
	return b.duty(p.Ref(), day.Constant(p.Site), always, cohort{}, attributes{})
}

func (b *binder) permit(p *Permit) Duty {
	d := b.duty(p.Ref(), b.view.placesOf(p), always, cohort{}, attributes{})
	d.paper = p
	return d
}

func (b *binder) lot(l *inventory.Lot) Duty {
	var site inventory.ID
	if len(l.Movements) > 0 {
		site = b.view.placeSite[l.Movements[0].Place]
	}
	return b.duty(l.Ref(), day.Constant(site), always, cohort{}, attributes{})
}

// placesOf gives the site whose law, days and lists count for a paper itself:
// the first that it names, or else wherever the first animal that it names is
// held; zero where neither is known.
func (v *View) placesOf(p *Permit) day.Line[inventory.ID] {
	if site := p.FirstSite(); site != (inventory.ID{}) || len(p.Animals) == 0 {
		return day.Constant(site)
	}
	if a := v.stayOf[p.Animals[0]]; a != nil {
		return a.sites
	}
	return day.Constant(inventory.ID{})
}

func (b *binder) feed(f *Feed) Duty {
	return b.duty(f.Ref(), day.Constant(f.Site), always, cohort{one: f.ID}, attributes{feed: f})
}

func (b *binder) animal(a *stay) Duty {
	law := b.lawAt(a.only) // on other days the animal is not held
	if a.only == (inventory.ID{}) {
		law = b.lawful(a.sites)
	}
	d := b.dutyUnder(law, a.Ref(), a.sites, a.held, cohort{species: a.Species, bred: a.Origin.Bred}, attributes{animal: a.Animal, species: a.species})
	d.animal = a
	return d
}

func (b *binder) holding(ref inventory.Ref) Duty {
	there := day.Map(b.view.counts[ref], func(n int) bool { return n > 0 })
	species, _ := b.view.Species.Get(ref.ID)
	return b.duty(ref, day.Constant(ref.At), there, cohort{species: ref.ID}, attributes{species: species})
}

func (b *binder) person(p *Person) Duty {
	here := b.view.employed(p)
	var d Duty
	var missing []string
	applies := day.Switch(p.roleDays(), func(on day.Day) day.Line[inventory.Tri] {
		d = b.duty(p.Ref(), day.Constant(p.Site), here, cohort{one: p.ID, on: on}, attributes{person: p, on: on})
		missing = union(missing, d.Missing)
		return d.Applies
	})
	d.Applies, d.Missing = applies, missing
	return d
}

// employed gives the days on which somebody works in the house, by what is
// recorded and planned.
func (v *View) employed(p *Person) day.Line[bool] {
	here := day.NewBuilder(false)
	joined := max(p.Joined, day.First)
	here.Add(joined, true)
	leaves := p.Leaves
	if on, planned := v.leaving[p.Ref()]; planned && (leaves.IsZero() || on < leaves) {
		leaves = on
	}
	if !leaves.IsZero() {
		here.Add(max(leaves, joined), false)
	}
	return here.Line()
}

// duty joins where the subject is, when it is there, when the rule is in
// effect and what the scope answers under each law.
func (b *binder) duty(subject inventory.Ref, sites day.Line[inventory.ID], there day.Line[bool], c cohort, attrs attributes) Duty {
	return b.dutyUnder(b.lawful(sites), subject, sites, there, c, attrs)
}

func (b *binder) dutyUnder(law day.Line[where], subject inventory.Ref, sites day.Line[inventory.ID], there day.Line[bool], c cohort, attrs attributes) Duty {
	d := Duty{Rule: b.rule, Subject: subject, Sites: sites, Topic: b.topic}
	if !b.effect.Always(true) {
		there = day.Combine(there, b.effect, func(x, y bool) bool { return x && y })
	}
	d.Applies = day.Combine(there, law, func(on bool, w where) inventory.Tri {
		if !on || !w.in {
			return inventory.No
		}
		answer := b.ask(w, c, &attrs)
		d.Missing = union(d.Missing, answer.Missing)
		return inventory.Tri(answer.Truth)
	})
	return d
}

// where is a site under a law that the rule belongs to, or not.
type where struct {
	site inventory.ID
	path string
	in   bool
}

func (b *binder) lawful(sites day.Line[inventory.ID]) day.Line[where] {
	return day.Switch(sites, b.lawAt)
}

func (b *binder) lawAt(site inventory.ID) day.Line[where] {
	if law, known := b.laws[site]; known {
		return law
	}
	law := day.Constant(where{site: site, in: b.rule.Area == ""})
	if line, known := b.view.laws[site]; known {
		law = day.Map(line, func(path string) where {
			in := b.rule.Area == "" || path != "" && inventory.Within(path, b.rule.Area)
			return where{site, path, in}
		})
	}
	b.laws[site] = law
	return law
}

func (b *binder) ask(w where, c cohort, attrs *attributes) scope.Answer {
	if b.fixed != nil {
		return *b.fixed
	}
	c.path = w.path
	if b.bySite {
		c.site = w.site
	}
	answer, known := b.memo[c]
	if !known {
		answer = b.answer(w, *attrs)
		b.memo[c] = answer
	}
	return answer
}

func (b *binder) answer(w where, attrs attributes) scope.Answer {
	attrs.path, attrs.site = w.path, b.view.Site(w.site)
	if attrs.house == nil {
		attrs.house = b.view.House()
	}
	return b.rule.Scope.Ask(&attrs)
}

func union(a, b []string) []string {
	for _, s := range b {
		if !slices.Contains(a, s) {
			a = append(a, s)
		}
	}
	slices.Sort(a)
	return a
}
