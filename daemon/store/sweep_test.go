package store

import (
	"context"
	"errors"
	"maps"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// fullFinding has every field set.
func fullFinding() compliance.Finding {
	site := inventory.Ref{Kind: inventory.KindSite, ID: inventory.NewID()}
	return compliance.Finding{ID: inventory.NewID(), Key: compliance.Key{Requirement: "drill", Subject: site, Occurrence: "2026"}, Site: site.ID,
		Layer: compliance.Law, Severity: compliance.Critical, Rule: "us.r",
		Verdict: compliance.Verdict{Standing: compliance.OutOfOrder, State: compliance.Overdue, Cause: site, Step: compliance.Step{Do: compliance.HoldActivity,
			Instance: site, By: on("2026-11-01"), Legal: on("2026-11-02"), Window: 30, Owner: compliance.SafetyOfficer, Provisional: true}},
		Opened: noon, Lapsed: true, Missed: true, Worsened: 2, Arm: 739000}
}

// bareFinding has no field set but what makes it one.
func bareFinding() compliance.Finding {
	return compliance.Finding{ID: inventory.NewID(), Key: compliance.Key{Requirement: "house", Subject: inventory.Ref{Kind: inventory.KindOrganisation, ID: inventory.NewID()}}, Opened: noon.Add(time.Microsecond)}
}

func openedAs(f compliance.Finding) compliance.Transition {
	return compliance.Transition{Move: compliance.Opened, After: &f}
}

// toldBy is a reminder of a finding in a mail.
func toldBy(f compliance.Finding, m Mail, threshold int) Reminder {
	return Reminder{notify.Reminder{Key: f.Key, Do: f.Verdict.Step.Do, Instance: f.Verdict.Step.Instance, Arm: f.Arm, Threshold: threshold, Recipient: m.Recipient}, m.ID}
}

// fullSweep is a sweep with something in each of its tables.
func fullSweep() Sweep {
	f, m := fullFinding(), mailTo("a@house.example")
	return Sweep{ID: inventory.NewID(), Started: noon.Add(-time.Second), Transitions: []compliance.Transition{openedAs(f), openedAs(bareFinding())},
		Reminders: []Reminder{toldBy(f, m, 7), toldBy(f, m, 0)}, Mails: []Mail{m, mailTo("b@house.example")}, PackHash: "p", HolidayHash: "h", Engine: "e", Judged: 2}
}

// counted gives the number of rows of each table, as another connection sees
// them.
func counted(t *testing.T, path string) map[string]int {
	t.Helper()
	db := outsider(t, path)
	out := make(map[string]int)
	for _, table := range []string{"journal", "organisation", "species", "sweep", "finding", "finding_transition", "outbox", "reminder"} {
		var n int
		if err := db.QueryRowContext(t.Context(), `SELECT count(*) FROM `+table).Scan(&n); err != nil {
			t.Fatal(err)
		}
		out[table] = n
	}
	return out
}

func guardOf(t *testing.T, st *Store) Guard {
	t.Helper()
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return view.Guard()
}

// TestASweepIsGuarded: a change or another sweep since the read, the same
// sweep again, or a guard of another house, and nothing at all is written.
func TestASweepIsGuarded(t *testing.T) {
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
			st, path := opened(t)
			committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
			guard := guardOf(t, st)
			c.move(t, st, &guard)
			before := counted(t, path)
			if err := st.StoreSweep(t.Context(), guard, c.sweep); !errors.Is(err, ErrMoved) {
				t.Fatalf("%v, want ErrMoved", err)
			}
			if after := counted(t, path); !maps.Equal(before, after) {
				t.Errorf("a refused sweep wrote\nbefore %v\nafter  %v", before, after)
			}
			stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID()}) // and a sweep that rests on what there is now is taken
		})
	}
}

func stored(t *testing.T, st *Store, g Guard, s Sweep) {
	t.Helper()
	if err := st.StoreSweep(t.Context(), g, s); err != nil {
		t.Fatal(err)
	}
}

// TestASweepThatConflictsWritesNothing, wherever in it the conflict is.
func TestASweepThatConflictsWritesNothing(t *testing.T) {
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
			st, path := opened(t)
			stored(t, st, guardOf(t, st), first)
			before := counted(t, path)
			second := fullSweep()
			spoil(&second)
			if err := st.StoreSweep(t.Context(), guardOf(t, st), second); !errors.Is(err, ErrConflict) {
				t.Errorf("%v, want ErrConflict", err)
			}
			if after := counted(t, path); !maps.Equal(before, after) {
				t.Errorf("it wrote\nbefore %v\nafter  %v", before, after)
			}
			stored(t, st, guardOf(t, st), fullSweep())
		})
	}
}

// TestAReminderIsOneForEachOfItsParts: whatever part of its key differs, it
// is another reminder.
func TestAReminderIsOneForEachOfItsParts(t *testing.T) {
	st, path := opened(t)
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
	view, err := st.Read(t.Context())
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
	if diff := cmp.Diff(byKey(told), byKey(view.Reminders)); diff != "" {
		t.Errorf("reminders came back otherwise (-told +read):\n%s", diff)
	}
	for _, r := range told {
		if err := st.StoreSweep(t.Context(), guardOf(t, st), Sweep{ID: inventory.NewID(), Reminders: []Reminder{r}}); !errors.Is(err, ErrConflict) {
			t.Errorf("%+v again: %v, want ErrConflict", r, err)
		}
	}
	if n := counted(t, path)["reminder"]; n != len(told) {
		t.Errorf("%d reminders, want %d", n, len(told))
	}
}

// TestFindingsComeBack as they were stored, open ones and those that closed
// within a fortnight.
func contractFindingsComeBack(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	full, bare := fullFinding(), bareFinding()
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{openedAs(full), openedAs(bare)}})
	wantFindings(t, st, []compliance.Finding{full, bare}, nil)
	closed := full
	closed.Closed, closed.How = noon.Add(time.Hour), compliance.Late
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{{Move: compliance.Closed, Before: &full, After: &closed}}})
	wantFindings(t, st, []compliance.Finding{bare}, []compliance.Finding{closed})
	second := full // an episode of the same key, now that the first is over
	second.ID, second.Arm = inventory.NewID(), full.Arm+30
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{openedAs(second)}})
	wantFindings(t, st, []compliance.Finding{second, bare}, []compliance.Finding{closed})
	*now = closed.Closed.Add(14 * 24 * time.Hour)
	wantFindings(t, st, []compliance.Finding{second, bare}, []compliance.Finding{closed})
	*now = now.Add(time.Microsecond)
	wantFindings(t, st, []compliance.Finding{second, bare}, []compliance.Finding{})
}

func wantFindings(t *testing.T, st *Store, open, closed []compliance.Finding) {
	t.Helper()
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if closed == nil {
		closed = []compliance.Finding{}
	}
	if diff := cmp.Diff(open, view.Open); diff != "" {
		t.Errorf("open findings (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(closed, view.Closed); diff != "" {
		t.Errorf("closed findings (-want +got):\n%s", diff)
	}
}

// TestManyFindingsInOneSweep: more than go into one statement.
func TestManyFindingsInOneSweep(t *testing.T) {
	st, path := opened(t)
	s, m := Sweep{ID: inventory.NewID()}, mailTo("a@house.example")
	s.Mails = []Mail{m}
	const many = 2*perStatement + 1
	for range many {
		f := bareFinding()
		s.Transitions = append(s.Transitions, openedAs(f))
		s.Reminders = append(s.Reminders, toldBy(f, m, 0))
	}
	stored(t, st, guardOf(t, st), s)
	if n := counted(t, path); n["finding"] != many || n["finding_transition"] != many || n["reminder"] != many {
		t.Errorf("%v; want %d of each", n, many)
	}
}

// TestWhatWasToldStaysTold: the log of transitions takes neither edits nor
// removals, from whatever connection.
func TestWhatWasToldStaysTold(t *testing.T) {
	st, path := opened(t)
	stored(t, st, guardOf(t, st), fullSweep())
	db := outsider(t, path)
	for _, statement := range []string{`DELETE FROM finding_transition`, `UPDATE finding_transition SET move = 'closed'`, `UPDATE finding_transition SET at = at + 1`, `UPDATE finding_transition SET after = after`} {
		if _, err := db.ExecContext(t.Context(), statement); err == nil {
			t.Errorf("%s was taken", statement)
		}
	}
	if n := counted(t, path)["finding_transition"]; n != 2 {
		t.Errorf("%d transitions, want 2", n)
	}
}

// TestThePulse: when the watch last swept, since when the oldest mail waits,
// and when a server last took one.
func contractThePulse(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	pulse := func() compliance.Pulse {
		t.Helper()
		view, err := st.Read(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return view.Snapshot.Pulse
	}
	if got := pulse(); got != (compliance.Pulse{}) {
		t.Errorf("before the first sweep: %+v", got)
	}
	queued(t, st, mailTo("a@house.example"))
	if want := (compliance.Pulse{Swept: noon, OldestMail: noon, Since: noon}); pulse() != want {
		t.Errorf("after a sweep: %+v, want %+v", pulse(), want)
	}
	*now = now.Add(time.Hour)
	queued(t, st, mailTo("b@house.example"))
	c := claim(t, st)
	*now = now.Add(time.Minute)
	if err := st.Finish(t.Context(), c[0].ID, c[0].Token, Outcome{State: MailSent}); err != nil {
		t.Fatal(err)
	}
	if want := (compliance.Pulse{Swept: noon.Add(time.Hour), OldestMail: noon.Add(time.Hour), MailAccepts: *now, Since: noon}); pulse() != want {
		t.Errorf("after a mail was taken: %+v, want %+v", pulse(), want)
	}
	if err := st.Finish(t.Context(), c[1].ID, c[1].Token, Outcome{State: MailDead}); err != nil {
		t.Fatal(err)
	}
	if got := pulse(); !got.OldestMail.IsZero() || got.MailAccepts != *now {
		t.Errorf("a mail that died waits no more, and was taken by nobody: %+v", got)
	}
}

// TestASweepKeepsWhatItRestedOn: the head, the hashes and the engine.
func TestASweepKeepsWhatItRestedOn(t *testing.T) {
	st, path := opened(t)
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	s := fullSweep()
	stored(t, st, guardOf(t, st), s)
	got := sweepRow{}
	err := outsider(t, filepath.Clean(path)).QueryRowContext(context.Background(), `SELECT number, id, started, finished, head, pack_hash, holiday_hash, engine, judged FROM sweep`).
		Scan(&got.Number, &got.ID, &got.Started, &got.Finished, &got.Head, &got.PackHash, &got.HolidayHash, &got.Engine, &got.Judged)
	want := sweepRow{Number: 1, ID: key(s.ID), Started: s.Started.UnixMicro(), Finished: noon.UnixMicro(), Head: 1, PackHash: "p", HolidayHash: "h", Engine: "e", Judged: 2}
	if err != nil || got != want {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
	if view, err := st.Read(t.Context()); err != nil || view.LastSweep != s.ID || !view.Digests[DigestKey{s.Mails[0].Recipient, day.In(noon, time.UTC)}] {
		t.Errorf("the sweep is not the last, or its digest is not known (%v)", err)
	}
}
