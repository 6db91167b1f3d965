package intake

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// noEnclosure is the code of the enclosure of animals of which only the site
// is known.
const noEnclosure = "not recorded"

// animal takes a row of animals in.
func (p *planner) animal(e *Entry) {
	e.Name = e.key
	a := inventory.Animal{ID: inventory.NewID(), Accession: e.key}
	was, recorded := p.accessions[e.key]
	if recorded {
		a = *was
	}
	site := p.site(e)
	today := p.today(site)
	set(e, "species", &a.Species, p.find(e, "species", p.species, e.text("species")), p.nameOf(p.species))
	set(e, "received as", &a.ReceivedAs, e.text("received as"), plain)
	set(e, "arrived", &a.Arrived, e.day(p, "arrived", today), day.Day.String)
	set(e, "from", &a.From, e.text("from"), plain)
	set(e, "born", &a.Born, e.day(p, "born", today), day.Day.String)
	set(e, "captive bred", &a.Origin.Bred, e.tri("captive bred", bredWords, wildWords), inventory.Tri.String)
	set(e, "country", &a.Origin.Country, e.text("country"), plain)
	set(e, "owner", &a.Owner, e.text("owner"), plain)
	p.leave(e, &a, today)
	p.stay(e, &a, site, today)
	settle(e, a, recorded)
	if e.bad() {
		p.refused[e.key] = true
		return
	}
	p.accessions[e.key], p.called[a.ID] = &a, a.Accession
}

// site gives the site of a row, that of the settings where the row names none.
func (p *planner) site(e *Entry) inventory.ID {
	if name := e.text("site"); name != "" {
		return p.find(e, "site", p.sites, name)
	}
	return p.home
}

func (e *Entry) tri(field string, yes, no []string) inventory.Tri {
	text := e.raw(field)
	if text == "" {
		return inventory.Unknown
	}
	t, wrong := parseTri(text, yes, no)
	if wrong != "" {
		e.refuse(field, "%s", wrong)
	}
	return t
}

// leave records that the animal left.
func (p *planner) leave(e *Entry, a *inventory.Animal, today day.Day) {
	on, how := e.day(p, "left", today), e.text("how left")
	var left inventory.Disposition
	if a.Left != nil {
		left = *a.Left
	}
	if how != "" {
		parsed, wrong := parseDeparture(how)
		if wrong != "" {
			e.refuse("how left", "%s", wrong)
			return
		}
		set(e, "how left", &left.How, parsed, plain)
	}
	set(e, "left", &left.On, on, day.Day.String)
	if to := e.text("gone to"); to != "" {
		set(e, "gone to", &left.To, to, plain)
	}
	switch {
	case left == (inventory.Disposition{}):
	case left.On.IsZero():
		e.refuse("left", "is not given, although the row says that the animal left; the first day on which it was no longer held is required")
	case left.How == "":
		e.refuse("how left", "is not given, although the row says that the animal left; allowed: death, transfer, loan, escape, release")
	default:
		a.Left = &left
	}
}

// stay records in which enclosure the animal is. Where only the site is known,
// an enclosure stands in that says so.
func (p *planner) stay(e *Entry, a *inventory.Animal, site inventory.ID, today day.Day) {
	code, room := e.text("enclosure"), e.text("room")
	since := e.day(p, "since", today)
	var last inventory.Stay
	if n := len(a.Stays); n > 0 {
		last = a.Stays[n-1]
	}
	if site == (inventory.ID{}) && !e.bad() { // where it is recorded to be
		site = p.at[last.Enclosure]
	}
	if site == (inventory.ID{}) {
		if !e.bad() {
			e.refuse("site", "is not given; a recorded site is required, in this column or by --site")
		}
		return
	}
	if code == "" {
		if a.Left != nil || p.at[last.Enclosure] == site {
			return
		}
		code = noEnclosure
		e.unplaced = true
	}
	enclosure := p.enclosure(e, site, code, room)
	if enclosure == last.Enclosure {
		return
	}
	from := since
	if from.IsZero() && last.From.IsZero() {
		from = a.Arrived
	}
	if from.IsZero() && a.Left != nil {
		e.refuse("arrived", "is unknown of an animal that left; give it, or leave the enclosure blank")
		return
	}
	if from.IsZero() {
		from = today
	}
	if from < last.From {
		e.refuse("since", "%s is before the animal came to the enclosure in which it is recorded, on %s; a later day is required", from, last.From)
		return
	}
	if !e.bad() {
		e.Diffs = append(e.Diffs, Difference{"enclosure", p.where(last.Enclosure), p.where(enclosure) + " since " + from.String()})
	}
	a.Stays = append(a.Stays[:len(a.Stays):len(a.Stays)], inventory.Stay{Enclosure: enclosure, From: from})
}

// enclosure finds an enclosure by its code, or makes it. Another room than the
// recorded one is refused: an animal's row does not move a door.
func (p *planner) enclosure(e *Entry, site inventory.ID, code, room string) inventory.ID {
	key := inventory.NaturalKey{Within: site, Name: code}
	rec, ok := p.enclosures[key]
	if !ok {
		rec = inventory.Enclosure{ID: inventory.NewID(), Site: site, Code: code, Room: room}
		p.enclosures[key] = rec
		p.at[rec.Ref().ID], p.doors[rec.Ref().ID] = site, code
	}
	if known := rec.(inventory.Enclosure).Room; room != "" && known != room {
		e.refuse("room", "%q is not where enclosure %s stands: that is %q; correct one of the two", room, code, known)
	}
	if p.was.Lookup(rec.Ref()) == nil {
		e.needs = append(e.needs, rec)
	}
	return rec.Ref().ID
}

// where says what people call an enclosure.
func (p *planner) where(enclosure inventory.ID) string {
	if enclosure == (inventory.ID{}) {
		return ""
	}
	return p.doors[enclosure] + " at " + p.siteName(p.at[enclosure])
}

func (p *planner) siteName(site inventory.ID) string {
	if s, ok := p.was.Sites.Get(site); ok {
		return s.Title
	}
	return p.Site // the only one that an import makes
}

// nameOf shows a record by the first of its names.
func (p *planner) nameOf(n *names) func(inventory.ID) string {
	return func(id inventory.ID) string {
		for _, name := range n.all {
			if n.ids[name] == id {
				return name
			}
		}
		for name, rec := range n.made {
			if rec.Ref().ID == id {
				return name
			}
		}
		return id.String()
	}
}
