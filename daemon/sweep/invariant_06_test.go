package sweep_test

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/daemon/sweep"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// year is how many days are simulated, with one sweep each.
const year = 366

// tellsClosed is how long a finding that ended may still be told, as in the
// store.
const tellsClosed = 14 * 24 * time.Hour

// memory is a store of sweeps that keeps all in memory, as fast as a year
// needs it. Beside sweeps everything goes well in it: mail leaves at once, and
// the other jobs run as often as the sweep.
type memory struct {
	now     time.Time
	records *compliance.Snapshot
	last    inventory.ID
	swept   time.Time
	open    []compliance.Finding
	closed  []compliance.Finding
	ledger  *notify.Ledger
	digests map[store.DigestKey]bool
	told    map[notify.Reminder]time.Time
}

func (m *memory) branch() *memory {
	b := *m
	b.open, b.closed = slices.Clone(m.open), slices.Clone(m.closed)
	b.digests, b.told = maps.Clone(m.digests), maps.Clone(m.told)
	return &b
}

func (m *memory) Read(context.Context) (*store.View, error) {
	records := *m.records
	records.Pulse = compliance.Pulse{Swept: m.swept, Since: m.swept, Confirmed: m.swept, Pruned: m.swept, MailAccepts: m.swept}
	lately := slices.DeleteFunc(slices.Clone(m.closed), func(f compliance.Finding) bool { return f.Closed.Before(m.now.Add(-tellsClosed)) })
	return &store.View{Snapshot: &records, LastSweep: m.last, Open: slices.Clone(m.open), Closed: lately, Digests: m.digests}, nil
}

func (m *memory) Ledger(context.Context, inventory.ID, []compliance.Key) (*notify.Ledger, error) {
	return m.ledger, nil
}

func (m *memory) StoreSweep(_ context.Context, guard store.Guard, s store.Sweep) error {
	if guard.LastSweep != m.last {
		return store.ErrMoved
	}
	m.last, m.swept = s.ID, m.now
	for _, t := range s.Transitions {
		m.open = slices.DeleteFunc(m.open, func(f compliance.Finding) bool { return f.ID == t.After.ID })
		if t.Move == compliance.Closed {
			m.closed = append(m.closed, *t.After)
		} else {
			m.open = append(m.open, *t.After)
		}
	}
	for _, mail := range s.Mails {
		m.digests[store.DigestKey{Recipient: mail.Recipient, Day: mail.LocalDay}] = true
	}
	var reminders []notify.Reminder
	for _, r := range s.Reminders {
		if _, twice := m.told[r.Reminder]; twice {
			return fmt.Errorf("told twice: %+v", r)
		}
		m.told[r.Reminder] = m.now
		reminders = append(reminders, r.Reminder)
	}
	m.ledger = m.ledger.With(reminders)
	return nil
}

// sweepOn makes the sweep of one day of the year.
func (m *memory) sweepOn(t *testing.T, book *compliance.Rulebook, records []*compliance.Snapshot, n int) {
	t.Helper()
	m.now, m.records = morning.AddDate(0, 0, n), records[n]
	s := &sweep.Sweeper{Store: m, Book: book, Clock: clock(m.now), Engine: "test", Sender: notify.From{Name: "watch", Address: "watch@house.example"}}
	if _, err := s.Run(t.Context()); err != nil {
		t.Fatalf("day %d: %v", n, err)
	}
}

// lifeOf gives the small house's records on each day of the year, in which a
// few things are done.
func lifeOf(t *testing.T, book *compliance.Rulebook) (records []*compliance.Snapshot) {
	t.Helper()
	start := day.In(morning, time.UTC)
	at, err := demo.Small(start, book.Holidays).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	for n := range year {
		at = lived(t, at, n, start.Add(n))
		records = append(records, at)
	}
	return records
}

func lived(t *testing.T, at *compliance.Snapshot, n int, today day.Day) *compliance.Snapshot {
	t.Helper()
	var done compliance.Batch
	switch n {
	case 0: // the house gets a mail server, and its one person an address
		for o := range at.Organisations.All() {
			house := *o
			house.Mailed = true
			done = append(done, compliance.Record(house))
		}
		for p := range at.People.All() {
			person := *p
			person.Email = "h.nettlecombe@house.example"
			done = append(done, compliance.Record(person))
		}
	case 40, 260:
		for s := range at.Sites.All() {
			done = append(done, compliance.Record(compliance.Activity{ID: inventory.NewID(), What: "drill.bite", Subject: s.Ref(), On: today, Passed: inventory.Yes}))
		}
	case 30, 75, 200:
		for f := range at.Feeds.All() {
			feed := *f
			feed.Confirmed = append(slices.Clone(feed.Confirmed), today)
			done = append(done, compliance.Record(feed))
		}
	case 130:
		for p := range at.Permits.All() {
			permit := *p
			permit.Applications = append(slices.Clone(permit.Applications), compliance.Application{Posted: today, Received: today})
			done = append(done, compliance.Record(permit))
		}
	}
	after, err := done.Apply(at)
	if err != nil {
		t.Fatalf("day %d: %v", n, err)
	}
	return after
}

// telling is a line of the ledger without what a delay of one day alters: the
// arm is known by its number, the first told about this finding to this person
// being 1.
type telling struct {
	key       compliance.Key
	do        compliance.Code
	instance  inventory.Ref
	arm       int
	threshold int
	to        inventory.ID
}

// tellings gives when each was told, as the number of the day, but for what is
// told of missed sweeps themselves.
func (m *memory) tellings() map[telling]int {
	type about struct {
		key compliance.Key
		to  inventory.ID
	}
	arms := make(map[about][]int)
	for r := range m.told {
		a := about{r.Key, r.Recipient}
		if !slices.Contains(arms[a], r.Arm) {
			arms[a] = append(arms[a], r.Arm)
		}
	}
	for _, list := range arms {
		slices.Sort(list)
	}
	out := make(map[telling]int)
	for r, at := range m.told {
		if r.Key.Requirement == "watch.sweep" {
			continue
		}
		arm := 1 + slices.Index(arms[about{r.Key, r.Recipient}], r.Arm)
		out[telling{r.Key, r.Do, r.Instance, arm, r.Threshold, r.Recipient}] = int(at.Sub(morning) / (24 * time.Hour))
	}
	return out
}

// TestInvariant06NoExactDayDependence: over a year of daily sweeps of the small
// house, with its mail switched on and a few things done now and then, any one
// day is left out, as if the service had been down. What everybody was told of
// last is the same.
//
// What was told is the ledger: who was told, of which finding, of which step
// on which thing, in which arm of reminders, of which threshold. Where several
// thresholds have come at once a mail speaks of the most urgent one alone, but
// each is entered as told; so a day that is missed can move two thresholds
// into one mail, and takes none out of the ledger. Exactly:
//
//  1. Each line of the undisturbed year's ledger is in the other's, on the same
//     day or the day after. Lines of the year's last day may be missing: the
//     day after is beyond the year.
//  2. But for what was overtaken: a line of the missed day itself, whose step or
//     state ended with that day ("today is the last day"). Then the same person
//     hears of the same finding on the day after, of what is so by then: the
//     more urgent one takes its place.
//  3. The other's has no line besides, but for those that tell of the missed
//     sweep itself (watch.sweep), which is news.
//  4. Arms are named by the day on which they begin, which the missed day may
//     delay: they count by their order for one finding and person.
//
// It rests on nothing being so for the missed day alone; what opens and ends
// between two sweeps nobody is told of, by design.
func TestInvariant06NoExactDayDependence(t *testing.T) {
	book := rulebook(t)
	records := lifeOf(t, book)
	states := make([]*memory, 0, year+1)
	whole := &memory{digests: make(map[store.DigestKey]bool), told: make(map[notify.Reminder]time.Time)}
	for n := range year {
		states = append(states, whole.branch())
		whole.sweepOn(t, book, records, n)
	}
	want := whole.tellings()
	first, stride := 2, 8 // not 7: every day of the week is among them; and day 210, on which a licence ends
	if everything {
		first, stride = 1, 1
	}
	delays, overtaken := make(map[int]int), 0
	for missed := first; missed < year-1; missed += stride {
		m := states[missed].branch()
		for n := missed + 1; n < year; n++ {
			m.sweepOn(t, book, records, n)
		}
		got := m.tellings()
		for told, on := range want {
			late, is := got[told]
			switch {
			case !is && on == missed && heardOf(got, told, missed+1):
				overtaken++
			case !is && on < year-1:
				t.Errorf("missed day %d: of %+v nobody heard, who should have on day %d", missed, told, on)
			case is && (late < on || late > on+1):
				t.Errorf("missed day %d: %+v was told on day %d, not %d", missed, told, late, on)
			case is:
				delays[late-on]++
			}
		}
		for told, on := range got {
			if _, is := want[told]; !is {
				t.Errorf("missed day %d: %+v was told on day %d, and never else", missed, told, on)
			}
		}
	}
	t.Logf("%d tellings in the year; with a day missed %v late by so many days, and %d overtaken", len(want), delays, overtaken)
}

// heardOf says whether somebody was told something else of the same finding on
// a day.
func heardOf(got map[telling]int, like telling, on int) bool {
	for told, day := range got {
		if told.key == like.key && told.to == like.to && day == on {
			return true
		}
	}
	return false
}
