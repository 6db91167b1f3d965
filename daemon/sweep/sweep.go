package sweep

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// tries is how often a round starts over when records change under it. A
// round takes about a second for a national network; somebody who commits
// five times within it is an import, and the next round will do.
const tries = 5

// Store is what a sweep needs of the database.
type Store interface {
	Read(ctx context.Context) (*store.View, error)
	// Ledger gives all that was told of some findings. It fails with an error
	// that matches store.ErrMoved where another sweep was stored since last.
	Ledger(ctx context.Context, last inventory.ID, keys []compliance.Key) (*notify.Ledger, error)
	// StoreSweep fails with an error that matches store.ErrMoved, and has
	// written nothing, where the guard no longer holds.
	StoreSweep(ctx context.Context, guard store.Guard, s store.Sweep) error
}

// Sweeper makes sweeps.
type Sweeper struct {
	Store  Store
	Book   *compliance.Rulebook
	Clock  func() time.Time
	Engine string      // version of this program
	Sender notify.From // whom mails come from
	// Waits says that a zone's first sweep of the day is still to come at an
	// instant; nil: nobody waits for it.
	Waits func(zone *time.Location, now time.Time) bool
}

// Result is what a sweep found.
type Result struct {
	Report      *compliance.Report
	Transitions []compliance.Transition
	Open        []compliance.Finding
	Outcome     notify.Outcome
	Mails       []store.Mail
	Entry       int64 // of the journal: the state of the records that were judged
}

// Run makes one sweep and stores it.
func (s *Sweeper) Run(ctx context.Context) (*Result, error) {
	for range tries {
		result, err := s.once(ctx)
		if !errors.Is(err, store.ErrMoved) {
			return result, err
		}
	}
	return nil, fmt.Errorf("sweep: records changed under %d rounds in a row; the next sweep tries again", tries)
}

func (s *Sweeper) once(ctx context.Context) (*Result, error) {
	started := s.Clock().UTC().Truncate(time.Microsecond)
	view, err := s.Store.Read(ctx)
	if err != nil {
		return nil, fmt.Errorf("read records for the sweep: %w", err)
	}
	result := s.judge(view, started)
	result.Entry = view.Head.Position
	if err := s.plan(ctx, result, view, started); err != nil {
		return nil, err
	}
	reminders, err := s.compose(result, started)
	if err != nil {
		return nil, err
	}
	err = s.Store.StoreSweep(ctx, view.Guard(), store.Sweep{
		ID: inventory.NewID(), Started: started, Transitions: result.Transitions,
		Reminders: reminders, Mails: result.Mails,
		PackHash: s.Book.Hash, HolidayHash: s.Book.Holidays.Hash(), Engine: s.Engine, Judged: len(result.Report.Judgements),
		Texts: store.TextsOf(s.Book),
	})
	if err != nil {
		return nil, fmt.Errorf("store the sweep: %w", err)
	}
	return result, nil
}

// judge sees what is so, and what of it changed. It is pure.
func (s *Sweeper) judge(view *store.View, now time.Time) *Result {
	snapshot := *view.Snapshot
	if snapshot.Pulse.Swept.IsZero() { // this is the first sweep: that there was none before is no news
		snapshot.Pulse.Swept = now
	}
	r := &Result{Report: compliance.Evaluate(s.Book, &snapshot, compliance.Ask{Now: now})}
	r.Transitions = compliance.Diff(view.Open, r.Report, now, inventory.NewID)
	r.Open = after(view.Open, r.Transitions)
	return r
}

// plan decides who is told, from what was told of each finding that is open
// now or ended lately. One that has just opened may have been open before:
// what was told of it then counts, whenever that was.
func (s *Sweeper) plan(ctx context.Context, r *Result, view *store.View, now time.Time) (err error) {
	in := notify.Input{Now: now, Report: r.Report, Open: r.Open, Closed: closed(view.Closed, r.Transitions)}
	keys := make([]compliance.Key, 0, len(in.Open)+len(in.Closed))
	for _, list := range [][]compliance.Finding{in.Open, in.Closed} {
		for i := range list {
			keys = append(keys, list[i].Key)
		}
	}
	if in.Ledger, err = s.Store.Ledger(ctx, view.LastSweep, keys); err != nil {
		return fmt.Errorf("read what was told: %w", err)
	}
	in.Mailed = func(to inventory.ID, on day.Day) bool { return view.Digests[store.DigestKey{Recipient: to, Day: on}] }
	if s.Waits != nil && view.LastSweep != (inventory.ID{}) { // the first sweep ever tells at once
		in.Waits = func(zone *time.Location) bool { return s.Waits(zone, now) }
	}
	r.Outcome = notify.Plan(in)
	return nil
}

// closed gives the findings that ended lately or in this sweep.
func closed(lately []compliance.Finding, transitions []compliance.Transition) []compliance.Finding {
	out := slices.Clone(lately)
	for _, t := range transitions {
		if t.Move == compliance.Closed {
			out = append(out, *t.After)
		}
	}
	return out
}

// after gives the findings that are open after the transitions.
func after(open []compliance.Finding, transitions []compliance.Transition) []compliance.Finding {
	changed := make(map[compliance.Key]compliance.Transition, len(transitions))
	for _, t := range transitions {
		changed[t.After.Key] = t
	}
	var out []compliance.Finding
	for _, f := range open {
		if _, ok := changed[f.Key]; !ok {
			out = append(out, f)
		}
	}
	for _, t := range transitions {
		if t.Move != compliance.Closed {
			out = append(out, *t.After)
		}
	}
	return out
}
