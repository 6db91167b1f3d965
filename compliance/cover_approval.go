package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// allowed gives the days on which the house may use a product at a site: always
// where its record says that it needs no paper; where it names a class of paper,
// while one of that class is in force for the site. Where nothing is recorded,
// nobody knows. What no paper shows rests on the list of papers, as for any
// rule: a list that is stale or that nobody keeps proves nothing.
func (v *View) allowed(product, site inventory.ID) day.Line[inventory.Tri] {
	key := productSite{product, site}
	line, known := v.approvals[key]
	if !known {
		line = v.approvalOf(product, site)
		v.approvals[key] = line
	}
	return line
}

func (v *View) approvalOf(product, site inventory.ID) day.Line[inventory.Tri] {
	p, ok := v.Products.Get(product)
	switch {
	case !ok || p.Approval == "":
		return day.Constant(inventory.Unknown)
	case p.Approval == inventory.NoPaperNeeded:
		return day.Constant(inventory.Yes)
	}
	k := &permitKind{class: p.Approval, place: true, pending: notEnough}
	d := &Duty{Rule: &Rule{Owner: Administrator}, Subject: siteRef(site), Sites: day.Constant(site)}
	papers := day.Constant(inventory.No)
	for _, paper := range v.papers.candidates(k.class, d, site) {
		line, fits := k.paperFor(v, d, paper, site)
		if !fits {
			continue
		}
		papers = day.Combine(papers, line, func(is inventory.Tri, verdict *Verdict) inventory.Tri {
			switch verdict.Standing {
			case InOrder:
				return inventory.Yes
			case CannotTell:
				return is.Or(inventory.Unknown)
			default:
				return is
			}
		})
	}
	list := v.freshness(TopicPapers, site)
	return day.Combine(papers, list.line, func(is inventory.Tri, f Freshness) inventory.Tri {
		switch {
		case f == Fresh || f == Stale && is == inventory.No:
			return is
		case f == Outside && list.feed != nil && is == inventory.Yes:
			return is
		default:
			return inventory.Unknown
		}
	})
}

// allowedAt is allowed at all of several sites.
func (v *View) allowedAt(product inventory.ID, sites []inventory.ID) day.Line[inventory.Tri] {
	all := day.Constant(inventory.Yes)
	for _, site := range sites {
		all = day.Combine(all, v.allowed(product, site), inventory.Tri.And)
	}
	return all
}

// ifAllowed keeps of some vials those that may be used: none where they may not
// be, and none for sure where nobody knows.
func ifAllowed(vials day.Line[inventory.Quantity], allowed day.Line[inventory.Tri]) day.Line[inventory.Quantity] {
	return day.Combine(vials, allowed, func(q inventory.Quantity, is inventory.Tri) inventory.Quantity {
		switch is {
		case inventory.Yes:
			return q
		case inventory.Unknown:
			return inventory.Quantity{Maybe: q.Maybe}
		default:
			return inventory.Quantity{}
		}
	})
}

// countIfAllowed keeps vials that do not count yet where they surely may be used.
func countIfAllowed(vials day.Line[int], allowed day.Line[inventory.Tri]) day.Line[int] {
	return day.Combine(vials, allowed, func(n int, is inventory.Tri) int {
		if is != inventory.Yes {
			return 0
		}
		return n
	})
}

// forWantOfApproval says of a product that it is short, or not told, for want of
// an approval: where without the question it would stand better.
func (k *coverKind) forWantOfApproval(v *View, d *Duty, product inventory.ID, with, without Line) Line {
	about := productRef(product)
	missing := v.in.Of(Verdict{Standing: OutOfOrder, State: NotApproved, Cause: about, Step: Step{Do: ObtainApproval, Instance: about, Owner: d.Rule.Owner}})
	unknown := v.in.Of(Verdict{Standing: CannotTell, State: ApprovalUnknown, Cause: about, Step: Step{Do: CompleteRecord, Instance: about, Owner: d.Rule.Owner}})
	return day.Combine(with, without, func(verdict, better *Verdict) *Verdict {
		switch {
		case verdict.State == better.State || verdict.State == PartnerUnknown:
			return verdict
		case verdict.Standing > better.Standing && verdict.Standing == OutOfOrder:
			return missing
		case verdict.Standing == CannotTell:
			return unknown
		default:
			return verdict
		}
	})
}

// whyApproval tells what a product needs at a site, and whether it is there.
func (v *View) whyApproval(product *inventory.Product, site inventory.ID, on day.Day) []Reason {
	switch is := v.allowed(product.ID, site).At(on); {
	case product.Approval == "":
		return []Reason{Because("approval-missing", "product", product.Type)}
	case product.Approval == inventory.NoPaperNeeded:
		return nil
	default:
		return []Reason{Because("approval-paper", "product", product.Type, "class", product.Approval, "stands",
			map[inventory.Tri]string{inventory.Yes: "yes", inventory.No: "no", inventory.Unknown: "cannot be told"}[is])}
	}
}
