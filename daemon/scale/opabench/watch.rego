# What the sixty rules share, in Rego: the one-day meaning of the kinds of rule
# that are compared. The rules themselves are written below it (rego.go).
#
# Standings: 0 not applicable, 1 in order, 2 cannot tell, 3 out of order.
# Truths: 0 no, 1 unknown, 2 yes. What is not known is left out of the data.
# Days are numbers. A function is worked out once for equal arguments.
package watch

today := input.today

# Where an animal that is held today is.
held(id) := {"site": site, "species": a.species, "own": a.own} if {
	a := data.animals[id]
	a.arrived <= today
	not left(a)
	stays := [s.site | some s in a.stays; s.from <= today]
	site := stays[count(stays) - 1]
}

# What has happened; where it is not known to, "not" needs a name for it,
# because a comparison with what is undefined is neither true nor false.
left(a) if a.left <= today

leaves(p) if p.leaves <= today

over_with(o) if o.last < today

run_out(k, a) if good_until(k, a) < today

received_first(a) if a.received <= a.posted

within(_, "")

within(path, area) if path == area

within(path, area) if startswith(path, concat("", [area, "/"]))

sites_in(area) := {id: s | some id, s in data.sites; within(s.path, area)}

each_site_in(area) := {id: each_site(id) | some id, _ in sites_in(area)}

each_site(id) := {"site": id} if data.sites[id]

all_held := {id: h | some id, _ in data.animals; h := held(id)}

held_in("") := all_held

held_in(area) := {id: h | some id, h in all_held; sites_in(area)[h.site]} if area != ""

here(id) := p if {
	p := data.people[id]
	works(p)
}

works(p) if {
	p.joined <= today
	not leaves(p)
}

people_in(area) := {id: p | some id, _ in data.people; p := here(id); sites_in(area)[p.site]}

roles(p) := {o.role | some o in p.offices; o.from <= today; not over_with(o)}

places_in(area) := {id: p | some id, p in data.places; sites_in(area)[p.site]}

holdings_in(area) := {id: h |
	some site, _ in sites_in(area)
	some species, n in held_at(site)
	n > 0
	id := concat("@", [species, site])
	h := {"site": site, "species": species}
}

held_holding(id) := {"site": site, "species": species} if {
	[species, site] := split(id, "@")
	held_at(site)[species] > 0
}

held_at(site) := {species: n |
	some species, ids in data.animals_at[site]
	n := count([id | some id in ids; held(id).site == site])
}

native(site, species) if {
	s := data.species[species]
	s.range_known
	some area in s.native_to
	within(data.sites[site].path, area)
} else := false if {
	s := data.species[species]
	s.range_known
	not native_to_part(site, s)
}

native_to_part(site, s) if {
	some area in s.native_to
	within(area, data.sites[site].path)
}

# The answer of a kind where it cannot be told whether the rule applies.
settle(s, 2) := s

settle(s, 1) := s if s < 2

settle(s, 1) := 2 if s >= 2

# What a list proves.
list_of(topic, site) := data.feeds[topic][site]

list_of(topic, site) := data.feeds[topic].everywhere if not data.feeds[topic][site]

list(topic, site) := "none" if {
	not list_of(topic, site)
} else := "outside" if {
	today < list_of(topic, site).complete
} else := "fresh" if {
	f := list_of(topic, site)
	f.until >= f.complete
	today <= f.until
} else := "stale"

listed(topic, site, s) := through(list(topic, site), s)

through(_, 0) := 0

through("fresh", s) := s if s > 0

through("none", s) := 2 if s > 0

through("outside", 3) := 2

through("outside", s) := s if s in {1, 2}

through("stale", 1) := 2

through("stale", s) := s if s > 1

# Papers are alternatives: the best one counts, and none is out of order.
best(found) := min(found) if count(found) > 0

best(found) := 3 if count(found) == 0

paper(k, id, h) := best(shared_papers(k, h.site, h.species) | named_papers(k, id, h))

shared_papers(k, site, species) := {s |
	some p in at(k.class, site)
	s := worth(k, p, "", site, species)
	s > 0
}

at(class, site) := object.get(data.papers_at, [class, site], []) if not data.papers_anywhere[class]

at(class, site) := array.concat(object.get(data.papers_at, [class, site], []), data.papers_anywhere[class])

named_papers(k, id, h) := {s |
	some p in data.papers_named[id][k.class]
	s := worth(k, p, id, h.site, h.species)
	s > 0
}

site_paper(k, site) := best(shared_papers(k, site, ""))

person_paper(k, id) := best({s |
	some holder in [id, "unknown"]
	some p in data.papers_held[holder][k.class]
	s := doubted(state(k, p), person_holds(p))
	s > 0
})

person_holds(p) := 2 if data.permits[p].holder

person_holds(p) := 1 if not data.permits[p].holder

worth(k, p, id, site, species) := s if {
	fits := min({holds(k, p, species), placed(k, p, site), listing(k, p, id, species)})
	fits > 0
	s := numbered(k, p, species, doubted(state(k, p), fits))
}

doubted(s, 2) := s

doubted(1, 1) := 2

doubted(s, 1) := s if s != 1

holds(k, p, species) := 2 if {
	not k.holder
} else := 1 if {
	not data.permits[p].holder
} else := 2 if {
	data.permits[p].holder == "organisation"
} else := 0 if {
	species == ""
} else := 1

placed(k, p, site) := 2 if {
	not k.place
} else := 2 if {
	data.permits[p].anywhere
} else := 2 if {
	site in data.permits[p].sites
} else := 0

listing(k, p, id, species) := 2 if {
	not k.taxon
} else := 2 if {
	id in data.permits[p].animals
} else := 1 if {
	count(data.permits[p].grants) == 0
} else := max({covers(p, i, species) | some i, _ in data.permits[p].grants})

covers(p, i, species) := 2 if {
	data.permits[p].grants[i].rank == "any"
} else := 1 if {
	data.permits[p].grants[i].rank == "family"
	not data.species[species].family
} else := 2 if {
	g := data.permits[p].grants[i]
	data.species[species][rank_name[g.rank]] == g.taxon
} else := 0

rank_name := {"species": "accepted", "genus": "genus", "family": "family"}

numbered(k, _, _, s) := s if not k.number

numbered(k, _, _, s) := s if {
	k.number
	s in {0, 3}
}

numbered(k, p, species, s) := exceeded(s, over(p, species)) if {
	k.number
	s in {1, 2}
}

exceeded(_, 2) := 3

exceeded(_, 1) := 2

exceeded(s, 0) := s

# Whether more animals are held than any line of a paper that lists a species
# allows.
over(p, species) := max({above(p, i) | some i, g in data.permits[p].grants; g.max > 0; covers(p, i, species) == 2} | {0})

above(p, i) := 2 if {
	heads(p, i, 2) > data.permits[p].grants[i].max
} else := 1 if {
	heads(p, i, 1) > data.permits[p].grants[i].max
} else := 0

heads(p, i, least) := sum([n |
	some site in paper_sites(p)
	some species, n in held_at(site)
	covers(p, i, species) >= least
])

paper_sites(p) := data.permits[p].sites if not data.permits[p].anywhere

paper_sites(p) := [site | some site, _ in data.sites] if data.permits[p].anywhere

# What one paper is worth today.
state(k, p) := of_paper(p, data.permits[p], k.lead, k.pending, k.posting)

of_paper(id, p, lead, pending, posting) := 3 if {
	p.revoked <= today
} else := 3 if {
	p.surrendered <= today
} else := 3 if {
	suspended(p, today)
} else := 2 if {
	not p.start
} else := 0 if {
	today < p.start
} else := 1 if {
	p.never
} else := 2 if {
	not p.last
} else := 1 if {
	today <= p.last
} else := lapsed(id, p, newest(p), lead, pending, posting)

suspended(p, on) if {
	some s in p.suspensions
	s.from <= on
	not lifted(s, on)
}

lifted(s, on) if {
	s.lifted <= on
	s.from != on
}

newest(p) := all[count(all) - 1] if {
	all := [a | some a in p.applications; begun(a)]
	count(all) > 0
}

newest(p) := {} if count([a | some a in p.applications; begun(a)]) == 0

begun(a) if a.posted <= today

begun(a) if a.received <= today

followed(id, p) if {
	some q in data.successors[id]
	data.permits[q].start <= p.last + 1
}

lapsed(id, p, a, lead, pending, posting) := 0 if {
	a == {}
	followed(id, p)
} else := 3 if {
	a == {}
} else := granted(id) if {
	a.decided <= today
	a.outcome == "granted"
} else := 3 if {
	a.decided <= today
} else := 3 if {
	pending != "continues"
} else := 3 if {
	a.deficient <= today
} else := 3 if {
	p.renewable == "no"
} else := waiting(p, a, filed(a, posting), p.last - lead)

granted(id) := 0 if data.successors[id]

granted(id) := 2 if not data.successors[id]

filed(a, posting) := a.posted if {
	posting
	not received_first(a)
} else := a.received if {
	a.received
} else := 9999999

waiting(p, a, filed, legal) := 2 if {
	filed > today
	posted_by(a, legal)
} else := 3 if {
	filed > today
} else := 3 if {
	filed > legal
} else := 3 if {
	suspended(p, filed)
} else := 2 if {
	p.renewable != "yes"
} else := 1

posted_by(a, legal) if a.posted <= legal

posted_by(a, _) if not a.posted

# What must be done every so many days, or while a certificate is good.
done(k, subject) := 1 if {
	some a in data.activities[k.what][subject]
	a.on <= today
	a.passed == "yes"
	good_until(k, a) >= today
} else := 2 if {
	some a in data.activities[k.what][subject]
	a.on <= today
	a.passed == "yes"
	not good_until(k, a)
} else := 2 if {
	some a in data.activities[k.what][subject]
	a.on <= today
	a.passed == "unknown"
	not run_out(k, a)
} else := 3

good_until(k, a) := a.on + k.every if not k.certificate

good_until(k, a) := a.until if {
	k.certificate
	not k.every
}

good_until(k, a) := min({a.until, a.on + k.every}) if k.certificate

# How many are held, and whether that is more than allowed.
most(k, sure, perhaps) := 3 if {
	sure > k.most
} else := 2 if {
	perhaps > k.most
} else := 1

# A list that begins later does not prove that no more are held.
counted(site, s) := 2 if {
	s == 1
	list("animals", site) == "outside"
} else := listed("animals", site, s)

# Exemptions from what is prohibited, any of which is enough.
exempt(0, _) := 0

exempt(is, s) := 0 if {
	is > 0
	s in {0, 3}
}

exempt(1, s) := 2 if s in {1, 2}

exempt(2, s) := s if s in {1, 2}

unless(found) := best(found - {0})
