package compliance

import (
	"slices"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Access is who may open an enclosure for a task on a day, and why nobody else
// may. It is what records say: the lead decides.
//
// The sides are asked in this order: the house (the enclosure's state, papers
// for what is behind it), cover for a bite by it, each person (the ladder, and
// the papers that law or house ask of people), then who may go together. One
// side that says no is no; one that cannot be told leaves nothing sure.
type Access struct {
	Enclosure *inventory.Enclosure
	Site      inventory.ID
	On        day.Day
	Task      ladder.Level
	Animals   []*inventory.Animal
	House     inventory.Tri
	Cover     inventory.Tri
	People    inventory.Tri
	May       inventory.Tri
	Blocks    []Block // of the house and of cover
	Opens     ladder.Opens
	ByPerson  map[inventory.ID][]Block // papers of people
	NoLadder  bool
	// Doubt is why the list of handling proves nothing; empty: it is fresh.
	Doubt []Reason
}

// Side is what a block belongs to.
type Side string

// The sides.
const (
	HouseSide  Side = "house"
	CoverSide  Side = "cover"
	PersonSide Side = "person"
)

// Block is something that stands against opening, or leaves it unsure.
type Block struct {
	Side      Side
	Judgement *Judgement // nil: the enclosure's own state, or that nothing is recorded behind it
	Verdict   *Verdict
	Rule      *Rule
	State     inventory.EnclosureState
	Empty     bool
	May       inventory.Tri // no, or unknown
}

// Access answers for an enclosure, as of the day of the report. people are
// those who are there to ask about; none: everybody who may work at the site.
func (r *Report) Access(enclosure *inventory.Enclosure, task ladder.Level, people []inventory.ID) *Access {
	v := r.View
	a := &Access{Enclosure: enclosure, Site: enclosure.Site, On: v.Today(enclosure.Site), Task: task, ByPerson: make(map[inventory.ID][]Block)}
	a.Animals = v.behindDoor(enclosure.ID, a.On)
	if len(people) == 0 {
		for _, p := range v.Handlers(a.Site) {
			if p.Here(a.On) {
				people = append(people, p.ID)
			}
		}
	}
	a.house(r)
	a.people(r, people)
	a.settle()
	return a
}

// behindDoor gives the animals that are in an enclosure on a day.
func (v *View) behindDoor(enclosure inventory.ID, on day.Day) (all []*inventory.Animal) {
	for an := range v.Animals.All() {
		if an.EnclosureOn(on) == enclosure {
			all = append(all, an)
		}
	}
	slices.SortFunc(all, func(x, y *inventory.Animal) int { return slices.Compare([]byte(x.Accession), []byte(y.Accession)) })
	return all
}

// house asks the side of the house and that of cover.
func (a *Access) house(r *Report) {
	switch {
	case a.Enclosure.State == inventory.OutOfService, a.Enclosure.State == inventory.HandsOff && a.Task > ladder.Closed:
		a.Blocks = append(a.Blocks, Block{Side: HouseSide, State: a.Enclosure.State, May: inventory.No})
	case a.Enclosure.State == "":
		a.Blocks = append(a.Blocks, Block{Side: HouseSide, May: inventory.Unknown})
	}
	if len(a.Animals) == 0 {
		a.Blocks = append(a.Blocks, Block{Side: HouseSide, Empty: true, May: inventory.Unknown})
	}
	asked := map[inventory.Ref]bool{siteRef(a.Site): true, a.Enclosure.Ref(): true}
	for _, an := range a.Animals {
		asked[an.Ref()] = true
		asked[inventory.Holding(an.Species, a.Site)] = true
	}
	for _, j := range r.Judgements {
		if asked[j.Key.Subject] {
			a.Blocks = append(a.Blocks, blocksOf(j, a.On, sideOfHouse)...)
		}
	}
	a.House, a.Cover = inventory.Yes, inventory.Yes
	for _, b := range a.Blocks {
		if b.Side == CoverSide {
			a.Cover = a.Cover.And(b.May)
		} else {
			a.House = a.House.And(b.May)
		}
	}
}

// sideOfHouse says which side a rule is of; empty where it does not bear on
// doors.
func sideOfHouse(r *Rule) Side {
	switch k := r.Kind.(type) {
	case *permitKind, *prohibitKind:
		return HouseSide
	case *wordingKind:
		return HouseSide
	case *coverKind:
		if !k.beyond && k.scene.Victims == 1 {
			return CoverSide
		}
	}
	return ""
}

// sideOfPerson is the same for rules about people: papers, certificates,
// experience and a clean record.
func sideOfPerson(r *Rule) Side {
	switch r.Kind.(type) {
	case *permitKind, *recurringKind, *experienceKind, *cleanKind:
		return PersonSide
	}
	return ""
}

// blocksOf gives what the rules of a key say against opening on a day.
func blocksOf(j *Judgement, on day.Day, sideOf func(*Rule) Side) (all []Block) {
	rl := j.Binding(on)
	if rl.Rule == nil {
		return nil
	}
	side := sideOf(rl.Rule)
	if side == "" {
		return nil
	}
	verdict, _ := j.told(on)
	switch verdict.Standing {
	case OutOfOrder:
		return []Block{{Side: side, Judgement: j, Verdict: verdict, Rule: rl.Rule, May: inventory.No}}
	case CannotTell:
		return []Block{{Side: side, Judgement: j, Verdict: verdict, Rule: rl.Rule, May: inventory.Unknown}}
	}
	return nil
}

// people asks each person.
func (a *Access) people(r *Report, people []inventory.ID) {
	v := r.View
	standings := v.Standings(a.Site)
	if standings == nil {
		a.NoLadder = true
		return
	}
	door := ladder.Door{Task: a.Task, On: a.On, People: people}
	for _, an := range a.Animals {
		door.Behind = append(door.Behind, ladder.Behind{Species: an.Species, At: v.placeOfAnimal(standings, an, a.On)})
	}
	a.Opens = standings.Open(door)
	wanted := make(map[inventory.Ref]inventory.ID)
	for _, id := range people {
		wanted[personRef(id)] = id
	}
	for _, j := range r.Judgements {
		if id, ok := wanted[j.Key.Subject]; ok {
			a.ByPerson[id] = append(a.ByPerson[id], blocksOf(j, a.On, sideOfPerson)...)
		}
	}
	a.Doubt = v.HandlingDoubt(a.Site, a.On)
	kept := v.freshness(TopicHandling, a.Site).feed != nil
	for i := range a.Opens.Hands {
		hand := &a.Opens.Hands[i]
		for _, b := range a.ByPerson[hand.Person] {
			hand.Primary.May, hand.BackUp = hand.Primary.May.And(b.May), hand.BackUp.And(b.May)
		}
		if len(a.Doubt) > 0 {
			hand.Primary.May, hand.BackUp = hand.Primary.May.And(inventory.Unknown), hand.BackUp.And(inventory.Unknown)
		}
		if !kept {
			hand.Primary.May = lackingProof(hand.Primary.May, hand.Primary.Worst)
			hand.BackUp = lackingProof(hand.BackUp, hand.Why)
		}
	}
	a.Opens.Settle()
}

// lackingProof: where nobody keeps the list of handling, that nothing is
// recorded of somebody says nothing of him.
func lackingProof(may inventory.Tri, no ladder.No) inventory.Tri {
	if may == inventory.No && no != ladder.Suspended && no != ladder.NotHere {
		return inventory.Unknown
	}
	return may
}

// placeOfAnimal gives where an animal is placed: its species' place, and what
// was decided of it by itself.
func (v *View) placeOfAnimal(s *ladder.Standings, an *inventory.Animal, on day.Day) ladder.Place {
	var own []*ladder.Placement
	for p := range v.Placements.All() {
		if p.Subject == an.Ref() {
			own = append(own, p)
		}
	}
	return ladder.Decided(s.PlaceOf(an.Species, on), own, v.wasHead).At(on)
}

// HandlingDoubt says why the list of handling proves nothing on a day.
func (v *View) HandlingDoubt(site inventory.ID, on day.Day) []Reason {
	list := v.freshness(TopicHandling, site)
	if list.feed != nil && list.line.At(on) == Fresh {
		return nil
	}
	return v.whyTopic(TopicHandling, site, on)
}

// settle joins the sides.
func (a *Access) settle() {
	a.People = inventory.Unknown
	if !a.NoLadder {
		a.People = inventory.No
		for _, pair := range a.Opens.Pairs {
			a.People = a.People.Or(sureness(pair.Sure))
		}
		a.People = a.People.And(a.Opens.Three)
	}
	a.May = a.House.And(a.Cover).And(a.People)
}

func sureness(sure bool) inventory.Tri {
	if sure {
		return inventory.Yes
	}
	return inventory.Unknown
}

// HeldAt gives the species that a site holds on a day.
func (v *View) HeldAt(site inventory.ID, on day.Day) (all []inventory.ID) {
	for _, species := range v.speciesAt[site] {
		if v.counts[inventory.Holding(species, site)].At(on) > 0 {
			all = append(all, species)
		}
	}
	return all
}
