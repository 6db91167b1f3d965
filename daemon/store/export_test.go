package store

import (
	"context"
	"slices"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Load fills an empty database for benchmarks, past the changes and the
// journal but for one entry: changes are made for people, one by one.
func (s *Store) Load(ctx context.Context, from *compliance.Snapshot) error {
	return s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		if _, err := tx.ExecContext(ctx, s.dialect.deferKeys); err != nil {
			return err
		}
		for _, kind := range inventory.Kinds() {
			if err := tables[kind].saveNew(ctx, tx, s.dialect, slices.Collect(tables[kind].all(from))); err != nil {
				return err
			}
		}
		_, _, err := s.appendJournal(ctx, tx, Head{}, Actor{ID: "benchmark"}, "", []image{imaging(*from.House())}, now)
		return err
	}, nil)
}

func imaging(rec inventory.Record) image { return image{rec.Ref(), rec} }

// Forget drops all that is known, so that the next read is a cold one.
func (s *Store) Forget() {
	s.keep(nil, Head{})
	s.remember(nil)
}
