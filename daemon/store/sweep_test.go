package store

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
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

func stored(t *testing.T, st *Store, g Guard, s Sweep) {
	t.Helper()
	if err := st.StoreSweep(t.Context(), g, s); err != nil {
		t.Fatal(err)
	}
}

// contractFindingsComeBack as they were stored, open ones and those that closed
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

// contractThePulse: when the watch last swept, since when the oldest mail waits,
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
