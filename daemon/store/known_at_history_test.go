package store_test

import (
	"cmp"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/fstest"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/daemon/sweep"
	"antidotary/deploy"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

var begin = time.Date(2026, time.November, 2, 6, 0, 0, 0, time.UTC)

// history is a house over some weeks: records change, most of them as things
// happen and some long after, sweeps tell, mail goes or waits, jobs run.
type history struct {
	*testing.T
	random *rand.Rand
	st     *store.Store
	now    time.Time
	books  []*compliance.Rulebook
	told   []toldOnce
}

// toldOnce is what one sweep told, noted when it did.
type toldOnce struct {
	at     time.Time
	open   []compliance.Finding
	duties int
}

func livedThrough(t *testing.T, database string, seed uint64, weeks int) *history {
	h := &history{T: t, random: rand.New(rand.NewPCG(seed, 1)), now: begin, books: rulebooks(t)}
	var err error
	if h.st, err = store.Open(t.Context(), database, store.Options{Clock: func() time.Time { return h.now }}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { h.st.Close() })
	today := day.In(h.now, time.UTC)
	house := demo.House(today, day.Embedded())
	if seed%3 == 2 {
		house = demo.Small(today, day.Embedded())
	}
	h.commit(house)
	for end := begin.AddDate(0, 0, 7*weeks); h.now.Before(end); {
		for range h.random.IntN(6) {
			h.pass(time.Duration(1+h.random.IntN(300)) * time.Minute)
			h.commit(h.change())
		}
		h.pass(time.Duration(1+h.random.IntN(40)) * time.Hour)
		h.sweep()
		h.around()
	}
	return h
}

// rulebooks are two: one house adds a rule of its own after a while.
func rulebooks(t *testing.T) []*compliance.Rulebook {
	own := fstest.MapFS{"own.yaml": {Data: []byte(store.OwnPack)}}
	var out []*compliance.Rulebook
	shipped, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		t.Fatal(err)
	}
	more, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules(), own)
	if err != nil {
		t.Fatal(err)
	}
	return append(out, shipped, more)
}

func (h *history) pass(d time.Duration) { h.now = h.now.Add(d) }

func (h *history) commit(changes ...compliance.Change) {
	h.Helper()
	_, err := h.st.Commit(h.Context(), store.Actor{ID: "test"}, changes...)
	var refused *compliance.Refusal
	if err != nil && !errors.As(err, &refused) {
		h.Fatal(err)
	}
}

// change alters a record that there is, or makes a new one.
func (h *history) change() compliance.Change {
	s, _, err := h.st.Snapshot(h.Context())
	if err != nil {
		h.Fatal(err)
	}
	today := day.In(h.now, time.UTC)
	past := today.Add(-h.random.IntN(200))
	switch h.random.IntN(8) {
	case 0, 1:
		return h.paper(*pick(h, s.Permits), today, past)
	case 2, 3:
		return h.lot(*pick(h, s.Lots), today, past)
	case 4:
		f := *pick(h, s.Feeds)
		if len(f.Confirmed) == 0 || f.Confirmed[len(f.Confirmed)-1] < today {
			f.Confirmed = append(slices.Clone(f.Confirmed), today)
		}
		return compliance.Record(f)
	case 5:
		a := *pick(h, s.Activities)
		a.ID, a.On, a.Passed = inventory.NewID(), past, inventory.Tri(h.random.IntN(3))
		return compliance.Record(a)
	case 6:
		a := *pick(h, s.Activities)
		a.On, a.Note = past, "corrected"
		return compliance.Record(a)
	}
	return h.animal(*pick(h, s.Animals), today, past)
}

func (h *history) paper(p compliance.Permit, today, past day.Day) compliance.Change {
	switch h.random.IntN(5) {
	case 0:
		p.Expires = day.Until(today.Add(h.random.IntN(500)))
	case 1: // long after
		p.Expires = day.Until(past)
	case 2:
		p.Suspensions = append(slices.Clone(p.Suspensions), compliance.Suspension{From: past, Lifted: past.Add(h.random.IntN(300))})
	case 3:
		p.Applications = append(slices.Clone(p.Applications), compliance.Application{Prepared: past, Posted: past.Add(1), Received: past.Add(4), Receipt: "R-1"})
	case 4:
		p.Revoked = past
	}
	return compliance.Record(p)
}

func (h *history) lot(l inventory.Lot, today, past day.Day) compliance.Change {
	switch h.random.IntN(4) {
	case 0:
		l.Movements = append(slices.Clone(l.Movements), inventory.Movement{On: today, Place: l.Movements[0].Place, Vials: 1 + h.random.IntN(20), Reason: inventory.Received, Condition: inventory.Checked})
	case 1:
		l.Movements = append(slices.Clone(l.Movements), inventory.Movement{On: today, Place: l.Movements[0].Place, Vials: -1 - h.random.IntN(6), Reason: inventory.Used, Condition: inventory.Checked})
	case 2:
		l.Holds = append(slices.Clone(l.Holds), inventory.Hold{From: past, Why: "a warm fridge"})
	case 3:
		l.Labelled = day.Until(today.Add(h.random.IntN(600) - 60))
	}
	return compliance.Record(l)
}

func (h *history) animal(a inventory.Animal, today, past day.Day) compliance.Change {
	switch h.random.IntN(3) {
	case 0:
		a.Left = &inventory.Disposition{How: inventory.Transferred, On: past}
	case 1:
		a.Origin.Bred = inventory.Tri(h.random.IntN(3))
	case 2:
		a.ID, a.Accession, a.Arrived = inventory.NewID(), fmt.Sprintf("NEW-%d", h.random.Int32()), today
	}
	return compliance.Record(a)
}

// pick takes a record; the choice does not depend on the order of the table.
func pick[T inventory.Record](h *history, table inventory.Table[T]) *T {
	all := slices.SortedFunc(table.All(), func(a, b *T) int { return (*a).Ref().Compare((*b).Ref()) })
	return all[h.random.IntN(len(all))]
}

// sweep tells what is so, by the rules of the time, and notes it.
func (h *history) sweep() {
	h.Helper()
	book := h.books[min(len(h.told)/6, 1)]
	s := &sweep.Sweeper{Store: h.st, Book: book, Clock: func() time.Time { return h.now }, Engine: "test", Sender: notify.From{Name: "watch", Address: "watch@house.example"}}
	r, err := s.Run(h.Context())
	if err != nil {
		h.Fatal(err)
	}
	h.told = append(h.told, toldOnce{h.now, byKey(r.Open), len(r.Report.Judgements)})
}

// around is what happens beside the sweeps.
func (h *history) around() {
	h.Helper()
	h.pass(time.Minute)
	if h.random.IntN(2) == 0 {
		mails, err := h.st.Claim(h.Context(), 20, 20*time.Minute)
		if err != nil {
			h.Fatal(err)
		}
		for _, m := range mails {
			if err := h.st.Finish(h.Context(), m.ID, m.Token, store.Outcome{State: store.MailSent}); err != nil {
				h.Fatal(err)
			}
		}
	}
	if h.random.IntN(5) == 0 {
		at := func(_, now time.Time) (time.Time, int) { return now, 0 }
		run, claimed, err := h.st.ClaimSlot(h.Context(), store.SlotClaim{Job: compliance.JobConfirm, Worker: "w", Lease: time.Minute, Due: at})
		if err != nil || !claimed {
			h.Fatal(claimed, err)
		}
		if err := h.st.FinishSlot(h.Context(), run, nil, 0); err != nil {
			h.Fatal(err)
		}
	}
}

func byKey(list []compliance.Finding) []compliance.Finding {
	return slices.SortedFunc(slices.Values(list), func(a, b compliance.Finding) int { return cmp.Or(a.Key.Compare(b.Key), a.Opened.Compare(b.Opened)) })
}

// TestWhatWasKnownGivesWhatWasTold: whatever happened later, at the instant of
// each sweep of a history the log gives the findings that were told, and
// judging what was known, by the rules of then, gives them again.
func TestWhatWasKnownGivesWhatWasTold(t *testing.T) {
	seeds := uint64(3)
	if testing.Short() {
		seeds = 1
	}
	for database, place := range store.Fresh {
		for seed := range seeds {
			t.Run(fmt.Sprint(database, " ", seed), func(t *testing.T) {
				h := livedThrough(t, place(t), seed, 3)
				moved := 0
				for i, told := range h.told {
					past, err := h.st.KnownAt(t.Context(), told.at)
					if err != nil {
						t.Fatal(err)
					}
					if i > 0 && !slices.Equal(keysOf(told.open), keysOf(h.told[i-1].open)) {
						moved++
					}
					h.sameAgain(i, past)
				}
				if moved < len(h.told)/3 {
					t.Errorf("of %d sweeps only %d told of something else than the one before: the history is too quiet", len(h.told), moved)
				}
			})
		}
	}
}

func keysOf(list []compliance.Finding) (out []compliance.Key) {
	for _, f := range list {
		out = append(out, f.Key)
	}
	return out
}

func (h *history) sameAgain(i int, past *store.Past) {
	h.Helper()
	want := h.told[i]
	t := past.Told
	if t == nil || !t.Started.Equal(want.at) || t.Head != past.Head || len(past.Erased) > 0 {
		h.Fatalf("sweep %d at %s: recalled %+v", i, want.at, t)
	}
	if diff := gocmp.Diff(want.open, byKey(t.Open)); diff != "" {
		h.Fatalf("sweep %d: the log says otherwise (-told +logged):\n%s", i, diff)
	}
	book, err := h.st.Rulebook(h.Context(), t.PackHash, t.HolidayHash)
	if err != nil {
		h.Fatal(err)
	}
	again := compliance.Evaluate(book, t.Snapshot, compliance.Ask{Now: want.at})
	if diff := gocmp.Diff(said(want.open, ""), saidBy(again, "")); diff != "" || len(again.Judgements) != want.duties {
		h.Fatalf("sweep %d: judged again, %d duties of %d (-told +again):\n%s", i, len(again.Judgements), want.duties, diff)
	}
	// An instant later the sweep itself is known: that it was late is not so
	// any more, and nothing else differs.
	after := compliance.Evaluate(book, past.Snapshot, compliance.Ask{Now: want.at})
	if diff := gocmp.Diff(said(want.open, "watch.sweep"), saidBy(after, "watch.sweep")); diff != "" {
		h.Fatalf("sweep %d: judged by the instant (-told +again):\n%s", i, diff)
	}
}

// saying is what judging says of a key, without what the episode remembers.
type saying struct {
	compliance.Key
	compliance.Verdict
	Layer, Severity, Rule string
}

func said(list []compliance.Finding, but string) (out []saying) {
	for _, f := range list {
		if f.Key.Requirement != but {
			out = append(out, saying{f.Key, f.Verdict, string(f.Layer), string(f.Severity), f.Rule})
		}
	}
	return out
}

func saidBy(r *compliance.Report, but string) []saying {
	var list []compliance.Finding
	for _, j := range r.Judgements {
		if f, needed := r.Finding(j); needed {
			list = append(list, f)
		}
	}
	return said(byKey(list), but)
}
