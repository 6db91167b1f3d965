package store

import (
	"context"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Load fills an empty database for benchmarks, past the changes and the
// journal but for one entry: changes are made for people, one by one.
func (s *Store) Load(ctx context.Context, from *compliance.Snapshot) error {
	return s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		for _, kind := range inventory.Kinds() {
			for rec := range tables[kind].all(from) {
				if err := tables[kind].save(ctx, tx, rec); err != nil {
					return err
				}
			}
		}
		_, _, err := appendJournal(ctx, tx, Head{}, Actor{ID: "benchmark"}, []inventory.Record{*from.House()}, now)
		return err
	}, nil)
}

// Forget drops the records that are known, so that the next read is a cold
// one.
func (s *Store) Forget() { s.keep(nil, Head{}) }
