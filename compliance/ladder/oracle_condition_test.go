package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// grant says what becomes of an act, given what came before it on its day.
func (o *oracle) grant(s *state, a *Authorisation) Grant {
	switch {
	case a.What.Adverse():
		return Holds
	case a.What == Clearance:
		return o.signatures(a, o.Ladder.Clear, 0)
	case a.Stage > o.Ladder.Top():
		return NoSuchStage
	case a.Founding != "" && len(a.Signers) == 0:
		return FoundingUnsigned
	case a.Founding != "":
		return Holds
	case s.suspended() || o.taken(s.person, a.At, a.At, a.On).everything:
		return PersonSuspended
	}
	if a.What == SpeciesGrant {
		return o.signOff(s, a)
	}
	roles, entry, needs := o.Ladder.Mentor.Signs, o.Ladder.Mentor.Entry, a.Stage
	if a.What == StageGrant {
		roles, entry, needs = o.Ladder.Stages[a.Stage].Signs, o.Ladder.Stages[a.Stage].Entry, a.Stage-1
	}
	if s.stage() < needs {
		return StageNotHeld
	}
	return o.signedAndMet(s, a, roles, a.Stage, entry, nil)
}

// signOff of a species holds at worst if it does on each stage on which the
// species may be, at best if it does on one.
func (o *oracle) signOff(s *state, a *Authorisation) Grant {
	sp := o.kindOf(a.Species)
	at := func(stage int) Grant {
		terms := o.Ladder.Stages[stage]
		switch {
		case s.stage() < stage:
			return StageNotHeld
		case a.Level > terms.Task:
			return TaskTooHigh
		}
		return o.signedAndMet(s, a, terms.SignedBy, stage, terms.SignOff, sp)
	}
	place, top := sp.Place.At(a.On), o.Ladder.Top()
	first := at(o.asks(sp, a.On))
	for stage := min(place.Least, top); stage <= min(place.Most, top); stage++ {
		if g := at(stage); (first == Holds) == (o.world == Worst) && (g == Holds) != (first == Holds) {
			return g
		}
	}
	return first
}

func (o *oracle) signedAndMet(s *state, a *Authorisation, roles []string, stage int, entry Condition, about *Species) Grant {
	if g := o.signatures(a, roles, stage); g != Holds {
		return g
	}
	if entry != nil && !o.met(s, entry, about) {
		return ConditionsUnmet
	}
	return Holds
}

// signatures: each role by another of the signers, whoever taught able to.
func (o *oracle) signatures(a *Authorisation, roles []string, stage int) Grant {
	var signing []string
	for _, role := range roles {
		if role != "mentor" {
			signing = append(signing, role)
			continue
		}
		m := o.personOf(a.Mentor)
		if m == nil {
			return MentorNotAble
		}
		s, t := o.before(m, a.On), o.taken(m, a.At, a.At, a.On)
		if !m.Here.At(a.On) || s.suspended() || t.everything || !s.teachesStage(stage, t) {
			return MentorNotAble
		}
	}
	var assign func(roles []string, from []inventory.ID) bool
	assign = func(roles []string, from []inventory.ID) bool {
		if len(roles) == 0 {
			return true
		}
		for i, who := range from {
			if o.couldSign(a, who, roles[0], stage) && assign(roles[1:], slices.Delete(slices.Clone(from), i, i+1)) {
				return true
			}
		}
		return false
	}
	if !assign(signing, a.Signers) {
		return SignerMissing
	}
	return Holds
}

func (o *oracle) couldSign(a *Authorisation, who inventory.ID, role string, stage int) bool {
	p := o.personOf(who)
	if p == nil || !p.Here.At(a.On) || !p.Roles(role, a.On) {
		return false
	}
	s, t := o.before(p, a.On), o.taken(p, a.At, a.At, a.On)
	if s.suspended() || t.everything {
		return false
	}
	return !slices.Contains(o.Ladder.Holding, role) || min(s.stage(), t.stage) >= stage
}

// met says whether a condition is met by what is known on the day.
func (o *oracle) met(s *state, c Condition, about *Species) bool {
	d := s.on
	switch c := c.(type) {
	case All:
		return !slices.ContainsFunc(c, func(part Condition) bool { return !o.met(s, part, about) })
	case Any:
		return slices.ContainsFunc(c, func(part Condition) bool { return o.met(s, part, about) })
	case Held:
		since, holds := o.heldSince(s, c.Stage)
		return holds && c.For.AddTo(since) <= d
	case Age:
		return o.old(s.person.Born, c.Years, d)
	case InForce:
		return o.benefit(certified(s.person, c.What, d))
	case Did:
		n := 0
		for _, x := range s.person.Done[c.What] {
			if x.On <= d && within(c.Within, x.On, d) && o.benefit(x.Passed) {
				n++
			}
		}
		return n >= c.AtLeast
	case None:
		return o.none(s.person, c, d)
	case Paper:
		line, has := s.person.Papers[c.Class]
		since := d
		for has && since >= day.First && o.benefit(line.At(since)) {
			since--
		}
		return since < d && c.For.AddTo(since+1) <= d
	case *Count:
		return o.enough(s, c, about)
	}
	panic("not a condition that is known")
}

func within(span day.Span, on, d day.Day) bool { return span.IsZero() || d <= span.AddTo(on) }

// old: whoever was born on 29 February is a year older on 1 March.
func (o *oracle) old(born day.Day, years int, d day.Day) bool {
	if born.IsZero() {
		return o.world == Best
	}
	by, bm, bd := born.Date()
	y, m, n := d.Date()
	passed := y - by
	if m < bm || m == bm && n < bd {
		passed--
	}
	return passed >= years
}

func (o *oracle) none(p *Person, c None, d day.Day) bool {
	for _, what := range c.Events {
		for _, x := range p.Done[what] {
			if x.On <= d && within(c.Within, x.On, d) {
				return false
			}
		}
	}
	known := p.KnownFrom
	return !o.adverse(inventory.Unknown) || !known.IsZero() && !within(c.Within, known-1, d)
}

// enough says whether there is as much of a measure as is asked for.
func (o *oracle) enough(s *state, c *Count, about *Species) bool {
	work := o.matching(s, &c.Filter, about)
	sum, first := 0, day.Day(0)
	minutes, days := map[day.Day]int{}, map[day.Day]bool{}
	different := map[inventory.ID]bool{}
	for _, x := range work {
		if first == 0 || x.On < first {
			first = x.On
		}
		days[x.On] = true
		switch c.Of {
		case Sessions:
			sum++
		case Repetitions:
			sum += len(x.Results)
		case CleanOnes:
			sum += count(x.Results, 'c')
		case Hours:
			if timed(x) {
				minutes[x.On] += int(x.Ended.Sub(x.Begun).Minutes())
			} else if o.world == Best {
				minutes[x.On] += o.Ladder.HoursPerDay * 60
			}
		case Individuals:
			for _, animal := range x.Animals {
				different[animal] = true
			}
			if len(x.Animals) == 0 && o.world == Best { // each time another one
				sum += max(len(x.Results), 1)
			}
		case Kinds:
			different[x.Species] = true
		case Mentors:
			if o.status(x) == Counts && o.personOf(x.Mentor) == nil {
				sum++ // only at best, and then each is another one
			} else if o.status(x) == Counts {
				different[x.Mentor] = true
			}
		}
	}
	total := 0
	for _, m := range minutes {
		total += min(m, o.Ladder.HoursPerDay*60)
	}
	sum += len(different) + total/60
	switch c.Of {
	case Days:
		sum = len(days)
	case CleanRun:
		return o.cleanRun(s, &c.Filter, about) >= c.AtLeast
	}
	for _, cr := range o.credits(s, &c.Filter, about) {
		percent := min(cr.Percent, o.Ladder.Credit.Percent)
		switch c.Of {
		case Hours:
			sum += cr.Hours * percent / 100
		case Days:
			sum += cr.Days * percent / 100
		case Repetitions, CleanOnes:
			sum += cr.Repetitions * percent / 100
		}
		if first == 0 || cr.First < first {
			first = cr.First
		}
	}
	if c.Of == SpanOf {
		return first != 0 && c.Over.AddTo(first) <= s.on
	}
	return sum >= c.AtLeast
}

// matching gives the sessions that count and that the filter takes.
func (o *oracle) matching(s *state, f *Filter, about *Species) (work []*Session) {
	for _, x := range o.counted(s) {
		if o.status(x) == CountsAlone && !f.Alone {
			continue
		}
		if within(f.Within, x.On, s.on) && o.benefit(o.fits(f, x, about)) {
			work = append(work, x)
		}
	}
	return work
}

// fits says whether a filter takes a session's animals and task.
func (o *oracle) fits(f *Filter, x *Session, about *Species) inventory.Tri {
	sp := o.kindOf(x.Species)
	at := sp.Place.At(x.On)
	fits := inventory.Yes
	if x.Level < f.TaskFrom || f.TaskTo > 0 && x.Level > f.TaskTo {
		return inventory.No
	}
	if f.Harmless {
		fits = worseOf(fits, sp.Harmless)
	}
	if f.Venomous {
		fits = worseOf(fits, opposite(sp.Harmless))
	}
	between := func(lo, hi int) inventory.Tri { // whether the stage is between them
		switch {
		case lo <= at.Least && at.Most <= hi:
			return inventory.Yes
		case at.Most < lo || hi < at.Least:
			return inventory.No
		}
		return inventory.Unknown
	}
	if f.StageFrom > 0 {
		fits = worseOf(fits, between(f.StageFrom, TopStage))
	}
	if f.StageTo > 0 {
		fits = worseOf(fits, between(0, f.StageTo))
	}
	return worseOf(fits, kindred(f, sp.Name, sp.Genus, sp.Family, about))
}

// kindred says whether a kind is one of those named, and as near to what is
// asked about as the filter wants.
func kindred(f *Filter, name, genus, family string, about *Species) inventory.Tri {
	is := inventory.Yes
	if len(f.Names) > 0 && !slices.Contains(f.Names, name) && !slices.Contains(f.Names, genus) && (family == "" || !slices.Contains(f.Names, family)) {
		is = inventory.No
		if family == "" {
			is = inventory.Unknown
		}
	}
	switch {
	case f.Like == "":
		return is
	case about == nil:
		return inventory.Unknown
	case f.Like == "species":
		return worseOf(is, inventory.Bool(name == about.Name))
	case f.Like == "genus":
		return worseOf(is, inventory.Bool(genus == about.Genus))
	case family == "" || about.Family == "":
		return worseOf(is, inventory.Unknown)
	}
	return worseOf(is, inventory.Bool(family == about.Family))
}
