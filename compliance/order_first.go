package compliance

import (
	"slices"
	"strconv"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// first is what must come before the arrival.
type first interface {
	// ways are the things of which each alone is enough.
	ways(v *View, d *Duty, in arrived) []way
	act() Code   // the step that brings it
	late() Code  // the step where the animal came too early
	doubt() Code // what cannot be told where it may or may not have been there
	topic() Topic
	why(v *View, d *Duty, in arrived) []Reason
}

// way is one thing that is enough: on which days it is there, and the first
// of its days if it is known to have been settled before that day began.
type way struct {
	there   day.Line[inventory.Tri]
	settled day.Day
}

// cameBefore says whether it was there before a day and still is on that day.
func (w way) cameBefore(on day.Day) inventory.Tri {
	switch now, before := w.there.At(on), w.there.At(on-1); {
	case now == inventory.No:
		return inventory.No
	case now == inventory.Yes && (before == inventory.Yes || w.settled == on):
		return inventory.Yes
	default:
		return inventory.Unknown
	}
}

// antivenomFirst: enough vials of one product, in date, at the site.
type antivenomFirst struct {
	bases   []inventory.Basis
	initial bool // an initial dose is enough
}

func readAntivenomFirst(m *strict.Map) *antivenomFirst {
	f := &antivenomFirst{initial: m.OptEnum("dose", "full", "full", "initial") == "initial"}
	for i, b := range m.Strings("bases") {
		basis := inventory.Basis(b)
		if !slices.Contains([]inventory.Basis{inventory.Indicated, inventory.Immunogen, inventory.Paraspecific}, basis) {
			m.FailItem("bases", i, "%q is not allowed; allowed: indicated, immunogen, paraspecific", b)
		}
		f.bases = append(f.bases, basis)
	}
	return f
}

func (f *antivenomFirst) act() Code    { return OrderAntivenom }
func (f *antivenomFirst) late() Code   { return ReplaceAntivenom }
func (f *antivenomFirst) doubt() Code  { return StockUnknown }
func (f *antivenomFirst) topic() Topic { return TopicStock }

// ways: for a species for which none exists, that holding it without is
// approved stands for it. Which antivenom is for a species of which nothing is
// recorded nobody knows.
func (f *antivenomFirst) ways(v *View, d *Duty, in arrived) (all []way) {
	species := d.animal.Species
	rows := v.coverage[species]
	for _, g := range useful(v.grounds(inventory.Holding(species, in.site)), f.bases) {
		all = append(all, way{there: day.Combine(v.usable(g.Product, in.site), g.Vials, f.enough)})
	}
	switch {
	case len(all) > 0:
		return all
	case d.animal.species != nil && d.animal.species.NoAntivenom != "":
		approved := v.decided(HoldWithout, inventory.Holding(species, in.site))
		return []way{{there: day.Map(approved, inventory.Bool)}}
	case len(rows) == 0:
		return []way{{there: day.Constant(inventory.Unknown)}}
	default:
		return nil
	}
}

func (f *antivenomFirst) enough(q inventory.Quantity, n inventory.Vials) inventory.Tri {
	need := n.Full
	if f.initial {
		need = n.Initial
	}
	switch {
	case need == 0 && q.Maybe > 0: // how many are enough is not known
		return inventory.Unknown
	case need == 0:
		return inventory.No
	case q.Sure >= need:
		return inventory.Yes
	case q.Maybe >= need:
		return inventory.Unknown
	default:
		return inventory.No
	}
}

func (f *antivenomFirst) why(v *View, d *Duty, in arrived) (reasons []Reason) {
	rows := v.coverage[d.animal.Species]
	name := "(species not recorded)"
	if d.animal.species != nil {
		name = d.animal.species.Accepted
	}
	if len(rows) == 0 {
		reasons = append(reasons, Because("no-coverage-row", "species", name))
	}
	for _, g := range useful(v.grounds(inventory.Holding(d.animal.Species, in.site)), f.bases) {
		product, ok := v.Products.Get(g.Product)
		if !ok {
			continue
		}
		need, stock := g.Vials.At(in.on), v.usable(g.Product, in.site)
		reasons = append(reasons, Because("order-vials", "product", product.Type, "before", strconv.Itoa(stock.At(in.on-1).Sure),
			"then", strconv.Itoa(stock.At(in.on).Sure), "full", vials(need.Full), "initial", vials(need.Initial), "source", sources(g)))
	}
	return reasons
}

// paperFirst: a paper of a class in force that is for the animal and the site.
type paperFirst struct{ paper *permitKind }

func (f *paperFirst) act() Code    { return ObtainPaper }
func (f *paperFirst) late() Code   { return ObtainPaper }
func (f *paperFirst) doubt() Code  { return PaperUnknown }
func (f *paperFirst) topic() Topic { return TopicPapers }

// ways: a paper that was issued earlier is in force from the first minute of
// its first day.
func (f *paperFirst) ways(v *View, d *Duty, in arrived) (all []way) {
	for _, p := range v.papers.candidates(f.paper.class, d, in.site) {
		line, fits := f.paper.paperFor(v, d, p, in.site)
		if !fits {
			continue
		}
		w := way{there: day.Map(line, inForce)}
		if !p.Issued.IsZero() && p.Issued < p.Start() {
			w.settled = p.Start()
		}
		all = append(all, w)
	}
	return all
}

func (f *paperFirst) why(v *View, d *Duty, in arrived) []Reason {
	there := *d
	there.Sites = day.Constant(in.site)
	return f.paper.whyPapers(v, &there, in.on)
}

// activityFirst: something was done and passed, and is still good.
type activityFirst struct {
	recurringKind
	enclosure bool // at the enclosure that the animal comes to, not at the site
}

func readActivityFirst(m *strict.Map) *activityFirst {
	f := &activityFirst{recurringKind: recurringKind{what: readWord(m, "what")},
		enclosure: m.OptEnum("of", "site", "site", "enclosure") == "enclosure"}
	m.OptText("good_for", &f.every)
	f.runsOut = m.OptBool("certificate", false)
	return f
}

func (f *activityFirst) act() Code    { return HoldActivity }
func (f *activityFirst) late() Code   { return HoldActivity }
func (f *activityFirst) doubt() Code  { return ResultUnknown }
func (f *activityFirst) topic() Topic { return TopicActivities }

// about gives what the activity must have been done at; zero where the
// enclosure is not recorded.
func (f *activityFirst) about(d *Duty, in arrived) inventory.Ref {
	if !f.enclosure {
		return siteRef(in.site)
	}
	for _, s := range slices.Backward(d.animal.Stays) {
		if s.From <= in.on {
			return inventory.Ref{Kind: inventory.KindEnclosure, ID: s.Enclosure}
		}
	}
	return inventory.Ref{}
}

func (f *activityFirst) ways(v *View, d *Duty, in arrived) []way {
	about := f.about(d, in)
	if about.IsZero() {
		return []way{{there: day.Constant(inventory.Unknown)}}
	}
	line := f.walk(v, d, v.activities[activityKey{f.what, about}])
	return []way{{there: day.Map(line, func(verdict *Verdict) inventory.Tri {
		switch verdict.Standing {
		case InOrder:
			return inventory.Yes
		case CannotTell:
			return inventory.Unknown
		default:
			return inventory.No
		}
	})}}
}

func (f *activityFirst) why(v *View, d *Duty, in arrived) []Reason {
	about := f.about(d, in)
	if about.IsZero() {
		return []Reason{Because("enclosure-unknown")}
	}
	at := *d
	at.Subject, at.Occurrence = about, ""
	return f.recurringKind.Why(v, &at, in.on)
}

// activities implements tellsOf.
func (k *orderKind) activities() []string {
	if f, ok := k.first.(*activityFirst); ok {
		return []string{f.what}
	}
	return []string{""}
}
