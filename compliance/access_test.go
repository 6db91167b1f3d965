package compliance

import (
	"testing"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// shortLadder is a ladder of three stages for these tests.
const shortLadder = `ladder:
  name: short
  title: Short
  sign_within_days: 14
  hours_per_day: 10
  opening: {back_up: 1, alone_to: closed, third: [extract], never_refuse: [look, recapture]}
  placing: {harmless: 1, by_score: {lowest: 1, low: 1, middle: 2, high: 2, highest: 2}}
  stages:
    - {stage: 0, name: None}
    - {stage: 1, name: Slow, sign_off: {signs: []}, currency: {handled: 90 days, refresher: 3}}
    - {stage: 2, name: Fast, sign_off: {signs: []}, currency: {handled: 90 days, refresher: 3}}
`

// door is a house with one venomous animal behind a door and keepers who are
// signed off for it since 1 June 2026.
type door struct {
	*house
	species   inventory.Species
	animal    inventory.Animal
	enclosure inventory.Enclosure
	outside   Person
}

func newDoor(t testing.TB) *door {
	h := &door{house: newHouse(t)}
	h.species = inventory.Species{ID: inventory.NewID(), Accepted: "Crotalus atrox", Family: "Viperidae", Venomous: inventory.Yes,
		Hazards: inventory.Hazards{Venom: 2, Yield: 2, Speed: 3, Reach: 2, Spitting: inventory.No, Arboreal: inventory.No}}
	h.enclosure = inventory.Enclosure{ID: inventory.NewID(), Site: h.site.ID, Code: "E1", State: inventory.InService}
	h.animal = inventory.Animal{ID: inventory.NewID(), Accession: "A1", Species: h.species.ID, Arrived: d("2000-01-01"),
		Stays: []inventory.Stay{{Enclosure: h.enclosure.ID, From: d("2000-01-01")}}}
	h.put(Record(h.species), Record(h.enclosure), Record(h.animal))
	h.outside = h.personCalled("Outside")
	return h
}

// signedOff is a keeper who may open by a founding grant.
func (h *door) signedOff(name string, from string) Person {
	p := h.personCalled(name)
	for _, a := range []ladder.Authorisation{
		{What: ladder.StageGrant, Stage: 2},
		{What: ladder.SpeciesGrant, Species: h.species.ID, Level: ladder.Tube},
	} {
		a.ID, a.Person, a.On, a.Founding, a.Signers = inventory.NewID(), p.ID, d(from), "kept elsewhere for years", []inventory.ID{h.outside.ID}
		h.put(Record(a))
	}
	return p
}

func (h *door) access(b *Rulebook, on string, task ladder.Level, people ...inventory.ID) *Access {
	h.t.Helper()
	r := Evaluate(b, h.snapshot(), Ask{Now: noon, On: d(on)})
	return r.Access(&h.enclosure, task, people)
}

// none is a rule that asks nothing here, so that the pack is one.
func ladderBook(t testing.TB, rules string) *Rulebook {
	return books(t, pack("test", "house", "", rules)+shortLadder)
}

var nothingAsked = rule("test.none", "none", "person", "recurring", "{activity: nothing, every: 1 day}", "    scope: '\"curator\" in roles'\n")

// TestAccess: each side by itself, and what it leaves of the answer.
func TestAccess(t *testing.T) {
	permit := rule("test.permit", "permit", "animal", "permit", "{class: keep}")
	for _, c := range []struct {
		name string
		make func(*door)
		task ladder.Level
		rule string
		want inventory.Tri
	}{
		{"two who may", nil, ladder.Hook, "", inventory.Yes},
		{"beyond the sign-off", nil, ladder.Restrain, "", inventory.No},
		{"without the paper", nil, ladder.Hook, permit, inventory.No},
		{"with the paper", func(h *door) { h.put(Record(h.permit("P", day.Until(d("2030-01-01"))))) }, ladder.Hook, permit, inventory.Yes},
		{"the paper's end not known", func(h *door) { h.put(Record(h.permit("P", day.End{}))) }, ladder.Hook, permit, inventory.Unknown},
		{"hands-off", func(h *door) { h.enclosure.State = inventory.HandsOff }, ladder.Hook, "", inventory.No},
		{"hands-off, through the port", func(h *door) { h.enclosure.State = inventory.HandsOff }, ladder.Closed, "", inventory.Yes},
		{"state not recorded", func(h *door) { h.enclosure.State = "" }, ladder.Hook, "", inventory.Unknown},
		{"nothing recorded behind it", func(h *door) { h.enclosure.ID = inventory.NewID() }, ladder.Hook, "", inventory.Unknown},
		{"three are asked for", nil, ladder.Extract, "", inventory.No},
		{"the animal itself placed above the ladder", func(h *door) {
			h.put(Record(ladder.Placement{ID: inventory.NewID(), Subject: h.animal.Ref(), Stage: 5, On: d("2026-06-02"), Until: day.Forever(), By: h.outside.ID, Reason: "nervous"}))
		}, ladder.Hook, "", inventory.Yes}, // no stage is above the highest
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newDoor(t)
			h.lists()
			h.signedOff("Ada", "2026-06-01")
			h.signedOff("Ben", "2026-06-01")
			if c.make != nil {
				c.make(h)
			}
			if got := h.access(ladderBook(t, nothingAsked+c.rule), "2026-06-15", c.task); got.May != c.want {
				t.Errorf("may: %s, want %s; house %s cover %s people %s\n%+v", got.May, c.want, got.House, got.Cover, got.People, got.Opens)
			}
		})
	}
}

// TestAccessAlone: one person alone opens nothing, and stands by for nobody.
func TestAccessAlone(t *testing.T) {
	h := newDoor(t)
	h.lists()
	p := h.signedOff("Ada", "2026-06-01")
	b := ladderBook(t, nothingAsked)
	if got := h.access(b, "2026-06-15", ladder.Hook); got.May != inventory.No || len(got.Opens.Pairs) != 0 {
		t.Errorf("alone: %s, %+v", got.May, got.Opens.Pairs)
	}
	if got := h.access(b, "2026-06-15", ladder.Closed, p.ID); got.May != inventory.Yes {
		t.Errorf("through the port alone: %s", got.May)
	}
	if got := h.access(b, "2026-06-15", ladder.Look); !got.Opens.Never {
		t.Error("looking is blocked")
	}
}

// TestAccessWithoutAList: where nobody keeps the list of handling, that
// nothing is recorded of somebody says nothing, and what is recorded proves
// nothing.
func TestAccessWithoutAList(t *testing.T) {
	h := newDoor(t)
	h.signedOff("Ada", "2026-06-01")
	h.signedOff("Ben", "2026-06-01")
	got := h.access(ladderBook(t, nothingAsked), "2026-06-15", ladder.Hook)
	if got.People != inventory.Unknown || len(got.Doubt) == 0 {
		t.Errorf("people: %s, %v", got.People, got.Doubt)
	}
	for _, hand := range got.Opens.Hands {
		if hand.Primary.May == inventory.Yes || hand.BackUp == inventory.Yes {
			t.Errorf("sure of %v", hand)
		}
	}
	if got := h.access(books(t, pack("test", "house", "", nothingAsked)), "2026-06-15", ladder.Hook); got.May != inventory.Unknown || !got.NoLadder {
		t.Errorf("without a ladder: %s", got.May)
	}
}

// TestE8 is E8 of the job's worked examples: three are authorised, one leaves
// and another lapses, and from then on there is no pair (common practice, no
// source).
func TestE8(t *testing.T) {
	h := newDoor(t)
	h.lists()
	h.signedOff("Ada", "2026-06-01")
	ben := h.signedOff("Ben", "2026-02-19") // current for 90 days: lapses on 21 May
	cleo := h.signedOff("Cleo", "2026-03-01")
	cleo.Leaves = d("2026-05-01")
	h.put(Record(cleo))
	b := ladderBook(t, rule("test.hands", "hands", "holding", "authorised", "{people: 2}"))
	// Ada is signed off in June only: then Ben must be current with her.
	late := rule("test.hands", "hands", "holding", "authorised", "{people: 1}")
	s := h.snapshot()
	line := policyOf(t, b, s, "hands", inventory.Holding(h.species.ID, h.site.ID))
	for _, want := range []struct {
		on    string
		state Code
		by    string
	}{
		{"2026-03-01", HandsEnough, "2026-04-30"},
		{"2026-04-30", HandsEnough, "2026-04-30"},
		{"2026-05-01", HandsTooFew, ""},
		{"2026-05-20", HandsTooFew, ""},
		{"2026-05-21", HandsNone, ""},
		{"2026-06-01", HandsTooFew, ""},
	} {
		got := line.At(d(want.on))
		if got.State != want.state || want.by != "" && got.Step.By != d(want.by) {
			t.Errorf("%s: %s by %s, want %s by %s", want.on, got.State, got.Step.By, want.state, want.by)
		}
	}
	one := policyOf(t, ladderBook(t, late), s, "hands", inventory.Holding(h.species.ID, h.site.ID))
	if got := one.At(d("2026-05-10")); got.State != HandsEnough || got.Step.By != d("2026-05-20") || got.Cause != ben.Ref() {
		t.Errorf("on 10 May: %s by %s because of %s", got.State, got.Step.By, s.NameOf(got.Cause))
	}
}

func policyOf(t testing.TB, b *Rulebook, s *Snapshot, requirement string, subject inventory.Ref) Line {
	t.Helper()
	j := Evaluate(b, s, Ask{Now: noon}).Of(Key{Requirement: requirement, Subject: subject})
	if j == nil {
		t.Fatalf("nothing was judged for %s of %s", requirement, subject)
	}
	return j.Policy
}

// TestSignature: told to mentor and trainee while there is time, missed after,
// and given on the day of the signature.
func TestSignature(t *testing.T) {
	h := newDoor(t)
	h.lists()
	mentor, trainee := h.signedOff("Ada", "2026-03-01"), h.personCalled("Ben")
	session := ladder.Session{ID: inventory.NewID(), Trainee: trainee.ID, Mentor: mentor.ID, Watched: inventory.Yes, Site: h.site.ID, Species: h.species.ID, Level: ladder.Hook, Results: "ccc", On: d("2026-06-05")}
	h.put(Record(session))
	b := ladderBook(t, rule("test.signature", "signature", "person", "signature", "{}"))
	key := Key{Requirement: "signature", Subject: trainee.Ref(), Occurrence: "2026-06-05"}
	line := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(key).Policy
	if got := line.At(d("2026-06-15")); got.State != SignatureWaits || got.Step.By != d("2026-06-19") || got.Step.Told != [2]inventory.ID{mentor.ID, trainee.ID} {
		t.Errorf("waiting: %+v", got)
	}
	if got := line.At(d("2026-06-20")); got.State != SignatureMissed || got.Standing != OutOfOrder {
		t.Errorf("missed: %+v", got)
	}
	session.Signed = time.Date(2026, time.June, 15, 3, 0, 0, 0, time.UTC) // still the 14th at the site
	h.put(Record(session))
	line = Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(key).Policy
	if line.At(d("2026-06-13")).State != SignatureWaits || line.At(d("2026-06-14")).State != SignatureGiven {
		t.Errorf("signed: %s, then %s", line.At(d("2026-06-13")).State, line.At(d("2026-06-14")).State)
	}
}

// TestExperienceOfLaw: 1,000 hours and a year in one family, Rule 68A-6.017
// FAC (R): the sum is there long before the year is, and hours of another
// family never count. E2 of the worked examples.
func TestExperienceOfLaw(t *testing.T) {
	h := newDoor(t)
	h.lists()
	elapid := inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia", Family: "Elapidae", Venomous: inventory.Yes, Hazards: h.species.Hazards}
	h.put(Record(elapid))
	mentor := h.signedOff("Ada", "2025-01-01")
	mentorGrant := ladder.Authorisation{ID: inventory.NewID(), Person: mentor.ID, What: ladder.MentorGrant, Stage: 2, On: d("2025-01-01"), Founding: "taught elsewhere", Signers: []inventory.ID{h.outside.ID}}
	trainee := h.personCalled("Ben")
	stage := ladder.Authorisation{ID: inventory.NewID(), Person: trainee.ID, What: ladder.StageGrant, Stage: 2, On: d("2025-01-01"), Founding: "kept elsewhere", Signers: []inventory.ID{h.outside.ID}}
	h.put(Record(mentorGrant), Record(stage))
	for i := range 104 { // 104 days of ten hours: 1,040 within ten months
		on := d("2025-01-10").Add(3 * i)
		begun := day.StartOf(on, time.UTC).Add(14 * time.Hour)
		h.put(Record(ladder.Session{ID: inventory.NewID(), Trainee: trainee.ID, Mentor: mentor.ID, Watched: inventory.Yes, Site: h.site.ID, Species: h.species.ID,
			Level: ladder.Hook, Results: "c", On: on, Begun: begun, Ended: begun.Add(10 * time.Hour), Signed: begun.Add(11 * time.Hour)}))
		// Ada handles alone, so that she stays current.
		h.put(Record(ladder.Session{ID: inventory.NewID(), Trainee: mentor.ID, Watched: inventory.No, Site: h.site.ID, Species: h.species.ID,
			Level: ladder.Hook, Results: "c", On: on, Begun: begun.Add(-2 * time.Hour), Ended: begun.Add(-time.Hour)}))
	}
	params := "{species: %s, all: [{hours: {at_least: 1000, same: family}}, {span: {at_least: 1 year, same: family}}]}"
	s := h.snapshot()
	for species, want := range map[string]map[string]Standing{
		"Crotalus atrox": {"2025-11-30": OutOfOrder, "2026-01-09": OutOfOrder, "2026-01-10": InOrder},
		"Naja kaouthia":  {"2026-01-10": OutOfOrder, "2026-06-01": OutOfOrder},
	} {
		b := books(t, pack("law", "law", "us/fl", rule("law.x", "experience", "person", "experience", replaced(params, "%s", species), "    scope: 'true'\n")),
			pack("house", "house", "", nothingAsked)+shortLadder)
		line := lineOf(t, b, s, "experience", trainee.Ref())
		for on, standing := range want {
			if got := line.At(d(on)); got.Standing != standing {
				t.Errorf("%s on %s: %s, want %s", species, on, got.Standing, standing)
			}
		}
	}
}

// TestFallen: a correction of a session on which a sign-off rests takes the
// sign-off back, and says so before.
func TestFallen(t *testing.T) {
	h := newDoor(t)
	h.lists()
	mentor := h.signedOff("Ada", "2026-03-01")
	trainee := h.personCalled("Ben")
	teaches := ladder.Authorisation{ID: inventory.NewID(), Person: mentor.ID, What: ladder.MentorGrant, Stage: 2, On: d("2026-03-01"), Founding: "taught elsewhere", Signers: []inventory.ID{h.outside.ID}}
	stage := ladder.Authorisation{ID: inventory.NewID(), Person: trainee.ID, What: ladder.StageGrant, Stage: 2, On: d("2026-03-01"), Founding: "kept elsewhere", Signers: []inventory.ID{h.outside.ID}}
	session := ladder.Session{ID: inventory.NewID(), Trainee: trainee.ID, Mentor: mentor.ID, Watched: inventory.Yes, Site: h.site.ID, Species: h.species.ID, Level: ladder.Hook, Results: "cc",
		On: d("2026-04-01"), Begun: time.Date(2026, 4, 1, 14, 0, 0, 0, time.UTC), Ended: time.Date(2026, 4, 1, 15, 0, 0, 0, time.UTC), Signed: time.Date(2026, 4, 1, 16, 0, 0, 0, time.UTC)}
	off := ladder.Authorisation{ID: inventory.NewID(), Person: trainee.ID, What: ladder.SpeciesGrant, Species: h.species.ID, Level: ladder.Hook, On: d("2026-04-02"), Signers: []inventory.ID{mentor.ID}}
	h.put(Record(teaches), Record(stage), Record(session), Record(off))
	asks := replaced(shortLadder, "{stage: 2, name: Fast, sign_off: {signs: []}", "{stage: 2, name: Fast, sign_off: {signs: [], entry: [{clean: {at_least: 2, same: species}}]}")
	b := books(t, pack("test", "house", "", nothingAsked)+asks)
	was := h.snapshot()
	if got := NewView(b, was, Ask{Now: noon}).Standings(h.site.ID).May(trainee.ID, h.species.ID, ladder.Hook, d("2026-04-02"), 0); got.May != inventory.Yes {
		t.Fatalf("not signed off: %+v", got)
	}
	session.Results = "cs"
	is, err := Record(session).Apply(was)
	if err != nil {
		t.Fatal(err)
	}
	fallen := Fallen(NewView(b, was, Ask{Now: noon}), NewView(b, is, Ask{Now: noon}))
	if len(fallen) != 1 || fallen[0].ID != off.ID || fallen[0].Worst != ladder.ConditionsUnmet {
		t.Errorf("fallen: %+v", fallen)
	}
}
