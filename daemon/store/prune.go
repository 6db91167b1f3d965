package store

import (
	"context"
	"fmt"
	"time"

	"github.com/uptrace/bun"
)

// Pruned is what was removed.
type Pruned struct{ Mails, Runs int64 }

// Prune removes what need not be kept: bytes and addresses of mails that were
// done with before an instant, and runs of jobs before it but each job's last.
// The journal, what was told and to whom stay. Doing it twice does no more.
func (s *Store) Prune(ctx context.Context, before time.Time) (p Pruned, err error) {
	cut := micros(before)
	err = s.write(ctx, func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		res, err := tx.ExecContext(ctx, `UPDATE outbox SET bytes = ?, address = '' WHERE finished_at < ? AND address <> ''`, []byte{}, cut)
		if err != nil {
			return fmt.Errorf("remove old mails: %w", classified(err))
		}
		if p.Mails, err = res.RowsAffected(); err != nil {
			return err
		}
		res, err = tx.ExecContext(ctx, `DELETE FROM job_run WHERE slot < ? AND slot < (SELECT max(slot) FROM job_run last WHERE last.job = job_run.job)`, cut)
		if err != nil {
			return fmt.Errorf("remove old runs: %w", classified(err))
		}
		p.Runs, err = res.RowsAffected()
		return err
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		var left int
		err := tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM outbox WHERE finished_at < ? AND address <> '')
			+ (SELECT count(*) FROM job_run WHERE slot < ? AND slot < (SELECT max(slot) FROM job_run last WHERE last.job = job_run.job))`, cut, cut).Scan(&left)
		return left == 0, err
	})
	return p, err
}
