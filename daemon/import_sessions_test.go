package daemon

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/daemon/answer"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// schooled is a small house with a founding mentor and two trainees, of whom
// one may handle what is harmless.
func schooled(t *testing.T) (Options, ImportRequest) {
	t.Helper()
	opt, req := importing(t, map[string]string{"animals.csv": "accession,species,arrived\nA1,Pantherophis guttatus,2025-01-05\nA2,Naja kaouthia,2025-01-06\n"})
	imported(t, opt, req)
	opt.settle()
	st, err := opt.open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var site inventory.ID
	for s := range view.Snapshot.Sites.All() {
		site = s.ID
	}
	var batch compliance.Batch
	for s := range view.Snapshot.Species.All() {
		known := *s
		known.Venomous = inventory.Bool(s.Accepted == "Naja kaouthia")
		batch = append(batch, compliance.Record(known))
	}
	person := func(name string, role compliance.Role) inventory.ID {
		p := compliance.Person{ID: inventory.NewID(), Called: name, Site: site, Offices: []compliance.Office{{Role: role}}}
		batch = append(batch, compliance.Record(p))
		return p.ID
	}
	ada, odo, ivo := person("Ada Fern", compliance.Head), person("Odo Fern", "lead-keeper"), person("Ivo Marsh", "trainee")
	person("Uma Reed", "trainee")
	founded := func(a ladder.Authorisation) {
		a.ID, a.On, a.Founding, a.Signers, a.Until = inventory.NewID(), day.MustParse("2026-09-01"), "log of 2019 to 2025", []inventory.ID{ada}, day.Until(day.MustParse("2027-08-31"))
		batch = append(batch, compliance.Record(a))
	}
	founded(ladder.Authorisation{Person: odo, What: ladder.StageGrant, Stage: 3})
	founded(ladder.Authorisation{Person: odo, What: ladder.MentorGrant, Stage: 3})
	founded(ladder.Authorisation{Person: ivo, What: ladder.StageGrant, Stage: 2})
	for _, change := range batch {
		if _, err := st.Commit(t.Context(), store.Actor{ID: "Ada Fern"}, change); err != nil {
			t.Fatal(err)
		}
	}
	req.House, req.Zone, req.NewSpecies = "", "", false
	return opt, req
}

const trainingLog = `date,trainee,mentor,species,task,results,from,to,signed
2026-10-01,Ivo Marsh,Odo Fern,Pantherophis guttatus,hook,ccc,10:00,10:30,2026-10-01
2026-10-02,Ivo Marsh,Odo Fern,Pantherophis guttatus,hook,ccc,10:00,10:30,2026-10-02
2026-10-03,Ivo Marsh,Odo Fern,Pantherophis guttatus,hook,ccc,10:00,10:30,
2026-10-04,Ivo Marsh,Odo Fern,Pantherophis guttatus,hook,ccc,10:00,10:30,2026-11-20
2026-10-05,Ivo Marsh,,Pantherophis guttatus,hook,ccc,10:00,10:30,2026-10-05
2026-10-06,Ivo Marsh,Odo Fern,Naja kaouthia,hook,ccc,10:00,10:30,2026-10-06
2026-10-07,Uma Reed,alone,Naja kaouthia,hook,cs,10:00,10:30,
2026-10-08,Uma Reed,Odo Fen,Pantherophis guttatus,hook,ccc,10:00,10:30,
2026-10-09,Ivo Marsh,alone,Pantherophis guttatus,hook,ccc,10:00,10:30,
`

// TestImportSaysWhichSessionsCount, and why the others do not; before it and
// after it alike, and as the ladder says of each person.
func TestImportSaysWhichSessionsCount(t *testing.T) {
	opt, req := schooled(t)
	req.From = filepath.Join(t.TempDir(), "sessions.csv")
	if err := os.WriteFile(req.From, []byte(trainingLog), 0o600); err != nil {
		t.Fatal(err)
	}
	req.DryRun = true
	before := imported(t, opt, req)
	req.DryRun = false
	after := imported(t, opt, req)
	again := imported(t, opt, req)
	want := &answer.TakenSessions{Taken: 8, Count: 3, Not: 4, CannotTell: 1, Ask: "antidotary ladder NAME", People: []string{"Ivo Marsh", "Uma Reed"}, Why: []answer.SessionsWhy{
		{Counts: inventory.Yes, Why: "counts as handling, nobody watched", Sessions: 1},
		{Counts: inventory.No, Why: "nobody watched, and the person could not open it then", Sessions: 1},
		{Counts: inventory.No, Why: "not signed by the mentor", Sessions: 1},
		{Counts: inventory.No, Why: "signed too late", Sessions: 1},
		{Counts: inventory.No, Why: "the trainee did not hold the stage of the animal", Sessions: 1},
		{Counts: inventory.Unknown, Why: "who watched is not recorded", Sessions: 1},
	}}
	for name, a := range map[string]*ImportAnswer{"before": before, "after": after, "again": again} {
		got, wanted := asJSON(t, a.Sessions), asJSON(t, want)
		if got != wanted {
			t.Errorf("%s: %s\nwant: %s", name, got, wanted)
		}
	}
	if before.Recorded != 0 || after.Recorded != 8 || again.Recorded != 0 || again.Lists[0].Same != 8 || len(after.Refused) != 1 {
		t.Errorf("recorded %d, %d, %d: %v", before.Recorded, after.Recorded, again.Recorded, after.Refused)
	}
	var text strings.Builder
	if err := after.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		"Of 8 sessions 3 count, 4 do not, and of 1 it cannot be told:\n",
		"     1  do not count: signed too late\n",
		"     1  cannot tell: who watched is not recorded\n",
		"     1  counts as handling, nobody watched\n",
		"antidotary ladder NAME lists each of them, and why.\n",
		"What went wrong in a session counts in any case.",
	} {
		if !strings.Contains(text.String(), line) {
			t.Errorf("not told: %s\n%s", line, text.String())
		}
	}
	r, err := Evaluate(t.Context(), opt, Question{})
	if err != nil {
		t.Fatal(err)
	}
	counted, not := 0, 0
	for p := range r.View.People.All() {
		if climb, ok := answer.NewClimb(r, p); ok {
			counted, not = counted+climb.Counted, not+climb.Not
		}
	}
	if counted != want.Count || not != want.Not+want.CannotTell {
		t.Errorf("the ladder counts %d and %d not", counted, not)
	}
}

func asJSON(t *testing.T, v any) string {
	t.Helper()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", " ")
	if err := e.Encode(v); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestImportWithoutSessionsSaysNothingOfThem: neither does one that takes none.
func TestImportWithoutSessionsSaysNothingOfThem(t *testing.T) {
	opt, req := importing(t, twoAnimals)
	if a := imported(t, opt, req); a.Sessions != nil {
		t.Errorf("%+v", a.Sessions)
	}
	opt, req = schooled(t)
	req.From = filepath.Join(t.TempDir(), "sessions.csv")
	if err := os.WriteFile(req.From, []byte(trainingLog), 0o600); err != nil {
		t.Fatal(err)
	}
	req.AllOrNothing = true
	for _, req.DryRun = range []bool{true, false} {
		if a := imported(t, opt, req); a.Sessions != nil || a.Recorded != 0 || len(a.Refused) == 0 {
			t.Errorf("dry run %v: %+v", req.DryRun, a.Sessions)
		}
	}
}

// TestSessionsWithoutALadder: whether they count cannot be told.
func TestSessionsWithoutALadder(t *testing.T) {
	opt, req := schooled(t)
	req.From = filepath.Join(t.TempDir(), "sessions.csv")
	if err := os.WriteFile(req.From, []byte(trainingLog), 0o600); err != nil {
		t.Fatal(err)
	}
	opt.Config.Shipped = false // no packs at all
	a := imported(t, opt, req)
	if a.Sessions == nil || a.Sessions.Count != 0 || a.Sessions.CannotTell != 8 || !reflect.DeepEqual(a.Sessions.Why, []answer.SessionsWhy{{Counts: inventory.Unknown, Why: "no ladder says how people are brought on where the trainee works", Sessions: 8}}) {
		t.Errorf("%+v", a.Sessions)
	}
}
