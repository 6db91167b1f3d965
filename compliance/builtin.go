package compliance

import (
	"iter"
	"slices"

	"antidotary/compliance/scope"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// builtins are the duties of the watch to itself. They need no pack, because
// without them a missing pack would read as fine.
var builtins = slices.Concat(packRules, []*Rule{
	{
		ID: "watch.law-pack", Requirement: "law-pack", Layer: Law, Subject: inventory.KindSite, Kind: lawPackKind{},
		Title: "Every site stands under a law that the watch knows", Severity: Serious, Owner: Administrator, Window: 90, Scope: &scope.Scope{},
		Consequence: "Whether the animals there are held lawfully cannot be told; ask the authority.",
		Citation:    ownDesign,
	},
	{
		ID: "watch.located", Requirement: "located", Layer: House, Subject: inventory.KindAnimal, Kind: locatedKind{},
		Title: "Every animal held is in an enclosure that is recorded", Severity: Serious, Owner: LeadKeeper, Window: 90, Scope: &scope.Scope{},
		Consequence: "Neither its papers nor its antivenom can be told; check that the animal is where it should be.",
		Citation:    ownDesign,
	},
	{
		ID: "watch.paper", Requirement: "paper.kept", Layer: Guidance, Subject: inventory.KindPermit, Title: "A paper that ends is watched even where no rule asks for it",
		Kind:     paperKind{&permitKind{pending: notEnough, lead: day.Span{Days: 60}}},
		Severity: Notice, Owner: Administrator, Window: 60, Scope: &scope.Scope{},
		Consequence: "What the paper allows ends with it.",
		Citation:    Citation{Text: "common practice, no source: file 60 days ahead", Certainty: inventory.Memory},
	},
})

var ownDesign = Citation{Text: "the watch's own rule: unknown never reads as fine", Certainty: inventory.Read}

// lawPackKind: a site without a law pack cannot be told to be lawful.
type lawPackKind struct{}

func (lawPackKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, "") }

func (lawPackKind) Judge(v *View, d *Duty) Line {
	return day.Map(v.laws[d.Subject.ID], func(path string) *Verdict {
		if v.Book.HasLaw(path) {
			return v.in.Of(Verdict{Standing: InOrder, State: HasLawPack})
		}
		return v.in.Of(Verdict{Standing: CannotTell, State: NoLawPack, Cause: d.Subject,
			Step: Step{Do: AddLawPack, Instance: d.Subject, Owner: d.Rule.Owner}})
	})
}

func (lawPackKind) Why(v *View, d *Duty, on day.Day) []Reason {
	path := v.laws[d.Subject.ID].At(on)
	if path == "" {
		return []Reason{Because("jurisdiction-unknown")}
	}
	return []Reason{Because("jurisdiction-is", "jurisdiction", path)}
}

// locatedKind: an animal held in no recorded enclosure.
type locatedKind struct{}

func (locatedKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	return func(yield func(Duty) bool) {
		for a := range v.wantedStays() {
			if !nowhereEver(a.sites) {
				continue
			}
			one := *v
			one.only = a.Ref()
			for d := range one.bind(r, "") {
				if !yield(d) {
					return
				}
			}
		}
	}
}

func nowhereEver(sites day.Line[inventory.ID]) bool {
	_, _, ever := sites.Next(day.First-1, func(site inventory.ID) bool { return site == inventory.Nowhere })
	return ever || sites.First() == inventory.Nowhere
}

func (locatedKind) Judge(v *View, d *Duty) Line {
	return day.Map(d.Sites, func(site inventory.ID) *Verdict {
		if site != inventory.Nowhere {
			return v.in.Of(Verdict{Standing: InOrder, State: Done})
		}
		return v.in.Of(Verdict{Standing: CannotTell, State: SiteUnknown,
			Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}})
	})
}

func (locatedKind) Why(v *View, d *Duty, on day.Day) []Reason {
	return []Reason{Because("enclosure-unknown")}
}

// paperKind watches a paper for its own sake. A paper that some rule asks
// for is left to that rule.
type paperKind struct{ *permitKind }

func (k paperKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	return func(yield func(Duty) bool) {
		for p := range wanted(v, v.Permits) {
			_, ends := p.Expires.Known()
			_, asked := v.papers.asked[p]
			if asked || !ends {
				continue
			}
			d := Duty{Rule: r, Subject: p.Ref(), paper: p, Applies: day.Constant(inventory.Yes), Sites: v.placesOf(p), Topic: TopicPapers}
			if !yield(d) {
				return
			}
		}
	}
}

func (k paperKind) Judge(v *View, d *Duty) Line {
	return k.ownState(v, d)
}

func (k paperKind) Why(v *View, d *Duty, on day.Day) []Reason {
	return k.whyPaper(v, d, d.paper, on)
}

// Cohort hides the embedded kind's: each paper is judged alone.
func (k paperKind) Cohort(*View, *Duty) (any, inventory.ID, bool) { return nil, inventory.ID{}, false }
