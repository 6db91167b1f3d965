package compliance

import (
	"iter"
	"slices"
	"strconv"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// coverKind asks that for each species held at a site there is a full course
// of one product, in date and at the site, for one victim. The vials per
// course are planning figures with a source; the treating clinician, the
// poison centre and the label decide.
//
// The facts apply in this order: whether any product exists at all; whether
// a product on an accepted ground does; how many vials its course takes; how
// many may be used. A course comes from one product, so the best product
// counts on each day.
type coverKind struct {
	bases  []inventory.Basis
	lead   day.Span // from order to shelf, where the product's own lead is not known
	margin int      // calendar days added to the product's own lead
}

func readCoverKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindHolding)
	m.Int("victims", 1, 1)
	k := &coverKind{margin: m.OptInt("margin_days", 0, 0, 365)}
	m.Text("order_lead", &k.lead)
	for i, b := range m.Strings("bases") {
		basis := inventory.Basis(b)
		if !slices.Contains([]inventory.Basis{inventory.Indicated, inventory.Immunogen, inventory.Paraspecific}, basis) {
			m.FailItem("bases", i, "%q is not allowed; allowed: indicated, immunogen, paraspecific", b)
		}
		k.bases = append(k.bases, basis)
	}
	return k
}

// Bind implements Kind.
func (k *coverKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, TopicStock) }

// Judge implements Kind.
func (k *coverKind) Judge(v *View, d *Duty) Line {
	species, ok := v.Species.Get(d.Subject.ID)
	if !ok {
		return day.Constant(v.in.Of(k.unknown(d)))
	}
	rows := v.coverage[species.ID]
	useful := slices.DeleteFunc(slices.Clone(rows), func(c *inventory.Coverage) bool {
		return !slices.Contains(k.bases, c.Basis)
	})
	switch {
	case len(useful) == 0 && species.NoAntivenom != "":
		return k.uncoverable(v, d)
	case len(rows) == 0:
		return day.Constant(v.in.Of(k.unknown(d)))
	case len(useful) == 0:
		return day.Constant(v.in.Of(Verdict{Standing: OutOfOrder, State: StatedIneffective,
			Step: Step{Do: ReplaceAntivenom, Instance: d.Subject, Owner: d.Rule.Owner}}))
	}
	best := day.Constant(notApplicable)
	for _, c := range useful {
		best = day.Combine(best, k.byProduct(v, d, c), better)
	}
	return best
}

func (k *coverKind) unknown(d *Duty) Verdict {
	return Verdict{Standing: CannotTell, State: CoverageUnknown,
		Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
}

// uncoverable: no antivenom exists. That is out of order until somebody has
// approved it by name, and shown apart in either case.
func (k *coverKind) uncoverable(v *View, d *Duty) Line {
	return day.Map(v.decided(HoldWithout, d.Subject), func(approved bool) *Verdict {
		if approved {
			return v.in.Of(Verdict{Standing: InOrder, State: UncoverableApproved})
		}
		return v.in.Of(Verdict{Standing: OutOfOrder, State: Uncoverable,
			Step: Step{Do: ApproveOrMove, Instance: d.Subject, Owner: Head}})
	})
}

// level is what the stock of one product is worth against one species.
type level struct {
	vials  inventory.Quantity
	course inventory.Vials
}

// byProduct is the line of one product alone, with the order-by day of each
// stretch that is covered.
func (k *coverKind) byProduct(v *View, d *Duty, c *inventory.Coverage) Line {
	levels := day.Combine(v.usable(c.Product, d.Subject.At), inventory.LineOf(inventory.Vials{}, c.Vials),
		func(q inventory.Quantity, n inventory.Vials) level { return level{q, n} })
	plain := day.Map(levels, func(l level) *Verdict { return v.in.Of(k.reached(d, c, l)) })
	return k.withOrders(v, d, c, plain)
}

func (k *coverKind) reached(d *Duty, c *inventory.Coverage, l level) Verdict {
	cause := inventory.Ref{Kind: inventory.KindProduct, ID: c.Product}
	replace := Step{Do: ReplaceAntivenom, Instance: d.Subject, Owner: d.Rule.Owner}
	switch {
	case l.course.Full == 0:
		return Verdict{Standing: CannotTell, State: CourseUnknown, Cause: cause,
			Step: Step{Do: CompleteRecord, Instance: c.Ref(), Owner: d.Rule.Owner}}
	case l.vials.Sure >= l.course.Full:
		return Verdict{Standing: InOrder, State: Covered, Cause: cause}
	case l.vials.Maybe >= l.course.Full:
		return Verdict{Standing: CannotTell, State: StockUnknown, Cause: cause,
			Step: Step{Do: CompleteRecord, Instance: cause, Owner: d.Rule.Owner}}
	case l.course.Initial > 0 && l.vials.Sure >= l.course.Initial:
		return Verdict{Standing: OutOfOrder, State: InitialOnly, Cause: cause, Step: replace}
	case l.vials.Maybe > 0:
		return Verdict{Standing: OutOfOrder, State: Short, Cause: cause, Step: replace}
	default:
		return Verdict{Standing: OutOfOrder, State: NoneInStock, Cause: cause, Step: replace}
	}
}

// withOrders puts on each covered stretch the day by which to order so that
// it does not end, and keeps that day, missed, on the stretch that follows.
func (k *coverKind) withOrders(v *View, d *Duty, c *inventory.Coverage, plain Line) Line {
	letRun := v.decided(RunDown, d.Subject)
	b := day.NewBuilder(k.ordered(v, d, c, plain, letRun, day.First-1, plain.First()))
	var missed Step
	for on, verdict := range plain.Changes() {
		next := k.ordered(v, d, c, plain, letRun, on, verdict)
		if next.Standing == InOrder {
			missed = next.Step
		} else if next.Standing == OutOfOrder && !missed.IsZero() {
			late := *next
			late.Step.By, late.Step.Legal, late.Step.Window = missed.By, missed.Legal, missed.Window
			next = v.in.Of(late)
		}
		b.Add(on, next)
	}
	return b.Line()
}

func (k *coverKind) ordered(v *View, d *Duty, c *inventory.Coverage, plain Line, letRun day.Line[bool], on day.Day, verdict *Verdict) *Verdict {
	if verdict.Standing != InOrder {
		return verdict
	}
	ends, _, ok := plain.Next(on, func(next *Verdict) bool { return next.Standing != InOrder })
	if !ok {
		return verdict
	}
	out := *verdict
	out.Step = Step{Do: OrderAntivenom, Instance: d.Subject, Legal: ends - 1, Window: d.Rule.Window, Owner: d.Rule.Owner}
	if letRun.At(max(on, d.today(v))) {
		out.Step.Do, out.Step.By = MoveSpecies, ends-1
		return v.in.Of(out)
	}
	by := day.WeekendsOnly().Earlier(k.orderBy(v, c, ends))
	out.Step.By, out.Step.Provisional = by.On, by.Provisional
	return v.in.Of(out)
}

// orderBy subtracts the lead in calendar days from the first short day.
func (k *coverKind) orderBy(v *View, c *inventory.Coverage, short day.Day) day.Day {
	if p, ok := v.Products.Get(c.Product); ok && p.LeadDays > 0 {
		return short.Add(-p.LeadDays - k.margin)
	}
	return k.lead.SubtractFrom(short)
}

// today is the day of the question at the duty's site.
func (d *Duty) today(v *View) day.Day {
	site, _ := d.OneSite()
	return v.Today(site)
}

// Why implements Kind.
func (k *coverKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	species, ok := v.Species.Get(d.Subject.ID)
	if !ok {
		return nil
	}
	if species.NoAntivenom != "" {
		reasons = append(reasons, Because("no-antivenom", "species", species.Accepted, "source", species.NoAntivenom, "certainty", species.Certainty.Words()))
	}
	rows := v.coverage[species.ID]
	if len(rows) == 0 && species.NoAntivenom == "" {
		reasons = append(reasons, Because("no-coverage-row", "species", species.Accepted))
	}
	for _, c := range rows {
		product, _ := v.Products.Get(c.Product)
		if product == nil {
			continue
		}
		if !slices.Contains(k.bases, c.Basis) {
			reasons = append(reasons, Because("coverage-refused", "product", product.Type, "basis", string(c.Basis), "source", c.Source))
			continue
		}
		reasons = append(reasons, k.whyProduct(v, d, c, product, on)...)
	}
	return reasons
}

func (k *coverKind) whyProduct(v *View, d *Duty, c *inventory.Coverage, product *inventory.Product, on day.Day) []Reason {
	q := v.usable(c.Product, d.Subject.At).At(on)
	n := inventory.LineOf(inventory.Vials{}, c.Vials).At(on)
	reasons := []Reason{Because("course", "product", product.Type, "basis", string(c.Basis), "full", vials(n.Full), "initial", vials(n.Initial),
		"sure", strconv.Itoa(q.Sure), "maybe", strconv.Itoa(q.Maybe), "source", c.Source, "certainty", c.Certainty.Words())}
	for _, lot := range v.lots[productSite{c.Product, d.Subject.At}] {
		here := lot.InPlaces(func(place inventory.ID) bool { return v.placeSite[place] == d.Subject.At }).At(on)
		if here > 0 {
			reasons = append(reasons, Because("lot", "lot", lot.Number, "vials", strconv.Itoa(here), "end", lot.LastUsable().String(),
				"usable", strconv.Itoa(lot.Usable(func(place inventory.ID) bool { return v.placeSite[place] == d.Subject.At }).At(on).Sure)))
		}
	}
	return reasons
}

func vials(n int) string {
	if n == 0 {
		return "unknown"
	}
	return strconv.Itoa(n)
}
