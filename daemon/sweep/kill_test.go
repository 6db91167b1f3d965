package sweep_test

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"slices"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/daemon/mailroom"
	"antidotary/daemon/store"
	"antidotary/daemon/store/faults"
	"antidotary/daemon/sweep"
	"antidotary/deploy"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/mailbox"
	"antidotary/notify/smtp"
)

// morning is the instant of every sweep here.
var morning = time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC)

// house is a database with the demo house in it, made once and copied.
func house(t testing.TB, name string) (database string) {
	t.Helper()
	database = fresh[name](t)
	st, err := store.Open(t.Context(), database, store.Options{Clock: clock(morning.Add(-time.Hour))})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := st.Commit(t.Context(), store.Actor{ID: "test"}, demo.House(day.In(morning, time.UTC), day.Embedded())); err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	return database
}

func clock(at time.Time) func() time.Time { return func() time.Time { return at } }

func rulebook(t testing.TB) *compliance.Rulebook {
	t.Helper()
	book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		t.Fatal(err)
	}
	return book
}

// watch is one life of the process: open, sweep, deliver, close. Its errors
// are the death's; it reports them and goes on to close.
func watch(t testing.TB, path, driver string, book *compliance.Rulebook, box *mailbox.Mailbox, at time.Time) error {
	t.Helper()
	ctx := context.Background()
	st, err := store.Open(ctx, path, store.Options{Clock: clock(at), Driver: driver})
	if err != nil {
		return err
	}
	defer st.Close()
	s := &sweep.Sweeper{Store: st, Book: book, Clock: clock(at), Engine: "test", Sender: notify.From{Name: "watch", Address: "watch@house.example"}}
	if _, err := s.Run(ctx); err != nil {
		return err
	}
	sender, err := smtp.New(smtp.Config{Host: box.Host(), Port: box.Port(), Security: smtp.ImplicitTLS, RootCAs: box.CertPool()})
	if err != nil {
		return err
	}
	room := &mailroom.Room{Outbox: st, Sender: sender, From: "watch@house.example", Clock: clock(at), Log: slog.New(slog.NewTextHandler(io.Discard, nil))}
	_, err = room.Round(ctx)
	return err
}

// state is what must be the same however often the process was killed: the
// open findings, and how many mails each recipient has.
type state struct {
	findings  []string
	mails     map[string]int
	reminders int
	journal   string
}

func stateOf(t testing.TB, path string) state {
	t.Helper()
	st, err := store.OpenReadOnly(t.Context(), path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	v, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	told, err := st.Reminders(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s := state{mails: mailsPerRecipient(t, path), reminders: len(told)}
	for _, f := range v.Open {
		s.findings = append(s.findings, fmt.Sprint(f.Key, f.Verdict, f.Rule, f.Worsened, f.Arm))
	}
	slices.Sort(s.findings)
	report, err := st.Verify(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s.journal = report.Problem
	return s
}

func mailsPerRecipient(t testing.TB, path string) map[string]int {
	t.Helper()
	db, err := sql.Open(driverOf(path))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.QueryContext(t.Context(), `SELECT address, count(*) FROM outbox GROUP BY address`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	out := map[string]int{}
	for rows.Next() {
		var to string
		var n int
		if err := rows.Scan(&to, &n); err != nil {
			t.Fatal(err)
		}
		out[to] = n
	}
	return out
}

func (s state) equal(o state) bool {
	return slices.Equal(s.findings, o.findings) && maps.Equal(s.mails, o.mails) && s.reminders == o.reminders && s.journal == o.journal
}

func startBox(t testing.TB) *mailbox.Mailbox {
	t.Helper()
	box, err := mailbox.Start(mailbox.Options{Security: mailbox.ImplicitTLS})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { box.Close() })
	return box
}

// TestKilledAtEveryOperation kills the process at each operation of a sweep
// and its delivery, with the operation done and not done, starts it again the
// same hour and once more an hour later, and asks for the same findings, the
// same mails in the outbox, and no two different mails to one person. What
// was sent twice (its answer was lost) must be the same bytes. On a server,
// where each copy of the house takes long, the ordinary run takes every commit
// and one in twenty of the other operations.
func TestKilledAtEveryOperation(t *testing.T) {
	strides := map[string]int64{"sqlite": 1, "postgres": 20}
	for name := range fresh {
		t.Run(name, func(t *testing.T) {
			original, book := house(t, name), rulebook(t)
			count := &faults.Plan{}
			want := undisturbed(t, copied[name](t, original), book, count)
			if len(want.findings) < 15 || len(want.mails) < 3 {
				t.Fatalf("the undisturbed sweep made %d findings and mails to %d people: too little to test with", len(want.findings), len(want.mails))
			}
			stride, deaths := strides[name], 0
			if everything {
				stride = 1
			}
			for n, op := range count.Log() {
				if int64(n)%stride != 0 && op.Kind != faults.Commit {
					continue
				}
				for _, after := range []bool{false, true} {
					path := copied[name](t, original)
					killed(t, path, book, &faults.Plan{At: int64(n) + 1, After: after}, want)
					if deaths++; t.Failed() {
						t.Fatalf("that was operation %d (%s), done %t", n+1, op, after)
					}
					dropped(t, path)
				}
			}
			t.Logf("%d operations, %d deaths, %d findings, %d people told", count.Operations(), deaths, len(want.findings), len(want.mails))
		})
	}
}

// killed lives and dies by a plan, then twice without one.
func killed(t *testing.T, path string, book *compliance.Rulebook, plan *faults.Plan, want state) {
	t.Helper()
	box := startBox(t)
	defer box.Close()
	err := watch(t, path, register(t, path, plan), book, box, morning)
	if !plan.Dead() {
		t.Fatalf("the death did not come (%v)", err)
	}
	for _, later := range []time.Duration{0, time.Hour} {
		if err := watch(t, path, "", book, box, morning.Add(later)); err != nil {
			t.Fatalf("started again: %v", err)
		}
	}
	if got := stateOf(t, path); !got.equal(want) {
		t.Errorf("after the restart\ngot  %+v\nwant %+v", got, want)
	}
	sameMailsOnly(t, box, len(want.mails))
}

func undisturbed(t *testing.T, path string, book *compliance.Rulebook, count *faults.Plan) state {
	t.Helper()
	box := startBox(t)
	if err := watch(t, path, register(t, path, count), book, box, morning); err != nil {
		t.Fatal(err)
	}
	return stateOf(t, path)
}

func register(t testing.TB, database string, plan *faults.Plan) string {
	t.Helper()
	base, _ := driverOf(database)
	name, err := faults.Register(base, plan)
	if err != nil {
		t.Fatal(err)
	}
	return name
}

func sameMailsOnly(t *testing.T, box *mailbox.Mailbox, people int) {
	t.Helper()
	arrived := map[string]string{}
	for _, m := range box.Messages() {
		if len(m.To) != 1 {
			t.Fatalf("a mail to %v", m.To)
		}
		if before, twice := arrived[m.To[0]]; twice && before != string(m.Data) {
			t.Fatalf("%s got two different mails of one day", m.To[0])
		}
		arrived[m.To[0]] = string(m.Data)
	}
	if len(arrived) != people {
		t.Fatalf("mail reached %d people, want %d", len(arrived), people)
	}
}
