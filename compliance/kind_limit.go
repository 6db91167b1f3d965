package compliance

import (
	"iter"
	"math"

	"antidotary/compliance/scope"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// limitKind asks that at most so many are held: at a site, of one species
// there, in one person's hands, by the house, or under one paper.
//
// The facts apply in this order: which animals count, for sure or perhaps
// (holdings); how many these are on each day, with arrivals and litters that
// are planned; whether that is more than the rule or the paper allows; for a
// paper, whether it is in force, and how long the limit lasts; then the day
// by which to act so that the limit is not broken.
type limitKind struct {
	most    int
	species bool         // species are counted, not animals
	of      *scope.Scope // which holdings count, by site and species
	without bool         // only species for which no antivenom exists
	lead    day.Span     // from asking for a higher number to having it
	// Of papers alone: of which class, whether the numbers are the paper's
	// own, and for how long from its first day the limit lasts; zero: always.
	paper   *permitKind
	numbers bool
	during  day.Span
}

func readLimitKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindSite, inventory.KindHolding, inventory.KindPerson, inventory.KindOrganisation, inventory.KindPermit)
	if r.Subject == inventory.KindOrganisation && r.Layer == Law {
		m.Fail("", "a house stands under no single law, so that a law limits its sites, people or papers; allowed: site, holding, person, permit")
	}
	k := &limitKind{
		most:    m.OptInt("most", 0, 0, math.MaxInt32),
		species: m.OptEnum("count", "animals", "animals", "species") == "species",
		of:      readHoldingScope(m, "of"),
		without: m.OptBool("without_antivenom", false),
		numbers: m.OptBool("number_on_paper", false),
	}
	m.OptText("lead", &k.lead)
	m.OptText("during", &k.during)
	if p, ok := m.OptMap("paper"); ok {
		animals := *r
		animals.Subject = inventory.KindAnimal
		k.paper = readPermitTerms(p, &animals)
		if p.Has("match") && k.paper.number && k.numbers {
			p.Fail("match", "number would let the papers be counted twice, because number_on_paper asks for the paper's own number already; write match: [holder, place, taxon], or fewer of these")
		}
	}
	ofPapers := r.Subject == inventory.KindPermit
	for _, key := range []string{"paper", "number_on_paper", "during"} {
		if m.Has(key) && !ofPapers {
			m.FailKey(key, "is for limits of papers alone; allowed: leave it out, or write subject: permit")
		}
	}
	if ofPapers && k.paper == nil {
		m.Fail("paper", "is missing: say of which class; allowed: a mapping such as {class: keeper-licence}")
		k.paper = &permitKind{}
	}
	for _, key := range []string{"most", "count", "of", "without_antivenom"} {
		if m.Has(key) && k.numbers {
			m.FailKey(key, "is said by the paper where number_on_paper is true; allowed: leave out the one or the other")
		}
	}
	if !m.Has("most") && !k.numbers {
		m.Fail("most", "is missing: say how many are allowed; allowed: a whole number of 0 or more")
	}
	return k
}

// readPaper reads which papers are meant, with the parameters of a permit.
func readPaper(m *strict.Map, r *Rule) *permitKind {
	animals := *r
	animals.Subject = inventory.KindAnimal
	k, _ := readPermitKind(m, &animals).(*permitKind)
	return k
}

// readHoldingScope reads which holdings are meant: all where the key is left
// out.
func readHoldingScope(m *strict.Map, key string) *scope.Scope {
	s, err := scopeEnvs()[inventory.KindHolding].Compile(m.OptString(key))
	if err != nil {
		m.Fail(key, "%v", err)
		return &scope.Scope{}
	}
	return s
}

// Bind implements Kind. A number may rest on the lists of several sites, so
// Judge looks through them itself.
func (k *limitKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	duties := v.bind(r, "")
	if k.paper == nil {
		return duties
	}
	return func(yield func(Duty) bool) {
		for d := range duties {
			if d.paper.Class == k.paper.class && !yield(d) {
				return
			}
		}
	}
}

// Judge implements Kind.
func (k *limitKind) Judge(v *View, d *Duty) Line {
	return k.throughLists(v, d, k.ahead(v, d, k.plain(v, d)))
}

// plain is the line without the days by which to act.
func (k *limitKind) plain(v *View, d *Duty) Line {
	line := day.Constant(notApplicable)
	for _, c := range k.counts(v, d) {
		one := day.Map(c.heads, func(h heads) *Verdict { return v.in.Of(k.found(d, h, c.most)) })
		line = day.Combine(line, one, worse)
	}
	if d.paper == nil {
		return line
	}
	if len(d.paper.Grants) == 0 && k.numbers && len(d.paper.Animals) == 0 {
		line = day.Constant(v.in.Of(k.doubt(d, TaxonUnknown)))
	}
	return k.whilePaper(v, d, line)
}

// found compares what is held with what is allowed. More than that for sure
// is out of order; perhaps more cannot be told.
func (k *limitKind) found(d *Duty, h heads, most int) Verdict {
	switch {
	case h.sure > most:
		return Verdict{Standing: OutOfOrder, State: OverLimit, Cause: d.Subject,
			Step: Step{Do: HoldFewer, Instance: d.Subject, Owner: d.Rule.Owner}}
	case h.most > most:
		return k.doubt(d, LimitUnknown)
	default:
		return Verdict{Standing: InOrder, State: WithinLimit, Cause: d.Subject}
	}
}

func (k *limitKind) doubt(d *Duty, state Code) Verdict {
	return Verdict{Standing: CannotTell, State: state, Cause: d.Subject,
		Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
}

// whilePaper leaves the days on which the paper is in force, or goes on while
// its renewal is pending, and on which its limit lasts. Where that is not
// known, more than the limit cannot be told.
func (k *limitKind) whilePaper(v *View, d *Duty, line Line) Line {
	line = day.Combine(line, k.paper.stateOf(v, d, d.paper), func(verdict, paper *Verdict) *Verdict {
		switch {
		case paper.Standing == OutOfOrder || paper.Standing == NotApplicable:
			return notApplicable
		case paper.Standing == CannotTell && verdict.Standing == OutOfOrder:
			return v.in.Of(k.doubt(d, paper.State))
		default:
			return verdict
		}
	})
	begins := d.paper.Start()
	if k.during.IsZero() || begins.IsZero() { // without a first day its state cannot be told
		return line
	}
	last := day.Period{Shape: day.BeginningWith, Span: k.during}.On(begins, day.Calendar{}).On
	return cut(line, last+1, notApplicable)
}

// ahead puts on each stretch within the limit the day by which to act so that
// it is not broken, and keeps that day, missed, on the stretch that follows.
func (k *limitKind) ahead(v *View, d *Duty, plain Line) Line {
	first := k.before(v, d, plain, day.First-1, plain.First())
	b, missed := day.NewBuilder(first), Step{}
	if first.Standing == InOrder {
		missed = first.Step
	}
	for on, verdict := range plain.Changes() {
		next := k.before(v, d, plain, on, verdict)
		switch {
		case next.Standing == InOrder:
			missed = next.Step
		case next.Standing == OutOfOrder && !missed.IsZero():
			late := *next
			late.Step.By, late.Step.Legal, late.Step.Window = missed.By, missed.Legal, missed.Window
			next = v.in.Of(late)
		}
		b.Add(on, next)
	}
	return b.Line()
}

func (k *limitKind) before(v *View, d *Duty, plain Line, on day.Day, verdict *Verdict) *Verdict {
	if verdict.Standing != InOrder {
		return verdict
	}
	breaks, then, ok := plain.Next(on, func(next *Verdict) bool { return next.Standing > InOrder })
	if !ok {
		return verdict
	}
	out := *verdict
	out.Step = then.Step
	out.Step.By, out.Step.Legal, out.Step.Window = breaks-1, breaks-1, d.Rule.Window
	if !k.lead.IsZero() {
		by := day.WeekendsOnly().Earlier(k.lead.SubtractFrom(breaks))
		out.Step.By, out.Step.Provisional = by.On, by.Provisional
	}
	return v.in.Of(out)
}

// throughLists: that no more are held rests on the list of animals of each
// site at which some of them may be. Before such a list begins, a record that
// is missing may be one more.
func (k *limitKind) throughLists(v *View, d *Duty, line Line) Line {
	for _, site := range k.sites(v, d) {
		line = v.throughList(TopicAnimals, site, line)
		list := v.freshness(TopicAnimals, site)
		if list.feed == nil {
			continue
		}
		line = day.Combine(line, list.line, func(verdict *Verdict, f Freshness) *Verdict {
			if f != Outside || verdict.Standing != InOrder {
				return verdict
			}
			return v.in.Of(Verdict{Standing: CannotTell, State: ListMissing, Cause: list.feed.Ref(), Step: verdict.Step})
		})
	}
	return line
}
