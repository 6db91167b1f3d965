package store

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
)

// TestSinceIsWhatChanged: what was so before is no news, what changed at the
// very instant is, and nothing is counted twice.
func TestSinceIsWhatChanged(t *testing.T) {
	for name, open := range databases {
		t.Run(name, func(t *testing.T) {
			st, now := clockwork(t, open)
			yesterday := noon.Add(24 * time.Hour)
			nearer, still, ends, brief := named("nearer"), named("still"), named("ends"), named("brief")
			mail := mailTo("a@house.example")
			swept := func(s Sweep) {
				t.Helper()
				s.ID = inventory.NewID()
				stored(t, st, guardOf(t, st), s)
			}
			swept(Sweep{Transitions: []compliance.Transition{openedAs(nearer), openedAs(still), openedAs(ends)}, Mails: []Mail{mail}, Reminders: []Reminder{toldBy(nearer, mail, 30)}})

			*now = yesterday
			committedAs(t, st, Actor{ID: "rowan", Name: "Rowan Invented"}, inventory.Species{ID: inventory.NewID(), Accepted: "Naja fictitia"}, inventory.Species{ID: inventory.NewID(), Accepted: "Naja inventa"})
			was := nearer
			nearer.Verdict.Step.By -= 10
			nearer.Worsened++
			brief.Opened = yesterday
			second := mailTo("b@house.example")
			swept(Sweep{Transitions: []compliance.Transition{{Move: compliance.Worse, Before: &was, After: &nearer}, openedAs(brief)},
				Mails: []Mail{second}, Reminders: []Reminder{toldBy(nearer, second, 7), toldBy(brief, second, 0)}})
			*now = yesterday.Add(time.Hour)
			over, gone := ends, brief
			over.Closed, over.How, gone.Closed, gone.How = *now, compliance.Met, *now, compliance.Ceased
			swept(Sweep{Transitions: []compliance.Transition{{Move: compliance.Closed, Before: &ends, After: &over}, {Move: compliance.Closed, Before: &brief, After: &gone}}})

			got, err := st.Since(t.Context(), yesterday)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff([]string{"brief"}, occurrences(got.Opened)); diff != "" {
				t.Errorf("opened (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff([]string{"brief", "ends"}, occurrences(got.Ended)); diff != "" {
				t.Errorf("ended (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff([]Worsened{{was, nearer}}, got.Worse); diff != "" {
				t.Errorf("worse (-want +got):\n%s", diff)
			}
			if got.Reminders != 2 || got.People != 1 {
				t.Errorf("%d reminders to %d people, want 2 to 1", got.Reminders, got.People)
			}
			if diff := cmp.Diff([]Changes{{"rowan (Rowan Invented)", "put species", 2, 2}}, got.Changes); diff != "" {
				t.Errorf("changes (-want +got):\n%s", diff)
			}
			checkQuiet(t, st, yesterday.Add(2*time.Hour))
		})
	}
}

func checkQuiet(t *testing.T, st *Store, from time.Time) {
	t.Helper()
	quiet, err := st.Since(t.Context(), from)
	if diff := cmp.Diff(&Since{From: from, Opened: []compliance.Finding{}, Ended: []compliance.Finding{}}, quiet); err != nil || diff != "" {
		t.Errorf("after everything, %v (-want +got):\n%s", err, diff)
	}
}

// TestSinceLooksFarEnoughBack: an entry that a clock set back dated earlier
// does not hide those before it, and what lies behind many is found.
func TestSinceLooksFarEnoughBack(t *testing.T) {
	st, now := clockwork(t, databases["sqlite"])
	*now = noon.Add(24 * time.Hour)
	var many []inventory.Species
	for i := range rune(behind + 10) {
		epithet := string([]rune{'a' + i/676, 'a' + i/26%26, 'a' + i%26})
		many = append(many, inventory.Species{ID: inventory.NewID(), Accepted: "Naja " + epithet})
	}
	committedAs(t, st, Actor{ID: "import"}, many...)
	*now = noon.Add(time.Hour)
	committedAs(t, st, Actor{ID: "set-back"}, inventory.Species{ID: inventory.NewID(), Accepted: "Naja inventa"})
	got, err := st.Since(t.Context(), noon.Add(24*time.Hour))
	if diff := cmp.Diff([]Changes{{"import", "put species", behind + 10, behind + 10}}, got.Changes); err != nil || diff != "" {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
}

func named(occurrence string) compliance.Finding {
	f := fullFinding()
	f.Key.Occurrence, f.Worsened = occurrence, 0
	return f
}

func committedAs(t *testing.T, st *Store, who Actor, records ...inventory.Species) {
	t.Helper()
	var batch compliance.Batch
	for _, r := range records {
		batch = append(batch, compliance.Record(r))
	}
	_, err := st.Commit(t.Context(), who, batch)
	ok(t, err)
}

func occurrences(list []compliance.Finding) (out []string) {
	for _, f := range list {
		out = append(out, f.Key.Occurrence)
	}
	slices.Sort(out)
	return out
}
