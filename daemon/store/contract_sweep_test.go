package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// contractASweepIsGuarded: a change or another sweep since the read, the same
// sweep again, or a guard of another house, and nothing at all is written.
func contractASweepIsGuarded(t *testing.T, open opener) {
	again := fullSweep()
	for name, c := range map[string]struct {
		sweep Sweep
		move  func(t *testing.T, st *Store, g *Guard)
	}{
		"a change": {fullSweep(), func(t *testing.T, st *Store, _ *Guard) {
			committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
		}},
		"another sweep":  {fullSweep(), func(t *testing.T, st *Store, g *Guard) { stored(t, st, *g, Sweep{ID: inventory.NewID()}) }},
		"the same sweep": {again, func(t *testing.T, st *Store, g *Guard) { stored(t, st, *g, again) }},
		"another chain":  {fullSweep(), func(_ *testing.T, _ *Store, g *Guard) { g.Head.Chain[31] ^= 1 }},
		"no guard":       {fullSweep(), func(_ *testing.T, _ *Store, g *Guard) { *g = Guard{} }},
		"a sweep ahead":  {fullSweep(), func(_ *testing.T, _ *Store, g *Guard) { g.LastSweep = inventory.NewID() }},
	} {
		t.Run(name, func(t *testing.T) {
			st := open(t)
			committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
			guard := guardOf(t, st)
			c.move(t, st, &guard)
			before := counted(t, placeOf(t, st))
			if err := st.StoreSweep(t.Context(), guard, c.sweep); !errors.Is(err, ErrMoved) {
				t.Fatalf("%v, want ErrMoved", err)
			}
			if after := counted(t, placeOf(t, st)); !maps.Equal(before, after) {
				t.Errorf("a refused sweep wrote\nbefore %v\nafter  %v", before, after)
			}
			stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID()}) // and a sweep that rests on what there is now is taken
		})
	}
}

// contractASweepThatConflictsWritesNothing, wherever in it the conflict is.
func contractASweepThatConflictsWritesNothing(t *testing.T, open opener) {
	first := fullSweep()
	for name, spoil := range map[string]func(*Sweep){
		"a reminder that was told":         func(s *Sweep) { s.Reminders = append(s.Reminders, first.Reminders[0]) },
		"a reminder twice":                 func(s *Sweep) { s.Reminders = append(s.Reminders, s.Reminders[0]) },
		"a reminder by no mail":            func(s *Sweep) { s.Reminders[0].Mail = inventory.NewID() },
		"a second digest of the day":       func(s *Sweep) { s.Mails[1].Recipient = first.Mails[0].Recipient },
		"a message id twice":               func(s *Sweep) { s.Mails[1].MessageID = s.Mails[0].MessageID },
		"a mail twice":                     func(s *Sweep) { s.Mails[1].ID = first.Mails[0].ID },
		"two open findings of one key":     func(s *Sweep) { s.Transitions[0].After.Key = first.Transitions[0].After.Key },
		"a sweep identifier that was used": func(s *Sweep) { s.ID = first.ID },
	} {
		t.Run(name, func(t *testing.T) {
			st := open(t)
			stored(t, st, guardOf(t, st), first)
			before := counted(t, placeOf(t, st))
			second := fullSweep()
			spoil(&second)
			if err := st.StoreSweep(t.Context(), guardOf(t, st), second); !errors.Is(err, ErrConflict) {
				t.Errorf("%v, want ErrConflict", err)
			}
			if after := counted(t, placeOf(t, st)); !maps.Equal(before, after) {
				t.Errorf("it wrote\nbefore %v\nafter  %v", before, after)
			}
			stored(t, st, guardOf(t, st), fullSweep())
		})
	}
}

// contractAReminderIsOneForEachOfItsParts: whatever part of its key differs, it
// is another reminder.
func contractAReminderIsOneForEachOfItsParts(t *testing.T, open opener) {
	st := open(t)
	f, m, other := fullFinding(), mailTo("a@house.example"), mailTo("b@house.example")
	base := toldBy(f, m, 7)
	told := []Reminder{base}
	for _, vary := range []func(*Reminder){
		func(r *Reminder) { r.Key.Requirement += "x" },
		func(r *Reminder) { r.Key.Subject = inventory.Holding(inventory.NewID(), inventory.NewID()) },
		func(r *Reminder) { r.Key.Occurrence = "" },
		func(r *Reminder) { r.Do = compliance.ConfirmList },
		func(r *Reminder) { r.Instance = inventory.Ref{} },
		func(r *Reminder) { r.Arm++ },
		func(r *Reminder) { r.Threshold = -1 },
		func(r *Reminder) { r.Recipient = other.Recipient },
	} {
		r := base
		vary(&r)
		told = append(told, r)
	}
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Mails: []Mail{m, other}, Reminders: told})
	read, err := st.Reminders(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	byKey := func(list []Reminder) map[Reminder]int {
		out := make(map[Reminder]int)
		for _, r := range list {
			out[r]++
		}
		return out
	}
	if diff := cmp.Diff(byKey(told), byKey(read)); diff != "" {
		t.Errorf("reminders came back otherwise (-told +read):\n%s", diff)
	}
	for i, r := range told {
		each(t, fmt.Sprintf("%v %v again", r.Do, i), func(t *testing.T) {
			if err := st.StoreSweep(t.Context(), guardOf(t, st), Sweep{ID: inventory.NewID(), Reminders: []Reminder{r}}); !errors.Is(err, ErrConflict) {
				t.Errorf("%+v again: %v, want ErrConflict", r, err)
			}
		})
	}
	if n := counted(t, placeOf(t, st))["reminder"]; n != len(told) {
		t.Errorf("%d reminders, want %d", n, len(told))
	}
}

// contractManyFindingsInOneSweep: more than go into one statement.
func contractManyFindingsInOneSweep(t *testing.T, open opener) {
	st := open(t)
	s, m := Sweep{ID: inventory.NewID()}, mailTo("a@house.example")
	s.Mails = []Mail{m}
	const many = 2*perStatement + 1
	for range many {
		f := bareFinding()
		s.Transitions = append(s.Transitions, openedAs(f))
		s.Reminders = append(s.Reminders, toldBy(f, m, 0))
	}
	stored(t, st, guardOf(t, st), s)
	if n := counted(t, placeOf(t, st)); n["finding"] != many || n["finding_transition"] != many || n["reminder"] != many {
		t.Errorf("%v; want %d of each", n, many)
	}
}

// contractWhatWasToldStaysTold: the log of transitions takes neither edits nor
// removals, from whatever connection.
func contractWhatWasToldStaysTold(t *testing.T, open opener) {
	st := open(t)
	stored(t, st, guardOf(t, st), fullSweep())
	db := outsider(t, placeOf(t, st))
	for _, statement := range []string{`DELETE FROM finding_transition`, `UPDATE finding_transition SET move = 'closed'`, `UPDATE finding_transition SET at = at + 1`, `UPDATE finding_transition SET after = after`} {
		each(t, statement, func(t *testing.T) {
			if _, err := db.ExecContext(t.Context(), statement); err == nil {
				t.Error("it was taken")
			}
		})
	}
	if n := counted(t, placeOf(t, st))["finding_transition"]; n != 2 {
		t.Errorf("%d transitions, want 2", n)
	}
}

// contractASweepKeepsWhatItRestedOn: the head, the hashes and the engine.
func contractASweepKeepsWhatItRestedOn(t *testing.T, open opener) {
	st := open(t)
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	s := fullSweep()
	stored(t, st, guardOf(t, st), s)
	got := sweepRow{}
	err := outsider(t, placeOf(t, st)).QueryRowContext(context.Background(), `SELECT number, id, started, finished, head, pack_hash, holiday_hash, engine, judged FROM sweep`).
		Scan(&got.Number, &got.ID, &got.Started, &got.Finished, &got.Head, &got.PackHash, &got.HolidayHash, &got.Engine, &got.Judged)
	want := sweepRow{Number: 1, ID: key(s.ID), Started: s.Started.UnixMicro(), Finished: noon.UnixMicro(), Head: 1, PackHash: "p", HolidayHash: "h", Engine: "e", Judged: 2}
	if err != nil || got != want {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
	if view, err := st.Read(t.Context()); err != nil || view.LastSweep != s.ID || !view.Digests[DigestKey{s.Mails[0].Recipient, day.In(noon, time.UTC)}] {
		t.Errorf("the sweep is not the last, or its digest is not known (%v)", err)
	}
}
