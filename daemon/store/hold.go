package store

import (
	"context"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/inventory"
)

// Hold keeps every mail back: while it is in force Claim hands out nothing,
// and sweeps go on queueing.
type Hold struct {
	ID    inventory.ID
	Since time.Time
	Why   string
}

type holdRow struct {
	bun.BaseModel `bun:"table:mail_hold"`
	ID            key    `bun:"id,pk"`
	Since         int64  `bun:"since"`
	Why           string `bun:"why"`
	Released      *int64 `bun:"released"`
	ReleasedBy    string `bun:"released_by"`
}

// Hold gives the hold that is in force, if there is one.
func (s *Store) Hold(ctx context.Context) (h Hold, held bool, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		h, held, err = holdIn(ctx, tx)
		return err
	})
	return h, held, err
}

func holdIn(ctx context.Context, tx bun.IDB) (h Hold, held bool, err error) {
	var rows []holdRow
	if err := tx.NewSelect().Model(&rows).Where("released IS NULL").Scan(ctx); err != nil {
		return h, false, fmt.Errorf("ask whether mail is held: %w", classified(err))
	}
	for _, r := range rows { // the schema allows one
		h, held = Hold{inventory.ID(r.ID), instant(r.Since), r.Why}, true
	}
	return h, held, nil
}

// holdOf says why mail is or was held; empty where it is not.
func holdOf(ctx context.Context, tx bun.IDB, where string, args ...any) (why string, err error) {
	var rows []holdRow
	if err := tx.NewSelect().Model(&rows).Where(where, args...).Order("since").Scan(ctx); err != nil {
		return "", fmt.Errorf("ask whether mail is held: %w", classified(err))
	}
	for _, r := range rows {
		why = r.Why
	}
	return why, nil
}

// putHold holds all mail. One that is in force already ends: this one takes
// its place.
func putHold(ctx context.Context, tx bun.Tx, why string, now time.Time) error {
	_, err := tx.ExecContext(ctx, `UPDATE mail_hold SET released = ?, released_by = ? WHERE released IS NULL`, micros(now), "replaced: "+why)
	if err != nil {
		return fmt.Errorf("end the hold on mail: %w", classified(err))
	}
	row := holdRow{ID: key(inventory.NewID()), Since: micros(now), Why: why}
	if _, err := tx.NewInsert().Model(&row).Exec(ctx); err != nil {
		return fmt.Errorf("hold all mail: %w", classified(err))
	}
	return nil
}

// Released is what the end of a hold did.
type Released struct {
	Hold    Hold
	Dropped []Waiting // mails that will never go out
	Waiting int       // mails that go out now
}

// replyDropped is what is kept as the reply to a mail that was dropped.
const replyDropped = "not sent: dropped when the hold on mail ended, by "

// OpenForRelease opens a database to end a hold, beside a daemon that runs on
// it: a hold and the mails' states are all that Release touches, and no daemon
// remembers those.
func OpenForRelease(ctx context.Context, database string, opt Options) (*Store, error) {
	s, err := OpenReadOnly(ctx, database, opt)
	if err != nil {
		return nil, err
	}
	writing := dsn(database, false)
	if IsServer(database) {
		if writing, err = address(database, opt.Password, false); err != nil {
			return s.orClosed(err, opt)
		}
	}
	s.writer, err = connect(s.dialect, opt.Driver, writing, 1)
	return s.orClosed(err, opt)
}

// Release ends the hold that is in force; nil if there is none. With drop,
// the mails that waited already when it began never go out; whoever they were
// for will not hear of it again. All others go out.
func (s *Store) Release(ctx context.Context, by Actor, drop bool) (out *Released, err error) {
	if by.ID == "" || !keepable(by.String()) {
		return nil, errActor
	}
	err = s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		out = nil
		if err := s.alone(ctx, tx); err != nil {
			return err
		}
		h, held, err := holdIn(ctx, tx)
		if err != nil || !held {
			return err
		}
		out = &Released{Hold: h}
		if drop {
			if out.Dropped, err = dropBefore(ctx, tx, h.Since, by, now); err != nil {
				return err
			}
		}
		if out.Waiting, err = countWaiting(ctx, tx); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `UPDATE mail_hold SET released = ?, released_by = ? WHERE id = ?`, micros(now), by.String(), key(h.ID))
		if err != nil {
			return fmt.Errorf("end the hold on mail: %w", classified(err))
		}
		return nil
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		if out == nil {
			return true, nil
		}
		return holds(ctx, tx, `SELECT count(*) FROM mail_hold WHERE id = ? AND released_by = ?`, key(out.Hold.ID), by.String())
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// dropBefore gives up what was queued before an instant. A mail of that very
// instant goes out: to tell twice does less harm than to tell nobody.
func dropBefore(ctx context.Context, tx bun.Tx, before time.Time, by Actor, now time.Time) ([]Waiting, error) {
	dropped, err := waiting(ctx, tx, "queued_at < ?", micros(before))
	if err != nil {
		return nil, err
	}
	_, err = tx.ExecContext(ctx, `UPDATE outbox SET state = ?, finished_at = ?, reply = ?, token = NULL, lease_until = NULL, data_started = NULL
		WHERE finished_at IS NULL AND queued_at < ?`, MailDead, micros(now), replyDropped+by.String(), micros(before))
	if err != nil {
		return nil, fmt.Errorf("drop mails: %w", classified(err))
	}
	return dropped, nil
}

// Waiting is a mail that was not finished, without its bytes.
type Waiting struct {
	Address  string
	Subject  string
	State    MailState
	QueuedAt time.Time
}

// Waiting lists the mails that are not finished, the oldest first.
func (s *Store) Waiting(ctx context.Context) (out []Waiting, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		out, err = waiting(ctx, tx, "1 = 1")
		return err
	})
	return out, err
}

func waiting(ctx context.Context, tx bun.IDB, where string, args ...any) (out []Waiting, err error) {
	var rows []outboxRow
	err = tx.NewSelect().Model(&rows).Column("address", "subject", "state", "queued_at").
		Where("finished_at IS NULL").Where(where, args...).Order("queued_at", "id").Scan(ctx)
	if err != nil {
		return nil, fmt.Errorf("list the mails that wait: %w", classified(err))
	}
	for _, r := range rows {
		out = append(out, Waiting{r.Address, r.Subject, MailState(r.State), instant(r.QueuedAt)})
	}
	return out, nil
}

func countWaiting(ctx context.Context, tx bun.IDB) (n int, err error) {
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM outbox WHERE finished_at IS NULL`).Scan(&n); err != nil {
		return 0, fmt.Errorf("count the mails that wait: %w", classified(err))
	}
	return n, nil
}
