package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Sweep is one round of judging, as it is stored.
type Sweep struct {
	ID          inventory.ID
	Started     time.Time
	Transitions []compliance.Transition
	Reminders   []Reminder
	Mails       []Mail
	PackHash    string
	HolidayHash string
	Engine      string
	Judged      int
	Texts       []Text // that the hashes are of; those not kept yet are kept
}

// ErrMoved: records changed, or another sweep was stored, since what this one
// rests on was read. Nothing was written.
var ErrMoved = errors.New("records changed meanwhile")

type sweepRow struct {
	bun.BaseModel `bun:"table:sweep"`
	Number        int64  `bun:"number,pk,autoincrement"`
	ID            key    `bun:"id"`
	Started       int64  `bun:"started"`
	Finished      int64  `bun:"finished"`
	Head          int64  `bun:"head"`
	PackHash      string `bun:"pack_hash"`
	HolidayHash   string `bun:"holiday_hash"`
	Engine        string `bun:"engine"`
	Judged        int    `bun:"judged"`
}

// StoreSweep writes findings, what changed, reminders and mails in one
// transaction, if neither the journal's head nor the last sweep moved. A sweep
// that is stored already is not stored again.
func (s *Store) StoreSweep(ctx context.Context, guard Guard, sweep Sweep) error {
	err := s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		if err := s.alone(ctx, tx); err != nil {
			return err
		}
		if err := stillAt(ctx, tx, guard); err != nil {
			return err
		}
		row := sweepRow{ID: key(sweep.ID), Started: micros(sweep.Started), Finished: micros(now), Head: guard.Head.Position,
			PackHash: sweep.PackHash, HolidayHash: sweep.HolidayHash, Engine: sweep.Engine, Judged: sweep.Judged}
		if _, err := tx.NewInsert().Model(&row).ExcludeColumn("number").Exec(ctx); err != nil {
			return fmt.Errorf("save the sweep: %w", classified(err))
		}
		if err := keepTexts(ctx, tx, sweep.Texts, now); err != nil {
			return err
		}
		if err := s.saveTransitions(ctx, tx, sweep.ID, sweep.Transitions, now); err != nil {
			return err
		}
		if err := s.saveMails(ctx, tx, sweep.Mails, now); err != nil {
			return err
		}
		return s.saveReminders(ctx, tx, sweep.Reminders, now)
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		return exists(ctx, tx, "sweep", key(sweep.ID))
	})
	if err != nil {
		return err
	}
	s.carry(guard, sweep)
	return nil
}

func stillAt(ctx context.Context, tx bun.IDB, guard Guard) error {
	at, err := head(ctx, tx)
	if err != nil {
		return err
	}
	last, _, err := pulse(ctx, tx)
	if err != nil {
		return err
	}
	if at != guard.Head || last != guard.LastSweep {
		return ErrMoved
	}
	return nil
}

// newest gives the last sweep, and when it ended; zero before the first.
func newest(ctx context.Context, tx bun.IDB) (last inventory.ID, ended time.Time, err error) {
	var rows []sweepRow
	if err := tx.NewSelect().Model(&rows).Order("number DESC").Limit(1).Scan(ctx); err != nil {
		return last, ended, fmt.Errorf("read the last sweep: %w", classified(err))
	}
	for _, r := range rows {
		last, ended = inventory.ID(r.ID), instant(r.Finished)
	}
	return last, ended, nil
}

// pulse gives the last sweep and what is known of the watch itself.
func pulse(ctx context.Context, tx bun.IDB) (last inventory.ID, p compliance.Pulse, err error) {
	if last, p.Swept, err = newest(ctx, tx); err != nil {
		return last, p, err
	}
	var oldest, accepted int64
	err = tx.QueryRowContext(ctx, `SELECT coalesce((SELECT min(queued_at) FROM outbox WHERE finished_at IS NULL), 0),
		coalesce((SELECT max(finished_at) FROM outbox WHERE state = ?), 0)`, MailSent).Scan(&oldest, &accepted)
	if err != nil {
		return last, p, fmt.Errorf("read the outbox's age: %w", classified(err))
	}
	p.OldestMail, p.MailAccepts = instant(oldest), instant(accepted)
	if p.MailHeld, err = holdOf(ctx, tx, "released IS NULL"); err != nil {
		return last, p, err
	}
	return last, p, jobsRan(ctx, tx, &p)
}
