package intake

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// paper takes a row of papers in.
func (p *planner) paper(e *Entry) {
	e.Name = e.key
	x := compliance.Permit{ID: inventory.NewID(), Number: e.key}
	was, recorded := p.permits[e.key]
	if recorded {
		x = *was
	}
	set(e, "class", &x.Class, p.class(e, x.Class), plain)
	set(e, "authority", &x.Authority, p.find(e, "authority", p.authorities, e.text("authority")), p.nameOf(p.authorities))
	set(e, "holder", &x.Holder, p.holder(e), func(r inventory.Ref) string { return p.nameOf(p.holders)(r.ID) })
	p.premises(e, &x)
	setAll(e, "animals", &x.Animals, p.single(e), func(id inventory.ID) string { return p.called[id] })
	setAll(e, "species", &x.Grants, p.grants(e), showGrant)
	today := p.today(p.home)
	set(e, "issued", &x.Issued, e.day(p, "issued", today), day.Day.String)
	set(e, "valid from", &x.From, e.day(p, "valid from", 0), day.Day.String)
	set(e, "expires", &x.Expires, e.end(p, "expires"), day.End.String)
	set(e, "renewable", &x.Renewable, e.tri("renewable", nil, nil), inventory.Tri.String)
	p.filing(e, &x, today)
	p.outOfForce(e, &x, today)
	settle(e, x, recorded)
}

// setAll makes a list of a record what a cell says.
func setAll[T any](e *Entry, field string, at *[]T, to []T, show func(T) string) {
	shown := func(all []T) string {
		var out []string
		for _, v := range all {
			out = append(out, show(v))
		}
		return strings.Join(out, "; ")
	}
	if len(to) == 0 && len(*at) > 0 {
		e.doubts(field, shown(*at))
	}
	if len(to) == 0 || shown(*at) == shown(to) {
		return
	}
	e.Diffs = append(e.Diffs, Difference{field, shown(*at), shown(to)})
	*at = to
}

func (p *planner) holder(e *Entry) inventory.Ref {
	id := p.find(e, "holder", p.holders, e.text("holder"))
	switch {
	case id == (inventory.ID{}):
		return inventory.Ref{}
	case id == p.house:
		return inventory.Ref{Kind: inventory.KindOrganisation, ID: id}
	}
	return inventory.Ref{Kind: inventory.KindPerson, ID: id}
}

// premises reads where the paper holds. The site of the settings says nothing
// of that: what a paper names is on the paper.
func (p *planner) premises(e *Entry, x *compliance.Permit) {
	items := split(e.raw("sites"))
	if len(items) == 1 && slices.Contains([]string{"any", "any place", "anywhere"}, strings.ToLower(items[0])) {
		if !x.AnyPlace {
			var old []string
			for _, id := range x.Sites {
				old = append(old, p.siteName(id))
			}
			e.Diffs = append(e.Diffs, Difference{"sites", strings.Join(old, "; "), "any"})
		}
		x.AnyPlace, x.Sites = true, nil
		return
	}
	var sites []inventory.ID
	for _, name := range items {
		sites = append(sites, p.find(e, "sites", p.sites, name))
	}
	setAll(e, "sites", &x.Sites, sites, p.siteName)
	if len(sites) > 0 {
		x.AnyPlace = false
	}
}

// single reads the animals that the paper names one by one. One whose own row
// was refused takes the paper with it.
func (p *planner) single(e *Entry) (animals []inventory.ID) {
	for _, accession := range split(e.raw("animals")) {
		a, ok := p.accessions[accession]
		switch {
		case p.refused[accession]:
			e.refuse("animals", "the row of animal %q was refused, so this one is too; correct that one first", accession)
		case !ok:
			e.refuse("animals", "%q is not a recorded animal; an accession number is required, of the records or of the list of animals", accession)
		default:
			animals = append(animals, a.ID)
		}
	}
	return animals
}

// grants reads what kinds of animal the paper lists.
func (p *planner) grants(e *Entry) (all []compliance.Grant) {
	for _, item := range split(e.raw("species")) {
		g, wrong := parseGrant(item)
		if wrong != "" {
			e.refuse("species", "%s", wrong)
			continue
		}
		if g.Rank == compliance.RankSpecies {
			g.Taxon = p.granted(e, g.Taxon)
		}
		for i, name := range g.Except {
			g.Except[i] = p.granted(e, name)
		}
		all = append(all, g)
	}
	return all
}

// granted gives the name of a species on a paper. It need not be recorded, for
// a paper may list what the house does not keep; but one that is near a
// recorded name would list nothing, and nobody would see why.
func (p *planner) granted(e *Entry, written string) string {
	name := written
	if meaning, accepted := p.mapping.meaning(written); accepted {
		name = meaning
	}
	_, recorded := p.species.ids[name]
	_, made := p.species.made[name]
	if recorded || made {
		return name
	}
	wrong, judged := p.unlisted[name]
	if !judged {
		wrong = p.mistyped(name)
		p.unlisted[name] = wrong
	}
	if wrong != "" {
		e.refuse("species", "%s", wrong)
	}
	return name
}

func (p *planner) mistyped(name string) string {
	known := slices.Concat(p.species.all, slices.Collect(maps.Keys(p.species.made)))
	if close := near(name, known); len(close) > 0 && !p.mapping.endorsed(name) {
		return fmt.Sprintf(`%q is not a recorded species; did you mean %s? Correct the cell, or accept it with --accept "%s=%s", or as it stands with --accept "%s=%s"`,
			name, strings.Join(quoted(close), " or "), name, close[0], name, name)
	}
	if err := (inventory.Species{Accepted: name}).Check(); err != nil {
		return fmt.Sprintf("%q is no full scientific name; genus and species are required, or genus NAME, family NAME, any", name)
	}
	return ""
}

// end gives the last valid day, or that there is none.
func (e *Entry) end(p *planner, field string) day.End {
	text := e.raw(field)
	switch strings.ToLower(tidy(text)) {
	case "":
		return day.End{}
	case "never":
		return day.Forever()
	}
	d, wrong := parseDay(text, p.mapping.Dates)
	if wrong != "" {
		e.refuse(field, "%s; or never", wrong)
	}
	return day.Until(d)
}
