package store

import (
	"context"
	"fmt"
	"time"

	"github.com/uptrace/bun"
)

// Erase removes the after-images of one record's entries, with their salts:
// what was there cannot be read or guessed any more, and the chain holds. An
// error after that means that old pages of the file may still hold it: erase
// once more. That a record was taken out says nothing of it, and stays.
func (s *Store) Erase(ctx context.Context, subject string) (erased int64, err error) {
	return s.erase(ctx, `UPDATE journal SET payload = NULL, salt = NULL WHERE subject = ? AND payload <> 'null'`,
		`SELECT count(*) FROM journal WHERE subject = ? AND payload <> 'null'`, subject)
}

// EraseActor removes who made the changes that an actor made, like Erase:
// that somebody made them, when and what stays. Entries of the first format
// keep their actor.
func (s *Store) EraseActor(ctx context.Context, actor Actor) (erased int64, err error) {
	return s.erase(ctx, `UPDATE journal SET actor = '', actor_salt = NULL WHERE actor = ? AND actor_salt IS NOT NULL`,
		`SELECT count(*) FROM journal WHERE actor = ? AND actor_salt IS NOT NULL`, actor.String())
}

// erase runs an update, and then takes what it removed out of the file.
// remains counts what the update would meet.
func (s *Store) erase(ctx context.Context, update, remains, of string) (erased int64, err error) {
	err = s.write(ctx, func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		if err := s.alone(ctx, tx); err != nil {
			return err
		}
		res, err := tx.ExecContext(ctx, update, of)
		if err != nil {
			return fmt.Errorf("erase: %w", classified(err))
		}
		erased, err = res.RowsAffected()
		return err
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		var n int
		err := tx.QueryRowContext(ctx, remains, of).Scan(&n)
		return n == 0, err
	})
	if err != nil {
		return 0, err
	}
	return erased, ended(ctx, s.dialect.scrub(ctx, s.writer))
}
