package store

import (
	"context"
	"fmt"
	"time"

	"github.com/uptrace/bun"
)

// KindProof is the mail that says that the watch is alive.
const KindProof = "proof"

// Queue puts mails into the outbox that belong to no sweep. A mail of a kind
// that a person has for a local day already is left as it is.
func (s *Store) Queue(ctx context.Context, mails []Mail) error {
	return s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		for _, m := range mails {
			row := queuedRow(m, now)
			if _, err := tx.NewInsert().Model(&row).On("CONFLICT (kind, recipient, local_day) DO NOTHING").Exec(ctx); err != nil {
				return fmt.Errorf("queue a mail: %w", classified(err))
			}
		}
		return nil
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		for _, m := range mails {
			there, err := holds(ctx, tx, `SELECT count(*) FROM outbox WHERE kind = ? AND recipient = ? AND local_day = ?`, m.Kind, key(m.Recipient), m.LocalDay)
			if err != nil || !there {
				return false, err
			}
		}
		return true, nil
	})
}
