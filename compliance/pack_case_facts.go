package compliance

import (
	"slices"
	"strings"
	"time"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// FactPerson is somebody in a case.
type FactPerson struct {
	Name   string
	Roles  []Role
	Joined day.Day // unset: long ago
}

// FactSpecies is a species in a case. What is left out is unknown.
type FactSpecies struct {
	Name        string
	Family      string
	Venomous    inventory.Tri
	Native      inventory.Tri // where the site is
	NoAntivenom string        // who says that no antivenom exists
	Hazards     inventory.Hazards
}

// FactAnimal is one animal or several alike. Of several, the first has the
// name itself and the others the name with a number.
type FactAnimal struct {
	Name    string
	Species string
	Bred    inventory.Tri
	Count   int
	KeptBy  string              // a person; empty: the house
	Arrived day.Day             // unset: long ago
	Left    day.Day             // the first day on which it is not held
	How     inventory.Departure // transfer where nothing is said
}

// FactPaper is a paper in a case.
type FactPaper struct {
	Number    string
	Class     string
	Holder    string // house, unknown or a person
	Place     string // here, anywhere or unknown
	Animals   []string
	Taxa      []string // any, a species, a genus or a family
	Max       int
	Issued    day.Day
	From      day.Day
	Expires   day.End
	Renewable inventory.Tri

	Application              // to renew it
	Suspended, Lifted        day.Day
	RevokedOn, SurrenderedOn day.Day
}

// FactDone is something that was done.
type FactDone struct {
	What    string
	Subject string // as in Expect
	On      day.Day
	At      time.Time // in UTC; zero: only the day is known
	Passed  inventory.Tri
	Until   day.End
	Year    int
	Fields  []string // what a label or document was found to carry
}

// FactVials are vials of one lot at one place.
type FactVials struct {
	Product string
	Lot     string
	Place   string
	Count   int
	Since   day.Day // unset: long ago
	Expires day.End
	Basis   inventory.Basis
	Species []string
	Full    int
	Initial int
	// Approval is that of the product: see inventory.Product.
	Approval string
}

// departures are the ways to leave that a case may name; a death has a key of
// its own.
var departures = []string{string(inventory.Transferred), string(inventory.Lent), string(inventory.Escaped), string(inventory.Released)}

func readFacts(m *strict.Map) (f Facts) {
	f.Law = m.OptString("law")
	if f.Law != "" {
		if err := inventory.CheckJurisdiction("law", f.Law); err != nil {
			m.Fail("law", "%s", strings.TrimPrefix(err.Error(), "law: "))
		}
	}
	f.Use = inventory.SiteUse(m.OptEnum("use", "", "zoo", "private", "research", "trade"))
	if f.Zone = m.OptString("zone"); f.Zone == "" {
		f.Zone = "UTC"
	} else if err := inventory.CheckZone("zone", f.Zone); err != nil {
		m.Fail("zone", "%s", strings.TrimPrefix(err.Error(), "zone: "))
	}
	f.Calendar = m.OptString("calendar")
	f.Victims = m.OptInt("victims", 1, 1, 9)
	f.NoLists = m.OptEnum("lists", "kept", "kept", "none") == "none"
	for _, pm := range m.OptMaps("people") {
		p := FactPerson{Name: pm.String("name"), Joined: pm.OptDay("joined")}
		for i, role := range pm.OptStrings("roles") {
			if Role(role).Check("roles") != nil {
				pm.FailItem("roles", i, "%q is not a role; allowed: %v", role, Roles)
			}
			p.Roles = append(p.Roles, Role(role))
		}
		f.People = append(f.People, p)
	}
	for _, sm := range m.OptMaps("species") {
		s := FactSpecies{Name: sm.String("name"), Family: sm.OptString("family"), Venomous: readTri(sm, "venomous"), Native: readTri(sm, "native"), NoAntivenom: sm.OptString("no_antivenom")}
		if hm, ok := sm.OptMap("hazards"); ok {
			s.Hazards = readHazards(hm)
		}
		if err := (inventory.Species{Accepted: s.Name}).Check(); err != nil && s.Name != "" {
			sm.Fail("name", "%q is not a full scientific name: write genus and species, such as Naja kaouthia", s.Name)
		}
		f.Species = append(f.Species, s)
	}
	f.readAnimals(m)
	f.readPapers(m)
	f.readDone(m)
	f.readVials(m)
	f.readSupply(m)
	f.readAuthorised(m)
	f.readSessions(m)
	f.named(m)
	return f
}

// readTri reads true or false; left out it is unknown.
func readTri(m *strict.Map, key string) inventory.Tri {
	if !m.Has(key) {
		return inventory.Unknown
	}
	return inventory.Bool(m.Bool(key))
}

func (f *Facts) readAnimals(m *strict.Map) {
	for _, am := range m.OptMaps("animals") {
		a := FactAnimal{Name: am.String("name"), Species: am.String("species"), Bred: readTri(am, "bred"), Count: am.OptInt("count", 1, 1, 1000),
			KeptBy: am.OptString("kept_by"), Arrived: am.OptDay("arrived"), Left: am.OptDay("left"), How: inventory.Transferred}
		if am.Has("how") {
			a.How = inventory.Departure(am.Enum("how", departures...))
			if a.Left.IsZero() {
				am.Fail("how", "is how it left, and left is missing; write the day, or died for a death")
			}
		}
		if died := am.OptDay("died"); !died.IsZero() {
			if !a.Left.IsZero() {
				am.Fail("died", "left is given too; write one of them")
			}
			a.Left, a.How = died, inventory.Died
		}
		if !slices.ContainsFunc(f.Species, func(s FactSpecies) bool { return s.Name == a.Species }) && a.Species != "" {
			am.Fail("species", "%q is not among the species of this test; add it there, with what is known of it", a.Species)
		}
		if a.KeptBy != "" && !f.hasPerson(a.KeptBy) {
			am.Fail("kept_by", "%q is not among the people of this test", a.KeptBy)
		}
		f.Animals = append(f.Animals, a)
	}
}

func (f *Facts) readPapers(m *strict.Map) {
	for _, pm := range m.OptMaps("papers") {
		p := FactPaper{Number: pm.String("number"), Class: readWord(pm, "class"), Holder: "house", Place: pm.OptEnum("place", "here", "here", "anywhere", "unknown"),
			Animals: pm.OptStrings("animals"), Taxa: pm.OptStrings("taxa"), Max: pm.OptInt("max", 0, 1, 100000), Issued: pm.OptDay("issued"),
			From: pm.OptDay("from"), Renewable: readTri(pm, "renewable"), Suspended: pm.OptDay("suspended"), Lifted: pm.OptDay("lifted"),
			RevokedOn: pm.OptDay("revoked"), SurrenderedOn: pm.OptDay("surrendered")}
		if pm.Has("holder") {
			if p.Holder = pm.String("holder"); p.Holder != "house" && p.Holder != "unknown" && !f.hasPerson(p.Holder) {
				pm.Fail("holder", "%q is not among the people of this test; house and unknown are allowed too", p.Holder)
			}
		}
		pm.OptText("expires", &p.Expires)
		p.Posted, p.Received, p.Deficient = pm.OptDay("posted"), pm.OptDay("received"), pm.OptDay("deficient")
		if filed := pm.OptDay("filed"); !filed.IsZero() {
			p.Posted, p.Received = filed, filed
		}
		if p.Decided = pm.OptDay("decided"); !p.Decided.IsZero() {
			p.Outcome = Outcome(pm.Enum("outcome", string(Granted), string(Refused)))
		}
		for i, name := range p.Animals {
			if !slices.ContainsFunc(f.Animals, func(a FactAnimal) bool { return a.Name == name }) {
				pm.FailItem("animals", i, "%q is not among the animals of this test", name)
			}
		}
		if err := f.paper(&p).Check(); err != nil && p.Number != "" && p.Class != "" {
			pm.Fail("", "%v", err)
		}
		f.Papers = append(f.Papers, p)
	}
}

func (f *Facts) readDone(m *strict.Map) {
	for _, dm := range m.OptMaps("done") {
		d := FactDone{What: readWord(dm, "what"), Subject: "site", On: dm.Day("on"), Year: dm.OptInt("year", 0, 1900, 2200)}
		if dm.Has("subject") {
			d.Subject = dm.String("subject")
		}
		switch dm.OptEnum("result", "passed", "passed", "failed", "unknown") {
		case "passed":
			d.Passed = inventory.Yes
		case "failed":
			d.Passed = inventory.No
		}
		dm.OptText("until", &d.Until)
		d.At, d.Fields = f.clockTime(dm, "at", d.On), readWords(dm, "fields")
		f.Done = append(f.Done, d)
	}
}

// clockTime reads an hour such as 20:15 of a day, by the clock of the site.
// One that a change of the clock leaves out or has twice is refused.
func (f *Facts) clockTime(m *strict.Map, key string, on day.Day) time.Time {
	text := m.OptString(key)
	if text == "" || on.IsZero() {
		return time.Time{}
	}
	zone, form := zoneOf(f.Zone), "2006-01-02 15:04"
	whole := on.String() + " " + text
	t, err := time.ParseInLocation(form, whole, zone)
	if err != nil {
		m.Fail(key, "%q is not a time of the day; write hours and minutes by the clock of the site, such as 20:15", text)
		return time.Time{}
	}
	twice := t.Add(time.Hour).Format(form) == whole || t.Add(-time.Hour).Format(form) == whole
	if t.Format(form) != whole || twice {
		m.Fail(key, "%s is left out or comes twice on %s, by the change of the clock in %s; write another time", text, on, f.Zone)
	}
	return t.UTC()
}

func (f *Facts) readVials(m *strict.Map) {
	for _, vm := range m.OptMaps("vials") {
		v := FactVials{Product: vm.String("product"), Lot: vm.String("lot"), Place: "fridge", Count: vm.Int("count", 1, 10000), Since: vm.OptDay("since"),
			Basis: readBasis(vm), Species: f.speciesOf(vm), Full: vm.OptInt("full", 0, 1, 1000), Initial: vm.OptInt("initial", 0, 1, 1000)}
		if vm.Has("place") {
			v.Place = vm.String("place")
		}
		if vm.Has("approval") {
			v.Approval = readWord(vm, "approval")
		}
		vm.OptText("expires", &v.Expires)
		f.Vials = append(f.Vials, v)
	}
}

func (f *Facts) hasPerson(name string) bool {
	return slices.ContainsFunc(f.People, func(p FactPerson) bool { return p.Name == name })
}

// named tells of what was done to subjects that are not there, once all are
// known.
func (f *Facts) named(m *strict.Map) {
	for i, dm := range m.OptMaps("done") {
		if i < len(f.Done) && f.Done[i].Subject != "" {
			if _, err := f.subject(f.Done[i].Subject); err != nil {
				dm.Fail("subject", "%v", err)
			}
		}
	}
}
