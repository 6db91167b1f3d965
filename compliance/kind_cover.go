package compliance

import (
	"iter"
	"slices"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// coverKind asks that for each species held at a site there is a full course
// of one product, in date and within reach, for each of so many people bitten
// at once. The vials per course are planning figures with a source; the
// treating clinician, the poison centre and the label decide, and covered is
// not safe.
//
// The facts apply in this order: whether any product exists at all; whether a
// product on an accepted ground does, and no source excludes it; how many vials
// its course takes, by the largest figure of all sources; how many may be used,
// in the house and under agreements; and where several people are planned for,
// whether a smallest set of victims with this species in it cannot be treated
// (package inventory/cover). A course comes from one product, so the best
// product counts on each day.
//
// Asked of a site it answers for all its species at once, and only of what goes
// beyond one victim: see judgeSite.
type coverKind struct {
	bases  []inventory.Basis
	scene  Scene
	beyond bool     // another rule asks for one victim: what is short alone is not told again
	lead   day.Span // from order to shelf, where neither an offer nor the product says it
	margin int      // calendar days added to the lead of an offer or product
}

func readCoverKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindHolding, inventory.KindSite)
	ofSite := r.Subject == inventory.KindSite
	k := &coverKind{margin: m.OptInt("margin_days", 0, 0, 365)}
	k.scene = Scene{Victims: m.Int("victims", 1, cover.MostVictims), Within: Within(m.OptInt("within_minutes", int(OwnPlaces), 0, 24*60)),
		Twice: m.OptBool("same_animal_twice", true), Persons: m.OptInt("persons", 0, 1, 1000), Approved: m.OptBool("approved", false)}
	switch k.beyond = m.OptBool("beyond_one", ofSite); {
	case ofSite && k.scene.Victims == 1:
		m.Fail("victims", "1 is not allowed with subject site; allowed: 2 to %d, for one victim write subject: holding", cover.MostVictims)
	case ofSite && !k.beyond:
		m.Fail("beyond_one", "false is not allowed with subject site, which says only what goes beyond one victim; leave it out")
	case k.beyond && k.scene.Victims == 1:
		m.Fail("beyond_one", "is for two victims or more; leave it out")
	}
	m.Text("order_lead", &k.lead)
	for i, b := range m.Strings("bases") {
		basis := inventory.Basis(b)
		if !slices.Contains([]inventory.Basis{inventory.Indicated, inventory.Immunogen, inventory.Paraspecific}, basis) {
			m.FailItem("bases", i, "%q is not allowed; allowed: indicated, immunogen, paraspecific", b)
		}
		k.bases = append(k.bases, basis)
		k.scene.bases += b + " "
	}
	return k
}

// Bind implements Kind.
func (k *coverKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, TopicStock) }

// Judge implements Kind.
func (k *coverKind) Judge(v *View, d *Duty) Line {
	if d.Subject.Kind == inventory.KindSite {
		return k.judgeSite(v, d)
	}
	species, ok := v.Species.Get(d.Subject.ID)
	if !ok {
		return day.Constant(v.in.Of(k.unknown(d)))
	}
	grounds := v.grounds(d.Subject)
	accepted := useful(grounds, k.bases)
	switch {
	case len(accepted) == 0 && k.beyond:
		return day.Constant(notApplicable)
	case len(accepted) == 0 && species.NoAntivenom != "":
		return k.uncoverable(v, d)
	case len(grounds) == 0:
		return day.Constant(v.in.Of(k.unknown(d)))
	case len(accepted) == 0:
		return day.Constant(v.in.Of(Verdict{Standing: OutOfOrder, State: StatedIneffective,
			Step: Step{Do: ReplaceAntivenom, Instance: d.Subject, Owner: d.Rule.Owner}}))
	}
	alone := k.alone(v, d, accepted)
	if k.beyond {
		return k.withOrders(v, d, k.beyondOne(v, d, alone, accepted), accepted)
	}
	line := k.withOthers(v, d, alone, accepted)
	line = k.unobtainable(v, d, line, accepted)
	return k.withOrders(v, d, line, accepted)
}

// alone is the line of a species for one victim: by the best product.
func (k *coverKind) alone(v *View, d *Duty, accepted []inventory.Ground) Line {
	alone := day.Constant(notApplicable)
	for _, g := range accepted {
		alone = day.Combine(alone, k.byProduct(v, d, g), better)
	}
	return alone
}

func (k *coverKind) unknown(d *Duty) Verdict {
	return Verdict{Standing: CannotTell, State: CoverageUnknown,
		Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
}

// uncoverable: no antivenom exists. That is out of order until somebody has
// approved it by name, and shown apart in either case.
func (k *coverKind) uncoverable(v *View, d *Duty) Line {
	return day.Map(v.decided(HoldWithout, d.Subject), func(approved bool) *Verdict {
		return v.in.Of(k.without(d, approved, Uncoverable, UncoverableApproved))
	})
}

func (k *coverKind) without(d *Duty, approved bool, state, known Code) Verdict {
	if approved {
		return Verdict{Standing: InOrder, State: known}
	}
	return Verdict{Standing: OutOfOrder, State: state, Step: Step{Do: ApproveOrMove, Instance: d.Subject, Owner: Head}}
}

// unobtainable: what would treat it exists, but is short here, and every offer
// that was ever recorded has ended. That is another thing than that none
// exists, or that none was ordered.
func (k *coverKind) unobtainable(v *View, d *Duty, line Line, grounds []inventory.Ground) Line {
	ended := day.Constant(true)
	for _, g := range grounds {
		ended = day.Combine(ended, v.offersEnded(g.Product), func(a, b bool) bool { return a && b })
	}
	if ended.Always(false) {
		return line
	}
	approved := v.decided(HoldWithout, d.Subject)
	gone := day.Combine(ended, approved, func(ended, approved bool) *Verdict {
		if !ended {
			return notApplicable
		}
		return v.in.Of(k.without(d, approved, Unobtainable, UnobtainableApproved))
	})
	return day.Combine(line, gone, func(verdict, gone *Verdict) *Verdict {
		if verdict.Standing != OutOfOrder || verdict.State == NotApproved || gone.Standing == NotApplicable {
			return verdict
		}
		return gone
	})
}

// offersEnded gives the days on which offers of a product are recorded and
// none of them stands any longer.
func (v *View) offersEnded(product inventory.ID) day.Line[bool] {
	if len(v.supplies[product]) == 0 {
		return day.Constant(false)
	}
	ended := day.Constant(true)
	for _, s := range v.supplies[product] {
		ended = day.Combine(ended, s.Offered(), func(ended bool, offered inventory.Tri) bool { return ended && offered == inventory.No })
		if s.From.IsZero() { // offered since ever
			continue
		}
		ended = day.Combine(ended, day.Steps(true, day.Change[bool]{On: s.From, To: false}), func(ended, before bool) bool { return ended && !before })
	}
	return ended
}

// level is what the stock of one product is worth against one species.
type level struct {
	stock     atHand
	course    inventory.Vials
	unchecked int // vials of the house that count for sure once somebody has looked at them
}

// byProduct is the line of one product for one victim.
func (k *coverKind) byProduct(v *View, d *Duty, g inventory.Ground) Line {
	key := k.scene.stock(g.Product, d.Subject.At)
	line := k.atLevels(v, d, g, key)
	if !key.approved {
		return line
	}
	key.approved = false
	return k.forWantOfApproval(v, d, g.Product, line, k.atLevels(v, d, g, key))
}

// atLevels is the line of one product by one way to count its vials.
func (k *coverKind) atLevels(v *View, d *Duty, g inventory.Ground, key stockKey) Line {
	levels := day.Combine(v.atHand(key), g.Vials, func(s atHand, n inventory.Vials) level { return level{stock: s, course: n} })
	levels = day.Combine(levels, v.unchecked(key), func(l level, n int) level { l.unchecked = n; return l })
	return day.Map(levels, func(l level) *Verdict { return v.in.Of(k.reached(d, g, l)) })
}

func (k *coverKind) reached(d *Duty, g inventory.Ground, l level) Verdict {
	cause := inventory.Ref{Kind: inventory.KindProduct, ID: g.Product}
	replace := Step{Do: ReplaceAntivenom, Instance: d.Subject, Owner: d.Rule.Owner}
	vials := l.stock.all()
	switch {
	case l.course.Full == 0:
		return Verdict{Standing: CannotTell, State: CourseUnknown, Cause: cause,
			Step: Step{Do: CompleteRecord, Instance: inventory.Ref{Kind: inventory.KindCoverage, ID: g.Rows[0].ID}, Owner: d.Rule.Owner}}
	case vials.Sure >= l.course.Full:
		return Verdict{Standing: InOrder, State: Covered, Cause: cause}
	case l.stock.own.Sure+l.stock.partner.Maybe >= l.course.Full:
		return Verdict{Standing: CannotTell, State: PartnerUnknown, Cause: cause,
			Step: Step{Do: ConfirmAgreement, Instance: d.Subject, Owner: d.Rule.Owner}}
	case vials.Sure+l.unchecked >= l.course.Full:
		return Verdict{Standing: CannotTell, State: StockUnchecked, Cause: cause,
			Step: Step{Do: CheckVials, Instance: cause, Owner: d.Rule.Owner}}
	case vials.Maybe >= l.course.Full:
		return Verdict{Standing: CannotTell, State: StockUnknown, Cause: cause,
			Step: Step{Do: CompleteRecord, Instance: cause, Owner: d.Rule.Owner}}
	case l.course.Initial > 0 && vials.Sure >= l.course.Initial:
		return Verdict{Standing: OutOfOrder, State: InitialOnly, Cause: cause, Step: replace}
	case vials.Maybe > 0:
		return Verdict{Standing: OutOfOrder, State: Short, Cause: cause, Step: replace}
	default:
		return Verdict{Standing: OutOfOrder, State: NoneInStock, Cause: cause, Step: replace}
	}
}

// today is the day of the question at the duty's site.
func (d *Duty) today(v *View) day.Day {
	site, _ := d.OneSite()
	return v.Today(site)
}
