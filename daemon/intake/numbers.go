package intake

import "strings"

// alike refuses a number that differs from a recorded one, or one above it, by
// case or blanks alone: it would be a second animal, paper or lot, where most
// likely the same is meant.
func (p *planner) alike(e *Entry, field string) {
	if meaning, accepted := p.mapping.meaning(e.key); accepted {
		e.key = meaning
	}
	if e.key == "" || p.mapping.endorsed(e.key) {
		return
	}
	key := spelling(field, e.key)
	other, known := p.spelt[key]
	if !known {
		p.spelt[key] = e.key
		return
	}
	if other != e.key {
		e.refuse(field, `%q is nearly %q, which is known already; write it so, or accept it as another with --accept "%s=%s"`, e.key, other, e.key, e.key)
	}
}

func spelling(field, number string) string {
	return field + " " + strings.ToLower(strings.ReplaceAll(number, " ", ""))
}

// spellings notes how numbers are recorded.
func (p *planner) spellings() {
	p.spelt = make(map[string]string)
	for a := range p.was.Animals.All() {
		p.spelt[spelling("accession", a.Accession)] = a.Accession
	}
	for x := range p.was.Permits.All() {
		p.spelt[spelling("number", x.Number)] = x.Number
	}
	for l := range p.was.Lots.All() {
		p.spelt[spelling("lot", l.Number)] = l.Number
	}
}

// absent says how many records no row is about. An import takes nothing away.
func (p *planner) absent(say func(n int, format string, args ...any)) {
	seen := make(map[*List]map[string]bool)
	for _, e := range p.plan.Entries {
		if seen[e.Table.List] == nil {
			seen[e.Table.List] = make(map[string]bool)
		}
		seen[e.Table.List][e.Name] = true
	}
	count := func(list *List, what string, names []string) {
		n := 0
		for _, name := range names {
			if !seen[list][name] {
				n++
			}
		}
		if seen[list] != nil {
			say(n, "%d recorded %s are in no row: they stay as they are recorded.", n, what)
		}
	}
	var animals, papers, lots []string
	for a := range p.was.Animals.All() {
		animals = append(animals, a.Accession)
	}
	for x := range p.was.Permits.All() {
		papers = append(papers, x.Number)
	}
	for l := range p.was.Lots.All() {
		lots = append(lots, l.Number)
	}
	count(Lists[0], "animals", animals)
	count(Lists[1], "papers", papers)
	count(Lists[2], "lots", lots)
	if seen[sessionList] != nil {
		say(p.was.Sessions.Len()-len(p.met), "%d recorded sessions are in no row: they stay as they are recorded.", p.was.Sessions.Len()-len(p.met))
	}
}
