package demo

import (
	"fmt"
	"slices"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// founders may open by evidence from before the house had a ladder. Whoever
// signed was somebody else.
var founders = []struct {
	name    string
	stage   int
	teaches bool
	days    int // from today, of the grants
	until   int // their review
	signers []string
	except  []string // species of their sites for which they are not signed off
}{
	{sable, 7, true, -172, 320, []string{marlow}, nil},
	{marlow, 7, false, -171, 330, []string{sable}, nil},
	{juno, 7, true, -171, 300, []string{sable, marlow}, []string{"Atractaspis bibronii", "Ophiophagus hannah"}},
	{tansy, 5, true, -168, 310, []string{sable, marlow}, nil},
	{caspar, 5, false, -168, 340, []string{sable, marlow}, nil},
}

// handlers are whoever handles at a site beside the one where his days end.
var handlers = map[string][]string{
	sable:  {wren, tamarind},
	marlow: {tamarind},
	juno:   {tamarind},
}

// ages in days, so that the ladder's age can be told.
var ages = map[string]int{
	marlow: 19_700, petra: 17_050, odo: 15_400, sable: 14_600, juno: 12_300, bram: 10_900, tansy: 13_100, caspar: 18_200, willa: 11_800,
	rook: 7_900, hester: 16_900, osric: 21_500,
}

// rungs are stages and sign-offs that hold by the conditions of the ladder.
var rungs = []struct {
	name    string
	stage   int // 0: a sign-off
	species string
	days    int
	mentor  string
	signers []string
}{
	{rook, 1, "", -60, "", []string{sable}},
	{bram, 0, "Agkistrodon piscivorus", -84, juno, []string{sable}},
	{bram, 4, "", -80, juno, []string{sable, marlow}},
	{bram, 0, "Crotalus atrox", -42, juno, []string{sable}},
}

// cards of people that the ladder asks for, beside the first aid of keepers:
// when each was got, and in how many days it runs out; 0: it does not.
var skills = []struct {
	name, what   string
	days, expire int
}{
	{marlow, "certificate.first-aid", -310, 410},
	{caspar, "certificate.first-aid", -290, 520},
	{rook, "certificate.first-aid", -63, 660},
	{sable, "certificate.cpr", -300, 420},
	{marlow, "certificate.cpr", -310, 410},
	{juno, "certificate.cpr", -300, 380},
	{tansy, "certificate.cpr", -280, 450},
	{caspar, "certificate.cpr", -290, 440},
	{rook, "induction", -66, 0},
	{rook, "test.written", -62, 0},
}

// drilled are the days of the bite drills in which each person took part.
var drilled = map[string][]int{
	sable: {-240, -60, -30}, marlow: {-240, -60, -30}, juno: {-240, -60}, bram: {-240, -60}, tansy: {-260}, caspar: {-260},
}

func (b *builder) handling() {
	for _, f := range founders {
		sites := append(slices.Clone(handlers[f.name]), homeOf(f.name))
		b.founded(f.name, f.stage, f.teaches, f.days, f.until, f.signers, speciesAt(sites, f.except))
	}
	// Juno has not handled the king cobra since she was signed off for it: that
	// sign-off lapses within weeks.
	b.founded(juno, 0, false, -342, 300, []string{sable, marlow}, []string{"Ophiophagus hannah"})
	b.founded(bram, 3, false, -150, 280, []string{sable, marlow}, nil)
	for _, r := range rungs {
		b.rung(r.name, r.stage, r.species, r.days, r.mentor, r.signers)
	}
	for _, s := range skills {
		b.skill(s.name, s.what, s.days, s.expire)
	}
	for _, p := range staff {
		for _, days := range drilled[p.name] {
			b.drilled(p.name, days)
		}
	}
	// The fastest of all is placed higher than its hazards put it.
	put(b, ladder.Placement{ID: id(inventory.KindPlacement, "black mamba"), Subject: inventory.Ref{Kind: inventory.KindSpecies, ID: speciesID("Dendroaspis polylepis")},
		Stage: 7, On: b.in(-600), Until: day.Forever(), By: personID(marlow), Reason: "faster than anything else in the house"})
	b.sessions()
}

func homeOf(name string) string {
	for _, p := range staff {
		if p.name == name {
			return p.site
		}
	}
	return ""
}

// speciesAt gives the species held at some sites, but some.
func speciesAt(sites, except []string) (all []string) {
	for _, h := range held {
		if slices.Contains(sites, h.site) && !slices.Contains(except, h.species) && !slices.Contains(all, h.species) {
			all = append(all, h.species)
		}
	}
	return all
}

// founded grants a stage (0: none) and species by evidence.
func (b *builder) founded(name string, stage int, teaches bool, days, until int, signers, species []string) {
	grant := b.grant(name, days, signers)
	grant.Founding, grant.Until = "logs and references of the years before the ladder", b.until(until)
	if stage > 0 {
		b.granted(grant, ladder.StageGrant, stage, "")
	}
	if teaches {
		b.granted(grant, ladder.MentorGrant, stage, "")
	}
	for _, s := range species {
		b.granted(grant, ladder.SpeciesGrant, 0, s)
	}
}

// rung grants a stage or, with stage 0, a species, as the ladder asks.
func (b *builder) rung(name string, stage int, species string, days int, mentor string, signers []string) {
	grant := b.grant(name, days, signers)
	grant.Criteria, grant.Until = "2026-11", day.Forever()
	if mentor != "" {
		grant.Mentor = personID(mentor)
	}
	what := ladder.StageGrant
	if stage == 0 {
		what = ladder.SpeciesGrant
	}
	b.granted(grant, what, stage, species)
}

func (b *builder) grant(name string, days int, signers []string) ladder.Authorisation {
	a := ladder.Authorisation{Person: personID(name), On: b.in(days)}
	for _, s := range signers {
		a.Signers = append(a.Signers, personID(s))
	}
	return a
}

func (b *builder) granted(a ladder.Authorisation, what ladder.What, stage int, species string) {
	a.ID = id(inventory.KindAuthorisation, fmt.Sprint(a.Person, what, stage, species))
	a.What, a.Stage = what, stage
	if species != "" {
		a.Species, a.Level = speciesID(species), ladder.Tube
	}
	put(b, a)
}

// skill is a certificate, or what somebody did once.
func (b *builder) skill(name, what string, days, expires int) {
	a := compliance.Activity{ID: id(inventory.KindActivity, what+" of "+name), What: what, Subject: personRef(name), On: b.in(days), Passed: inventory.Yes}
	if expires > 0 {
		a.Until = b.until(expires)
	}
	put(b, a)
}

func (b *builder) drilled(name string, days int) {
	put(b, compliance.Activity{ID: id(inventory.KindActivity, fmt.Sprint("drill of ", name, days)), What: "drill.bite", Subject: personRef(name),
		On: b.in(days), Passed: inventory.Yes})
}
