package store

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// both runs a test on each database.
func both(t *testing.T, test func(t *testing.T, database string, st *Store, now *time.Time)) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database, now := place(t), noon
			st, err := Open(t.Context(), database, Options{Clock: func() time.Time { return now }})
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { st.Close() })
			test(t, database, st, &now)
		})
	}
}

func knownAtInstant(t testing.TB, st *Store, at time.Time) *Past {
	t.Helper()
	p, err := st.KnownAt(t.Context(), at)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestEachKindComesBackFromItsAfterImage, full and bare.
func TestEachKindComesBackFromItsAfterImage(t *testing.T) {
	k, seen := newKeys(), make(map[inventory.Kind]int)
	for _, records := range [][]inventory.Record{fullRecords(k), bareRecords(k)} {
		for _, rec := range records {
			image, err := json.Marshal(rec)
			if err != nil {
				t.Fatal(err)
			}
			from, ok := tables[rec.Ref().Kind].(imaged)
			if !ok {
				t.Fatalf("no %s can be read back", rec.Ref().Kind)
			}
			var got compliance.Snapshot
			if err := from.recall([]string{string(image)}, &got); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(map[string]inventory.Record{rec.Ref().String(): rec}, recordsIn(&got)); diff != "" {
				t.Errorf("%s (-put +read):\n%s", rec.Ref().Kind, diff)
			}
			seen[rec.Ref().Kind]++
		}
	}
	for _, kind := range inventory.Kinds() {
		if seen[kind] < 2 {
			t.Errorf("%d of kind %s were read back, want a full and a bare one", seen[kind], kind)
		}
	}
}

// TestAnUnknownFieldOfAnAfterImage is refused: without it the record would be
// another.
func TestAnUnknownFieldOfAnAfterImage(t *testing.T) {
	err := tables[inventory.KindSpecies].(imaged).recall([]string{`{"id":"01890000-0000-7000-8000-000000000000","poise":1}`}, &compliance.Snapshot{})
	if err == nil || !strings.Contains(err.Error(), "poise") {
		t.Errorf("%v, want an error that names the field", err)
	}
}

// TestRecordsOfThen: after each of random commits, an hour apart, the records
// are noted; at the end, each noted instant gives just those, and so does the
// last microsecond before the next commit.
func TestRecordsOfThen(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, now *time.Time) {
		type noted struct {
			at   time.Time
			head Head
			want map[string]inventory.Record
		}
		var notes []noted
		sets, all := []keys{newKeys(), newKeys()}, &compliance.Snapshot{}
		for i, seed := 0, 1; len(notes) < 12; seed++ {
			batch := rapid.Custom(func(rt *rapid.T) *compliance.Batch {
				next := all
				b := randomBatch(rt, sets, &next)
				return &b
			}).Example(seed)
			next, err := batch.Apply(all)
			if err != nil {
				t.Fatal(err)
			}
			*now = noon.Add(time.Duration(i) * time.Hour)
			before := guardOf(t, st).Head
			head := committed(t, st, *batch...)
			if all = next; head == before {
				continue // everything was refused
			}
			notes, i = append(notes, noted{*now, head, recordsIn(all)}), i+1
		}
		for _, n := range notes {
			for _, at := range []time.Time{n.at, n.at.Add(time.Hour - time.Microsecond)} {
				p := knownAtInstant(t, st, at)
				if diff := cmp.Diff(n.want, recordsIn(p.Snapshot)); diff != "" || p.Head != n.head || len(p.Erased) != 0 {
					t.Fatalf("at %s: head %s, want %s, %d erased (-then +recalled):\n%s", at, p.Head, n.head, len(p.Erased), diff)
				}
			}
		}
		p := knownAtInstant(t, st, noon.Add(-time.Microsecond))
		if p.Head != (Head{}) || len(recordsIn(p.Snapshot)) != 0 || p.Told != nil || !p.First.Equal(noon) {
			t.Errorf("before the first entry: %+v", p)
		}
	})
}

// TestAClockThatWasSetBack: the order of the journal counts. What stands
// before an entry was known with it.
func TestAClockThatWasSetBack(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, now *time.Time) {
		species := func(name string) compliance.Change {
			return compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: name})
		}
		*now = noon.AddDate(1, 0, 0) // wrong by a year
		committed(t, st, species("Naja naja"))
		*now = noon
		committed(t, st, species("Naja kaouthia"))
		*now = noon.Add(time.Hour)
		committed(t, st, species("Naja nivea"))
		for at, want := range map[time.Time]int{noon.Add(-time.Second): 0, noon: 2, noon.Add(time.Hour): 3, noon.AddDate(1, 0, 0): 3} {
			if got := knownAtInstant(t, st, at).Snapshot.Species.Len(); got != want {
				t.Errorf("at %s %d species were known, want %d", at, got, want)
			}
		}
	})
}

// TestWhatWasErasedIsCounted where it was the last that was known of a record
// by then, and only there.
func TestWhatWasErasedIsCounted(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, now *time.Time) {
		one := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
		other := compliance.Person{ID: inventory.NewID(), Called: "Somebody Else"}
		committed(t, st, compliance.Record(one), compliance.Record(other))
		if n, err := st.Erase(t.Context(), one.Ref().String()); err != nil || n != 1 {
			t.Fatalf("erased %d, %v", n, err)
		}
		*now = noon.Add(time.Hour)
		one.Email = "somebody@house.example"
		committed(t, st, compliance.Record(one))
		for _, c := range []struct {
			at     time.Time
			known  int
			erased []inventory.Ref
		}{
			{noon, 1, []inventory.Ref{one.Ref()}},
			{noon.Add(time.Hour), 2, nil},
		} {
			p := knownAtInstant(t, st, c.at)
			if diff := cmp.Diff(c.erased, p.Erased); diff != "" || p.Snapshot.People.Len() != c.known {
				t.Errorf("at %s: %d known, want %d; erased (-want +got):\n%s", c.at, p.Snapshot.People.Len(), c.known, diff)
			}
		}
	})
}

// TestAJournalThatDoesNotHoldIsNoEvidence, up to the entry that was altered.
func TestAJournalThatDoesNotHoldIsNoEvidence(t *testing.T) {
	st, path, _ := journalOf(t)
	run(t, intruder(t, path), `UPDATE journal SET payload = '{}' WHERE position = 3`)
	if _, err := st.KnownAt(t.Context(), noon); err == nil || !strings.Contains(err.Error(), "entry 3") {
		t.Errorf("%v, want an error about entry 3", err)
	}
}

// TestToldByThen: after each of several sweeps the open findings are noted;
// at the end, each sweep's instant gives just those, with what it rested on
// and the pulse that it had.
func TestToldByThen(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, now *time.Time) {
		committed(t, st, demo.Small(day.In(noon, time.UTC), day.Embedded()))
		full, bare := fullFinding(), bareFinding()
		closed := full
		closed.Closed, closed.How = noon.Add(2*time.Hour), compliance.Late
		worse := bare
		worse.Verdict.Standing, worse.Worsened = compliance.CannotTell, 1
		again := full
		again.ID = inventory.NewID()
		type noted struct {
			at    time.Time
			sweep inventory.ID
			open  []compliance.Finding
			pulse compliance.Pulse
		}
		var notes []noted
		for i, moves := range [][]compliance.Transition{
			{openedAs(full), openedAs(bare)},
			{{Move: compliance.Worse, Before: &bare, After: &worse}},
			{{Move: compliance.Closed, Before: &full, After: &closed}},
			nil,
			{openedAs(again)},
		} {
			*now = noon.Add(time.Duration(i) * time.Hour)
			view, err := st.Read(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			s := Sweep{ID: inventory.NewID(), Started: *now, Transitions: moves, Mails: []Mail{mailTo("a@house.example")}, PackHash: "p", HolidayHash: "h", Engine: "e"}
			s.Mails[0].LocalDay += day.Day(i)
			stored(t, st, view.Guard(), s)
			after, err := st.Read(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			notes = append(notes, noted{*now, s.ID, after.Open, view.Snapshot.Pulse})
			if i == 1 { // one mail goes out between two sweeps
				*now = now.Add(time.Minute)
				c := claim(t, st)
				if err := st.Finish(t.Context(), c[0].ID, c[0].Token, Outcome{State: MailSent}); err != nil {
					t.Fatal(err)
				}
			}
		}
		for i, n := range notes {
			p := knownAtInstant(t, st, n.at.Add(time.Microsecond))
			if p.Told == nil || p.Told.Sweep != n.sweep || p.Told.Engine != "e" || p.Told.PackHash != "p" || p.Told.HolidayHash != "h" || !p.Told.Started.Equal(n.at) {
				t.Fatalf("sweep %d: %+v", i, p.Told)
			}
			if diff := cmp.Diff(byID(n.open), byID(p.Told.Open)); diff != "" {
				t.Errorf("sweep %d (-told +recalled):\n%s", i, diff)
			}
			if i == 0 {
				n.pulse.Swept = n.at // that there was none before was no news
			}
			if n.pulse.OldestMail.IsZero() { // the sweep's own mail, of that very instant
				n.pulse.OldestMail = n.at
			}
			if diff := cmp.Diff(n.pulse, p.Told.Snapshot.Pulse); diff != "" {
				t.Errorf("pulse of sweep %d (-then +recalled):\n%s", i, diff)
			}
			if !p.Snapshot.Pulse.Swept.Equal(n.at) {
				t.Errorf("after sweep %d the last was at %s", i, p.Snapshot.Pulse.Swept)
			}
		}
	})
}

func byID(list []compliance.Finding) map[inventory.ID]compliance.Finding {
	out := make(map[inventory.ID]compliance.Finding)
	for _, f := range list {
		out[f.ID] = f
	}
	return out
}

// TestRunsThatWereRemoved: whether a job had run by then cannot be told, where
// no run of then is left and some were removed since.
func TestRunsThatWereRemoved(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, now *time.Time) {
		committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
		ran := func(job string) {
			t.Helper()
			r, claimed, err := st.ClaimSlot(t.Context(), SlotClaim{Job: job, Worker: "w", Lease: time.Minute, Due: func(_, at time.Time) (time.Time, int) { return at, 0 }})
			if err != nil || !claimed {
				t.Fatalf("claimed %t, %v", claimed, err)
			}
			if err := st.FinishSlot(t.Context(), r, nil, 0); err != nil {
				t.Fatal(err)
			}
		}
		ran(compliance.JobConfirm)
		ran(compliance.JobPrune)
		*now = noon.AddDate(0, 0, 7)
		if p := knownAtInstant(t, st, *now); p.RunsRemoved || !p.Snapshot.Pulse.Confirmed.Equal(noon) || !p.Snapshot.Pulse.Pruned.Equal(noon) {
			t.Errorf("%t, %+v", p.RunsRemoved, p.Snapshot.Pulse)
		}
		ran(compliance.JobConfirm)
		ran(compliance.JobPrune)
		if p := knownAtInstant(t, st, noon.Add(time.Hour)); p.RunsRemoved || !p.Snapshot.Pulse.Confirmed.Equal(noon) {
			t.Errorf("before anything was removed: %t, %+v", p.RunsRemoved, p.Snapshot.Pulse)
		}
		if _, err := st.Prune(t.Context(), noon.Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
		if p := knownAtInstant(t, st, noon.Add(time.Hour)); !p.RunsRemoved || p.Snapshot.Pulse.Confirmed.IsZero() {
			t.Errorf("after it: %t, %+v", p.RunsRemoved, p.Snapshot.Pulse)
		}
	})
}
