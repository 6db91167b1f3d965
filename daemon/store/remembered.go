package store

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/notify"
)

// remembered is what a process knows of open findings and of what was told
// after one sweep. Findings and reminders are written with a sweep and nothing
// else, so it holds for as long as that sweep is the last: another process's
// sweep, or a database that went back to an older one, has another last sweep,
// and then all is read again. It is never altered.
type remembered struct {
	after  inventory.ID // zero: before the first sweep
	open   []compliance.Finding
	ledger *notify.Ledger
	covers map[compliance.Key]bool // the findings of which the ledger has every line
}

// remembers gives what is known after a sweep, if anything is.
func (s *Store) remembers(after inventory.ID) *remembered {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.remembered == nil || s.remembered.after != after {
		return nil
	}
	return s.remembered
}

func (s *Store) remember(t *remembered) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.remembered = t
}

// openAt gives the open findings after the last sweep, sorted by key. The
// slice is the caller's.
func (s *Store) openAt(ctx context.Context, tx bun.IDB, last inventory.ID) ([]compliance.Finding, error) {
	if t := s.remembers(last); t != nil {
		return slices.Clone(t.open), nil
	}
	open, err := openFindings(ctx, tx)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(open, byKey)
	s.remember(&remembered{after: last, open: open, covers: make(map[compliance.Key]bool)})
	return slices.Clone(open), nil
}

func byKey(a, b compliance.Finding) int { return a.Key.Compare(b.Key) }

// Ledger gives all that was ever told of some findings, under their keys, if
// the last sweep is still the one given; else it fails with ErrMoved. Of
// findings that it is not asked for the ledger says nothing.
func (s *Store) Ledger(ctx context.Context, last inventory.ID, keys []compliance.Key) (l *notify.Ledger, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		now, _, err := newest(ctx, tx)
		if err != nil {
			return err
		}
		if now != last {
			return ErrMoved
		}
		l, err = s.ledgerAt(ctx, tx, last, keys)
		return err
	})
	return l, err
}

func (s *Store) ledgerAt(ctx context.Context, tx bun.IDB, last inventory.ID, keys []compliance.Key) (*notify.Ledger, error) {
	known := s.remembers(last)
	if known == nil {
		known = &remembered{}
	}
	covers, missing := make(map[compliance.Key]bool, len(keys)), []compliance.Key(nil)
	for _, key := range keys {
		if !covers[key] && !known.covers[key] {
			missing = append(missing, key)
		}
		covers[key] = true
	}
	if len(missing) == 0 && len(covers) == len(known.covers) {
		return known.ledger, nil
	}
	var lines []notify.Told
	for key := range covers {
		if known.covers[key] {
			lines = append(lines, known.ledger.Of(key)...)
		}
	}
	if last != (inventory.ID{}) { // nobody was told of anything before the first sweep
		read, err := tellings(ctx, tx, s.dialect, missing)
		if err != nil {
			return nil, err
		}
		lines = append(lines, read...)
	}
	l := notify.NewLedger(lines)
	if known.after == last && known.covers != nil {
		s.remember(&remembered{after: last, open: known.open, ledger: l, covers: covers})
	}
	return l, nil
}

// carry follows what is known over a sweep that was stored. What cannot be
// followed is read again.
func (s *Store) carry(guard Guard, sweep Sweep) {
	was := s.remembers(guard.LastSweep)
	if was == nil {
		return
	}
	open, err := openAfterwards(was.open, sweep.Transitions)
	if err != nil {
		return
	}
	is := &remembered{after: sweep.ID, open: open, ledger: was.ledger, covers: was.covers}
	var more []notify.Reminder
	for _, r := range sweep.Reminders {
		if was.covers[r.Key] {
			more = append(more, r.Reminder)
		}
	}
	if len(more) > 0 {
		is.ledger = was.ledger.With(more)
	}
	s.remember(is)
}

// openAfterwards gives the findings that are open after some transitions, each
// as it comes back from its row.
func openAfterwards(open []compliance.Finding, transitions []compliance.Transition) ([]compliance.Finding, error) {
	if len(transitions) == 0 {
		return open, nil
	}
	after := make(map[inventory.ID]*compliance.Finding, len(transitions)) // nil: closed
	for _, t := range transitions {
		after[t.After.ID] = nil
		if t.Move == compliance.Closed || !t.After.Closed.IsZero() {
			continue
		}
		f, err := roundTrip(t.After)
		if err != nil {
			return nil, err
		}
		after[t.After.ID] = &f
	}
	var out []compliance.Finding
	for _, f := range open {
		if _, moved := after[f.ID]; !moved {
			out = append(out, f)
		}
	}
	for f := range maps.Values(after) {
		if f != nil {
			out = append(out, *f)
		}
	}
	slices.SortFunc(out, byKey)
	return out, nil
}

// roundTrip gives a finding as it comes back when it is stored.
func roundTrip(f *compliance.Finding) (compliance.Finding, error) {
	row := rowOfFinding(f)
	text, err := row.Step.Value()
	if err == nil {
		err = row.Step.Scan(text)
	}
	if err != nil {
		return compliance.Finding{}, fmt.Errorf("read a step back: %w", err)
	}
	return row.finding(), nil
}
