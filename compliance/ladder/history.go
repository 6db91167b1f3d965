package ladder

import (
	"cmp"
	"slices"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Done is something that a person did or got: a drill, a test, a certificate.
type Done struct {
	On     day.Day
	Passed inventory.Tri
	Until  day.End // of a certificate
}

// Person is somebody on the ladder, as records know him.
type Person struct {
	ID   inventory.ID
	Born day.Day           // unset: not known
	Here day.Line[bool]    // at work, and not away
	Done map[string][]Done // by the word for it
	// KnownFrom is the day since which the list of such things is complete;
	// unset: it is not known of any time that nothing happened.
	KnownFrom day.Day
	Papers    map[string]day.Line[inventory.Tri] // in force, by class; one that is not here he does not hold
	Roles     func(role string, d day.Day) bool
}

// Species is a kind of animal as the ladder sees it.
type Species struct {
	ID                  inventory.ID
	Name, Genus, Family string
	Harmless            inventory.Tri
	Place               day.Line[Place]
}

// Records is everything that standings follow from.
type Records struct {
	Ladder         *Ladder
	People         []Person
	Species        []Species
	Sessions       []*Session
	Authorisations []*Authorisation
	Credits        []*Credit
	// Zone gives the zone of a site, in which the day of a signature is read.
	Zone func(site inventory.ID) *time.Location
	// Routine is the day from which regular handling is assumed to go on;
	// unset: it is not.
	Routine day.Day
}

// History is records sorted for one pass: people, species and days as numbers.
type History struct {
	Records
	people  map[inventory.ID]int32
	species map[inventory.ID]int32
	byName  map[string]int32
	held    []*sitting       // by day, then as they began
	own     [][]*sitting     // by trainee, in their order
	taught  [][]*sitting     // and by mentor
	acts    []*act           // by day, in the order in which they apply
	actsOf  [][]*act         // by person
	takes   [][]*act         // of these, what takes away
	signs   map[int32][]*act // by whoever signed or vouched
	credits [][]credit
	open    []opening // what each person must have in force, by stage
}

// sitting is a session as the pass reads it.
type sitting struct {
	*Session
	trainee, mentor, species int32   // mentor -1: none or unknown
	counts                   day.Day // from its signature; unset: never
	clean, reps              int16
	minutes                  int32         // -1: not known
	busyTrainee, busyMentor  inventory.Tri // with something else at that time
	status                   [2]Status     // in each world
}

// act is an authorisation as the pass reads it.
type act struct {
	*Authorisation
	person, species, mentor int32
	granted                 [2]Grant // in each world
}

type credit struct {
	*Credit
	name, genus, family string
}

// opening is, by stage, whether a person has in force what it takes to open.
type opening struct{ stages []day.Line[inventory.Tri] }

// NewHistory sorts records. Sessions and acts of people or species that are
// not among them are left out.
func NewHistory(r Records) *History {
	h := &History{Records: r, people: make(map[inventory.ID]int32, len(r.People)), species: make(map[inventory.ID]int32, len(r.Species)), byName: make(map[string]int32, len(r.Species))}
	for i := range r.People {
		h.people[r.People[i].ID] = int32(i)
	}
	for i := range r.Species {
		h.species[r.Species[i].ID] = int32(i)
		h.byName[r.Species[i].Name] = int32(i)
	}
	h.sortSessions()
	h.sortActs()
	h.sortCredits()
	h.open = make([]opening, len(r.People))
	for i := range r.People {
		h.open[i] = h.opening(&r.People[i])
	}
	return h
}

func (h *History) person(id inventory.ID) int32 {
	if i, ok := h.people[id]; ok {
		return i
	}
	return -1
}

func (h *History) sortSessions() {
	all := make([]sitting, 0, len(h.Sessions))
	for _, s := range h.Sessions {
		if one, ok := h.sitting(s); ok {
			all = append(all, one)
		}
	}
	h.held = make([]*sitting, len(all))
	for i := range all {
		h.held[i] = &all[i]
	}
	slices.SortFunc(h.held, before)
	h.own, h.taught = make([][]*sitting, len(h.People)), make([][]*sitting, len(h.People))
	for _, s := range h.held {
		h.own[s.trainee] = append(h.own[s.trainee], s)
		if s.mentor >= 0 {
			h.taught[s.mentor] = append(h.taught[s.mentor], s)
		}
	}
	for p := range h.People {
		h.markBusy(int32(p))
	}
}

// before orders sittings by day, then as they began; those of which that is
// not known come first.
func before(a, b *sitting) int {
	if a.On != b.On {
		return cmp.Compare(a.On, b.On)
	}
	if c := a.Begun.Compare(b.Begun); c != 0 {
		return c
	}
	return slices.Compare(a.ID[:], b.ID[:])
}

func (h *History) sitting(s *Session) (sitting, bool) {
	trainee, species := h.person(s.Trainee), int32(-1)
	if i, ok := h.species[s.Species]; ok {
		species = i
	}
	if trainee < 0 || species < 0 {
		return sitting{}, false
	}
	one := sitting{Session: s, trainee: trainee, mentor: -1, species: species, reps: int16(len(s.Results)), minutes: -1, busyTrainee: inventory.No, busyMentor: inventory.No}
	if s.Mentor != (inventory.ID{}) {
		one.mentor = h.person(s.Mentor)
	}
	for i := range len(s.Results) {
		if s.Results[i] == Clean {
			one.clean++
		}
	}
	if !s.Begun.IsZero() && !s.Ended.IsZero() {
		one.minutes = int32(s.Ended.Sub(s.Begun) / time.Minute)
	}
	one.counts = h.countsFrom(s)
	return one, true
}

// countsFrom gives the day from which a session counts: its own where nobody
// watched, else the day of its signature, unless that came too late.
func (h *History) countsFrom(s *Session) day.Day {
	if s.Watched == inventory.No {
		return s.On
	}
	if s.Signed.IsZero() {
		return 0
	}
	signed := max(day.In(s.Signed, h.Zone(s.Site)), s.On)
	if signed > s.On.Add(h.Ladder.SignWithin) {
		return 0
	}
	return signed
}

func (h *History) sortActs() {
	for _, a := range h.Authorisations {
		if one, ok := h.newAct(a); ok {
			h.acts = append(h.acts, &one)
		}
	}
	slices.SortFunc(h.acts, actBefore)
	h.actsOf, h.takes = make([][]*act, len(h.People)), make([][]*act, len(h.People))
	for _, a := range h.acts {
		h.actsOf[a.person] = append(h.actsOf[a.person], a)
		if a.What.Adverse() {
			h.takes[a.person] = append(h.takes[a.person], a)
		}
	}
	h.signs = make(map[int32][]*act)
	for _, a := range h.acts {
		h.eachSigner(a, func(p int32) { h.signs[p] = append(h.signs[p], a) })
	}
}

// eachSigner calls with whoever signed an act or vouched for it.
func (h *History) eachSigner(a *act, with func(int32)) {
	if a.mentor >= 0 {
		with(a.mentor)
	}
	for _, id := range a.Signers {
		if p := h.person(id); p >= 0 {
			with(p)
		}
	}
}

func (h *History) newAct(a *Authorisation) (act, bool) {
	one := act{Authorisation: a, person: h.person(a.Person), species: -1, mentor: -1}
	if i, ok := h.species[a.Species]; ok {
		one.species = i
	}
	if one.person < 0 || a.Species != (inventory.ID{}) && one.species < 0 {
		return one, false
	}
	if a.Mentor != (inventory.ID{}) {
		one.mentor = h.person(a.Mentor)
	}
	return one, true
}

// actBefore orders acts by day and, within one, as they apply.
func actBefore(a, b *act) int {
	return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(rank(a.What), rank(b.What)), cmp.Compare(a.Stage, b.Stage),
		a.At.Compare(b.At), slices.Compare(a.ID[:], b.ID[:]))
}

// takenOn gives the acts of a day that take something from a person.
func (h *History) takenOn(p int32, d day.Day) []*act {
	acts := h.takes[p]
	i, _ := slices.BinarySearchFunc(acts, d, func(a *act, d day.Day) int { return cmp.Compare(a.On, d) })
	n := i
	for n < len(acts) && acts[n].On == d {
		n++
	}
	return acts[i:n]
}

// rank is the order in which acts of one day apply: what gives first, a stage
// before a species of it, and what takes away last, so that it wins.
func rank(w What) int {
	return slices.Index([]What{Clearance, StageGrant, MentorGrant, SpeciesGrant, SetBack, Suspension}, w)
}

func (h *History) sortCredits() {
	h.credits = make([][]credit, len(h.People))
	for _, c := range h.Credits {
		p := h.person(c.Person)
		if p < 0 || len(c.Signers) == 0 {
			continue
		}
		h.credits[p] = append(h.credits[p], h.credit(c))
	}
}

// credit reads what a credit's name of a taxon says: a species has a genus and
// a family, a genus of species that are recorded has a family.
func (h *History) credit(c *Credit) credit {
	for i := range h.Species {
		s := &h.Species[i]
		switch c.Taxon {
		case s.Name:
			return credit{c, s.Name, s.Genus, s.Family}
		case s.Genus:
			return credit{c, "", s.Genus, s.Family}
		}
	}
	return credit{c, "", "", c.Taxon}
}

// opening joins the certificates and the recent activities that each stage
// asks for.
func (h *History) opening(p *Person) opening {
	o := opening{make([]day.Line[inventory.Tri], len(h.Ladder.Stages))}
	for i := range h.Ladder.Stages {
		line := day.Constant(inventory.Yes)
		for _, what := range h.Ladder.Stages[i].InForce {
			line = day.Combine(line, p.good(what), inventory.Tri.And)
		}
		for _, r := range h.Ladder.Stages[i].Within {
			line = day.Combine(line, p.lately(r), inventory.Tri.And)
		}
		o.stages[i] = line
	}
	return o
}

// good gives the days on which a certificate is good.
func (p *Person) good(what string) day.Line[inventory.Tri] {
	line := day.Constant(inventory.No)
	for _, d := range p.Done[what] {
		b := day.NewBuilder(inventory.No)
		from := d.Passed
		if from == inventory.Yes && d.Until.IsZero() {
			from = inventory.Unknown
		}
		b.Add(d.On, from)
		if last, known := d.Until.Known(); known {
			b.Add(max(last+1, d.On), inventory.No)
		}
		line = day.Combine(line, b.Line(), inventory.Tri.Or)
	}
	return line
}

// lately gives the days on which an activity is recent enough.
func (p *Person) lately(r Recent) day.Line[inventory.Tri] {
	line := day.Constant(inventory.No)
	for _, d := range p.Done[r.What] {
		b := day.NewBuilder(inventory.No)
		b.Add(d.On, d.Passed)
		b.Add(r.Within.AddTo(d.On)+1, inventory.No)
		line = day.Combine(line, b.Line(), inventory.Tri.Or)
	}
	return line
}

func (p *Person) inForce(what string, d day.Day) inventory.Tri { return p.good(what).At(d) }
