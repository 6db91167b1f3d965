package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// whyRequires tells of the other papers that a paper needs, each with its own
// days; p is nil for a paper that is still to be obtained.
func (k *permitKind) whyRequires(v *View, d *Duty, p *paper, on day.Day) (reasons []Reason) {
	if len(k.requires) == 0 {
		return nil
	}
	site := d.Site(on)
	var permit *Permit
	file := on // the day on which an application is looked at
	if p != nil {
		permit = p.Permit
		file = max(on, p.safe.On)
	}
	for _, n := range k.needs(v, d, permit, site) {
		class := classWords(n.paper.class)
		at := on
		switch {
		case n.throughout:
			reasons = append(reasons, Because("requires-throughout", "class", class, "citation", n.cite))
		case n.lead.IsZero():
			at = file
			reasons = append(reasons, Because("requires-filing", "class", class, "safe", file.String(), "lacks", string(stateThere(n.there.At(file)))))
		default:
			at = file
			reasons = append(reasons, Because("requires-lead", "class", class, "lead", n.lead.String(), "safe", file.String(),
				"day", n.lead.SubtractFrom(file).String(), "lacks", string(stateThere(n.there.At(file)))))
		}
		reasons = append(reasons, n.whyPapers(v, d, permit, site, at)...)
	}
	return reasons
}

// stateThere is the state of a prerequisite on a day.
func stateThere(verdict *Verdict) Code {
	if verdict.Standing == NotApplicable {
		return NoPaper
	}
	return verdict.State
}

// whyPapers tells the days of the paper that counts as the prerequisite on a
// day, or of the newest one where none does.
func (n *need) whyPapers(v *View, d *Duty, p *Permit, site inventory.ID, on day.Day) []Reason {
	var found *Permit
	for _, q := range n.candidates(v, d, p, site) {
		if n.isFor(d, p, q, site) == inventory.No {
			continue
		}
		if found == nil || n.there.At(on).Cause == q.Ref() {
			found = q
		}
	}
	if found == nil {
		return []Reason{Because("requires-none", "class", classWords(n.paper.class))}
	}
	return []Reason{Because("paper-days", "paper", found.Number, "start", orUnknown(found.Start()), "end", found.Expires.String())}
}
