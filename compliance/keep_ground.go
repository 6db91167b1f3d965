package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// lastDay is until when one ground keeps a record; Never where its day has not
// come yet.
type lastDay struct {
	ground ground
	from   day.End // the day that the ground is after
	until  day.End
	of     string // the paper; empty where the ground says what it is
}

// lastDays gives what each ground says; a ground of which there is nothing
// says nothing.
func (k *keepKind) lastDays(v *View, d *Duty) (all []lastDay) {
	for _, g := range k.grounds {
		add := func(from day.End, of string) {
			until := from
			if on, known := from.Known(); known {
				until = day.Until(g.span.AddTo(on))
			}
			all = append(all, lastDay{g, from, until, of})
		}
		switch g.after {
		case "activity":
			for _, a := range v.activities[activityKey{g.activity, d.Subject}] {
				add(day.Until(a.On), "")
			}
		case "departure":
			add(departed(d.animal), "")
		case "paper":
			for _, p := range g.papers(v, d) {
				add(p.until, p.number)
			}
		case "emptied":
			if l, ok := v.Lots.Get(d.Subject.ID); ok {
				add(emptied(l), "")
			}
		case "expiry":
			add(expiryOf(v, d), "")
		}
	}
	return all
}

func departed(a *stay) day.End {
	if a.Left == nil {
		return day.Forever()
	}
	return day.Until(a.Left.On)
}

// emptied gives the day on which the last vial went; never where some are
// left.
func emptied(l *inventory.Lot) day.End {
	left := 0
	for _, m := range l.Movements {
		left += m.Vials
	}
	switch n := len(l.Movements); {
	case n == 0:
		return day.End{}
	case left > 0:
		return day.Forever()
	default:
		return day.Until(l.Movements[n-1].On)
	}
}

// expiryOf gives the last day of a paper, or of a lot with whatever a
// regulator added.
func expiryOf(v *View, d *Duty) day.End {
	if d.paper != nil {
		return d.paper.Expires
	}
	l, ok := v.Lots.Get(d.Subject.ID)
	if !ok {
		return day.End{}
	}
	end := l.Labelled
	for _, e := range l.Extensions {
		if last, known := end.Known(); known && e.Until > last {
			end = day.Until(e.Until)
		}
	}
	return end
}

type keptPaper struct {
	number string
	until  day.End
}

// papers gives the papers of the ground's class that were for the animal
// anywhere. Of one that may have been, the day is not known.
func (g ground) papers(v *View, d *Duty) (all []keptPaper) {
	seen := make(map[inventory.ID]inventory.Tri)
	var order []*Permit
	ask := func(site inventory.ID) {
		for _, p := range v.papers.candidates(g.class, d, site) {
			fits, _ := g.paper.fits(v, d, p, site)
			was, known := seen[p.ID]
			if !known {
				was, order = inventory.No, append(order, p)
			}
			seen[p.ID] = was.Or(fits)
		}
	}
	ask(d.Sites.First())
	for _, site := range d.Sites.Changes() {
		ask(site)
	}
	for _, p := range order {
		switch seen[p.ID] {
		case inventory.Yes:
			all = append(all, keptPaper{p.Number, p.Expires})
		case inventory.Unknown:
			all = append(all, keptPaper{p.Number, day.End{}})
		}
	}
	return all
}
