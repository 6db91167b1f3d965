package opabench

import (
	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// permits gives papers, and finds them by class and site, animal or holder.
func (f *facts) permits() {
	for p := range f.Permits.All() {
		byPerson := p.Holder.Kind == inventory.KindPerson
		if !p.AnyPlace && len(p.Sites) == 0 || byPerson && len(p.Grants) > 0 {
			f.refuse("paper %s, which names no place, or lists animals for one person", p.Number)
			continue
		}
		id := p.ID.String()
		f.set(f.permit(p), "permits", id)
		if p.Renews != (inventory.ID{}) {
			f.add(id, "successors", p.Renews.String())
		}
		if byPerson || p.Holder.IsZero() {
			f.add(id, "papers_held", holder(p, "unknown"), p.Class)
		}
		for _, a := range p.Animals {
			f.add(id, "papers_named", a.String(), p.Class)
		}
		switch {
		case len(p.Animals) > 0:
		case p.AnyPlace:
			f.add(id, "papers_anywhere", p.Class)
		default:
			for _, site := range p.Sites {
				f.add(id, "papers_at", p.Class, site.String())
			}
		}
	}
}

// holder names whose paper it is: organisation, or the person's identifier.
func holder(p *compliance.Permit, unknown string) string {
	switch p.Holder.Kind {
	case inventory.KindNone:
		return unknown
	case inventory.KindPerson:
		return p.Holder.ID.String()
	default:
		return p.Holder.Kind.String()
	}
}

func (f *facts) permit(p *compliance.Permit) object {
	o := object{"anywhere": p.AnyPlace, "sites": ids(p.Sites), "animals": ids(p.Animals), "renewable": p.Renewable.String()}
	text(o, "holder", holder(p, ""))
	known(o, "start", p.Start())
	known(o, "revoked", p.Revoked)
	known(o, "surrendered", p.Surrendered)
	switch last, is := p.Expires.Known(); {
	case is:
		o["last"] = int(last)
	case p.Expires.Kind == day.Never:
		o["never"] = true
	}
	o["grants"] = f.grants(p)
	suspensions := list{}
	for _, s := range p.Suspensions {
		one := object{"from": int(s.From)}
		known(one, "lifted", s.Lifted)
		suspensions = append(suspensions, one)
	}
	applications := list{}
	for _, a := range p.Applications {
		one := object{"outcome": string(a.Outcome)}
		known(one, "posted", a.Posted)
		known(one, "received", a.Received)
		known(one, "deficient", a.Deficient)
		known(one, "decided", a.Decided)
		applications = append(applications, one)
	}
	o["suspensions"], o["applications"] = suspensions, applications
	return o
}

func (f *facts) grants(p *compliance.Permit) list {
	out := list{}
	for _, g := range p.Grants {
		if len(g.Except) > 0 {
			f.refuse("paper %s, which excepts species", p.Number)
		}
		out = append(out, object{"rank": string(g.Rank), "taxon": g.Taxon, "max": g.Max})
	}
	return out
}
