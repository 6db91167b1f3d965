package compliance

import (
	"iter"
	"slices"
	"strings"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// pending says what an application in time is worth after the old paper's
// last day.
type pending string

const (
	continues pending = "continues"   // covered until the decision, by the rule cited
	notEnough pending = "not-covered" // no rule says that it continues
	voided    pending = "void"        // the rule says that the paper is void on expiry
)

// permitKind asks that a subject stands under a paper of a class: in force,
// in the right hands, for the place, the taxon and the number.
//
// One paper must be enough alone; papers are alternatives, so the best one
// counts on each day. For one paper the facts apply in this order: revoked or
// surrendered, suspended, not yet begun, ended with an event, in force to its
// last day, then what an application is worth; then the other papers that it
// needs, and at last whether it is for the subject and the number.
type permitKind struct {
	class   string
	holder  bool // must be held by the house or by the animal's custodian
	place   bool // must name the site
	taxon   bool // must list the species
	number  bool // must not be exceeded
	lead    day.Span
	moves   bool // the legal day moves off a non-working day, earlier
	posting bool // posting in time counts, not receipt
	margin  int  // calendar days that the house keeps beyond post and office hours
	pending pending
	cite    string // the rule that says what pending means
	// endsWith are the events of an animal that it names with which a paper
	// ends before its last day; see paperEvents.
	endsWith []string
	// requires are other papers that it needs; see prerequisite.
	requires []prerequisite
}

func readPermitKind(m *strict.Map, r *Rule) Kind {
	k := readPermitTerms(m, r)
	k.requires = readRequires(m, k)
	return k
}

// readPermitTerms reads all but what the paper requires.
func readPermitTerms(m *strict.Map, r *Rule) *permitKind {
	wrongSubject(m, r, inventory.KindAnimal, inventory.KindSite, inventory.KindPerson, inventory.KindPermit)
	k := &permitKind{class: readWord(m, "class"), pending: notEnough}
	match := []string{"holder", "place", "taxon", "number"}
	if m.Has("match") {
		match = m.Strings("match")
	}
	for i, what := range match {
		if !slices.Contains([]string{"holder", "place", "taxon", "number"}, what) {
			m.FailItem("match", i, "%q is not allowed; allowed: holder, place, taxon, number", what)
		}
	}
	animal := r.Subject == inventory.KindAnimal
	k.holder = slices.Contains(match, "holder") || r.Subject == inventory.KindPerson
	k.place = slices.Contains(match, "place") && r.Subject != inventory.KindPerson
	k.taxon = slices.Contains(match, "taxon") && animal
	k.number = slices.Contains(match, "number") && animal
	if renewal, ok := m.OptMap("renewal"); ok {
		renewal.OptText("lead", &k.lead)
		k.moves = renewal.OptBool("moves_to_working_day", false)
		k.posting = renewal.OptEnum("counts", "receipt", "receipt", "posting") == "posting"
		k.margin = renewal.OptInt("margin_days", 0, 0, 365)
	}
	if p, ok := m.OptMap("pending"); ok {
		k.pending = pending(p.Enum("means", string(continues), string(notEnough), string(voided)))
		k.cite = p.String("citation")
	}
	k.endsWith = readEndsWith(m)
	return k
}

// Bind implements Kind. A rule about papers themselves binds those of its
// class.
func (k *permitKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	duties := v.bind(r, TopicPapers)
	if r.Subject != inventory.KindPermit {
		return duties
	}
	return func(yield func(Duty) bool) {
		for d := range duties {
			if d.paper.Class != k.class {
				continue
			}
			if d.ahead(v, d.Sites.First()) {
				v.papers.asked[d.paper] = struct{}{}
			}
			if !yield(d) {
				return
			}
		}
	}
}

// Cohort implements Cohort: animals of one species at one site, kept by one
// custodian and named on no paper, stand under the same papers.
func (k *permitKind) Cohort(v *View, d *Duty) (any, inventory.ID, bool) {
	a := d.animal
	if a == nil || len(a.named) > 0 || a.only == (inventory.ID{}) {
		return nil, inventory.ID{}, false
	}
	return struct {
		site, species inventory.ID
		custodian     inventory.Ref
		ahead         bool
	}{a.only, a.Species, a.Custodian, d.ahead(v, a.only)}, a.only, true
}

// Judge implements Kind.
func (k *permitKind) Judge(v *View, d *Duty) Line {
	if d.paper != nil {
		return k.ownState(v, d)
	}
	return day.Switch(d.Sites, func(site inventory.ID) Line {
		best := day.Constant(notApplicable)
		ahead := d.ahead(v, site)
		for _, p := range v.papers.candidates(k.class, d, site) {
			line, fits := k.paperFor(v, d, p, site)
			if fits && ahead {
				v.papers.asked[p] = struct{}{}
			}
			if best.Always(notApplicable) { // nearly always there is one paper
				best = line
				continue
			}
			best = day.Combine(best, line, better)
		}
		none := k.none(v, d, site)
		return day.Combine(best, none, func(verdict, none *Verdict) *Verdict {
			if verdict.Standing == NotApplicable {
				return none
			}
			return verdict
		})
	})
}

// none answers for days on which no paper is for the subject.
func (k *permitKind) none(v *View, d *Duty, site inventory.ID) Line {
	none := day.Constant(v.in.Of(Verdict{Standing: OutOfOrder, State: NoPaper,
		Step: Step{Do: ObtainPaper, Instance: d.Subject, Owner: d.Rule.Owner}}))
	return k.withRequires(v, d, nil, site, none)
}

// paperFor is what one paper is worth to one subject: nothing where it is
// not for it. fits is false only where that is sure.
func (k *permitKind) paperFor(v *View, d *Duty, p *Permit, site inventory.ID) (line Line, fits bool) {
	is, doubt := k.fits(v, d, p, site)
	if is == inventory.No {
		return day.Constant(notApplicable), false
	}
	line = k.withRequires(v, d, p, site, k.stateOf(v, d, p))
	if is == inventory.Unknown {
		line = day.Map(line, func(verdict *Verdict) *Verdict {
			if verdict.Standing != InOrder {
				return verdict
			}
			return v.in.Of(Verdict{Standing: CannotTell, State: doubt, Cause: p.Ref(),
				Step: Step{Do: CompleteRecord, Instance: p.Ref(), Owner: d.Rule.Owner}})
		})
	}
	if k.number {
		line = k.withinNumber(v, d, p, line)
	}
	return line, true
}

// fits says whether the paper is for the subject, and which fact is missing
// where that cannot be told.
func (k *permitKind) fits(v *View, d *Duty, p *Permit, site inventory.ID) (inventory.Tri, Code) {
	fits, doubt := inventory.Yes, Code("")
	and := func(is inventory.Tri, lacks Code) {
		if is == inventory.Unknown && doubt == "" {
			doubt = lacks
		}
		fits = fits.And(is)
	}
	if k.holder {
		and(heldBy(d, p), HolderUnknown)
	}
	if k.place {
		and(placed(p, site), PlaceUnknown)
	}
	if k.taxon && !slices.Contains(p.Animals, d.Subject.ID) {
		and(listed(d, p), TaxonUnknown)
	}
	return fits, doubt
}

func heldBy(d *Duty, p *Permit) inventory.Tri {
	switch {
	case p.Holder.IsZero():
		return inventory.Unknown
	case d.Subject.Kind == inventory.KindPerson:
		return inventory.Bool(p.Holder == d.Subject)
	case p.Holder.Kind == inventory.KindOrganisation:
		return inventory.Yes
	case d.animal == nil:
		return inventory.No
	case d.animal.Custodian.IsZero():
		return inventory.Unknown
	default:
		return inventory.Bool(d.animal.Custodian == p.Holder)
	}
}

func placed(p *Permit, site inventory.ID) inventory.Tri {
	switch {
	case p.AnyPlace:
		return inventory.Yes
	case len(p.Sites) == 0:
		return inventory.Unknown
	default:
		return inventory.Bool(slices.Contains(p.Sites, site))
	}
}

func listed(d *Duty, p *Permit) inventory.Tri {
	if d.animal == nil || d.animal.species == nil {
		return inventory.Unknown
	}
	return p.Lists(d.animal.species)
}

// Why implements Kind.
func (k *permitKind) Why(v *View, d *Duty, on day.Day) []Reason {
	if d.paper != nil {
		return k.whyPaper(v, d, d.paper, on)
	}
	return k.whyPapers(v, d, on)
}

// whyPapers tells of the papers that are for the subject, the best first; of
// the others only where none is.
func (k *permitKind) whyPapers(v *View, d *Duty, on day.Day) []Reason {
	site := d.Site(on)
	var reasons []Reason
	var others []string
	for _, p := range v.papers.candidates(k.class, d, site) {
		fits, doubt := k.fits(v, d, p, site)
		if fits == inventory.No {
			others = append(others, p.Number)
			continue
		}
		if fits == inventory.Unknown {
			reasons = append(reasons, Because("paper-doubtful", "paper", p.Number, "lacks", string(doubt)))
		}
		reasons = append(reasons, k.whyPaper(v, d, p, on)...)
	}
	switch {
	case len(reasons) > 0:
		return reasons
	case len(others) > 0:
		slices.Sort(others)
		reasons = []Reason{Because("paper-not-for-this", "papers", strings.Join(others, ", "))}
	default:
		reasons = []Reason{Because("no-paper-of-class", "class", classWords(k.class))}
	}
	return append(reasons, k.whyRequires(v, d, nil, on)...)
}

// classWords is a class of paper as people read it.
func classWords(class string) string { return strings.ReplaceAll(class, "-", " ") }
