package store

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/uptrace/bun"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// MailState is where a mail stands.
//
//	queued --claim--> claimed --DATA--> started --250--> sent
//	   ^                 |                 |---5xx----> dead
//	   |                 +--4xx, no reach--+---4xx----> retry ----+
//	   |                                   |--silence-> ambiguous |
//	   +---- when next_attempt has come ---------------------------+
//
// A claim is a lease: if it runs out, a mail that was claimed is safe to try
// again at once; one that was started may have arrived, so the same bytes go
// out again no sooner than half an hour later.
type MailState string

// The states.
const (
	MailQueued    MailState = "queued"
	MailClaimed   MailState = "claimed"
	MailStarted   MailState = "started"
	MailRetry     MailState = "retry"
	MailAmbiguous MailState = "ambiguous"
	MailSent      MailState = "sent"
	MailDead      MailState = "dead"
)

// KindDigest is the daily mail.
const KindDigest = "digest"

// ambiguousWait is how long a mail that may have arrived waits before its
// bytes are sent again (RFC 5321 4.5.4.1: retry intervals of 30 minutes or
// more).
const ambiguousWait = 30 * time.Minute

// Mail is one mail for one person, with its bytes as they will be sent.
type Mail struct {
	ID        inventory.ID
	Kind      string
	Recipient inventory.ID
	Address   string
	LocalDay  day.Day
	Subject   string
	MessageID string
	Bytes     []byte
	QueuedAt  time.Time
}

// Claimed is a mail under a lease.
type Claimed struct {
	Mail
	Token    inventory.ID
	Attempts int // with this one
}

// Outcome is what became of an attempt.
type Outcome struct {
	State       MailState
	Code        int
	Enhanced    string
	Reply       string
	NextAttempt time.Time // for states that are tried again
}

// ErrLostClaim: the lease ran out, and somebody else has the mail or may.
var ErrLostClaim = errors.New("the claim on this mail was lost")

// errOutcome: the caller is wrong, and the mail is left as it is.
var errOutcome = errors.New("this is no outcome of an attempt")

// settled is the outcome as it is kept. A mail that may have arrived waits at
// least as long as after a lost claim; one that is tried again needs a time,
// or it would be due at once and for ever.
func (o Outcome) settled(now time.Time) (Outcome, error) {
	switch o.State {
	case MailSent, MailDead:
		o.NextAttempt = time.Time{}
	case MailRetry, MailQueued:
		if o.NextAttempt.IsZero() {
			return o, fmt.Errorf("%w: %s without a next attempt", errOutcome, o.State)
		}
	case MailAmbiguous:
		if soonest := now.Add(ambiguousWait); o.NextAttempt.Before(soonest) {
			o.NextAttempt = soonest
		}
	default:
		return o, fmt.Errorf("%w: %q", errOutcome, o.State)
	}
	return o, nil
}

type outboxRow struct {
	bun.BaseModel `bun:"table:outbox"`
	ID            key     `bun:"id,pk"`
	Kind          string  `bun:"kind"`
	Recipient     key     `bun:"recipient"`
	Address       string  `bun:"address"`
	LocalDay      day.Day `bun:"local_day,type:text"`
	Subject       string  `bun:"subject"`
	MessageID     string  `bun:"message_id"`
	Bytes         []byte  `bun:"bytes"`
	QueuedAt      int64   `bun:"queued_at"`
	State         string  `bun:"state"`
	Attempts      int     `bun:"attempts"`
	NextAttempt   int64   `bun:"next_attempt"`
	Token         key     `bun:"token"`
	LeaseUntil    *int64  `bun:"lease_until"`
	DataStarted   *int64  `bun:"data_started"`
	FinishedAt    *int64  `bun:"finished_at"`
	Code          int     `bun:"code"`
	Enhanced      string  `bun:"enhanced"`
	Reply         string  `bun:"reply"`
}

func (s *Store) saveMails(ctx context.Context, tx bun.Tx, mails []Mail, now time.Time) error {
	rows := make([]outboxRow, len(mails))
	for i, m := range mails {
		rows[i] = queuedRow(m, now)
	}
	if err := insertAll(ctx, tx, s.dialect, rows); err != nil {
		return fmt.Errorf("queue mails: %w", err)
	}
	return nil
}

func queuedRow(m Mail, now time.Time) outboxRow {
	return outboxRow{ID: key(m.ID), Kind: m.Kind, Recipient: key(m.Recipient), Address: m.Address, LocalDay: m.LocalDay, Subject: m.Subject,
		MessageID: m.MessageID, Bytes: m.Bytes, QueuedAt: micros(now), State: string(MailQueued), NextAttempt: micros(now)}
}

// Claim takes at most n mails that are due, oldest first, under a lease; none
// while a hold is in force.
func (s *Store) Claim(ctx context.Context, n int, lease time.Duration) (claimed []Claimed, err error) {
	token := inventory.NewID()
	err = s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		claimed = nil
		if _, held, err := holdIn(ctx, tx); err != nil || held {
			return err
		}
		if err := s.recoverLeases(ctx, tx, now); err != nil {
			return err
		}
		var rows []outboxRow
		err := tx.NewRaw(`UPDATE outbox SET state = ?, token = ?, lease_until = ?, attempts = attempts + 1
			WHERE id IN (SELECT id FROM outbox WHERE finished_at IS NULL AND state IN (?, ?, ?) AND next_attempt <= ?
				ORDER BY queued_at, id LIMIT ?`+s.dialect.skipLocked+`) RETURNING *`,
			MailClaimed, key(token), micros(now.Add(lease)), MailQueued, MailRetry, MailAmbiguous, micros(now), n).Scan(ctx, &rows)
		if err != nil {
			return fmt.Errorf("claim mails: %w", classified(err))
		}
		claimed = claims(rows, token)
		return nil
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		var held int
		err := tx.QueryRowContext(ctx, `SELECT count(*) FROM outbox WHERE token = ?`, key(token)).Scan(&held)
		return err == nil && held == len(claimed), err
	})
	if err != nil {
		return nil, err
	}
	return claimed, nil
}

// recoverLeases frees mails whose claim ran out.
func (s *Store) recoverLeases(ctx context.Context, tx bun.IDB, now time.Time) error {
	_, err := tx.ExecContext(ctx, `UPDATE outbox SET
			state = CASE WHEN data_started IS NULL THEN ? ELSE ? END,
			next_attempt = CASE WHEN data_started IS NULL THEN ? ELSE data_started + ? END,
			token = NULL, lease_until = NULL, data_started = NULL
		WHERE id IN (SELECT id FROM outbox WHERE finished_at IS NULL AND lease_until IS NOT NULL AND lease_until <= ?`+s.dialect.skipLocked+`)`,
		MailRetry, MailAmbiguous, micros(now), ambiguousWait.Microseconds(), micros(now))
	if err != nil {
		return fmt.Errorf("free lost claims: %w", classified(err))
	}
	return nil
}

// claims gives the rows oldest first: RETURNING promises no order.
func claims(rows []outboxRow, token inventory.ID) []Claimed {
	slices.SortFunc(rows, func(a, b outboxRow) int {
		return cmp.Or(cmp.Compare(a.QueuedAt, b.QueuedAt), bytes.Compare(a.ID[:], b.ID[:]))
	})
	var out []Claimed
	for _, r := range rows {
		out = append(out, Claimed{Mail: Mail{ID: inventory.ID(r.ID), Kind: r.Kind, Recipient: inventory.ID(r.Recipient), Address: r.Address, LocalDay: r.LocalDay,
			Subject: r.Subject, MessageID: r.MessageID, Bytes: r.Bytes, QueuedAt: instant(r.QueuedAt)}, Token: token, Attempts: r.Attempts})
	}
	return out
}

// DataStarted records that the mail itself is about to be sent: from here on
// it may have arrived. A lease that ran out is lost even where nobody has
// taken the mail yet: begun now, it would be sent twice.
func (s *Store) DataStarted(ctx context.Context, id, token inventory.ID) error {
	return s.guarded(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) (int64, error) {
		res, err := tx.ExecContext(ctx, `UPDATE outbox SET state = ?, data_started = ? WHERE id = ? AND token = ? AND finished_at IS NULL AND lease_until > ?`,
			MailStarted, micros(now), key(id), key(token), micros(now))
		if err != nil {
			return 0, fmt.Errorf("record the start of a mail: %w", classified(err))
		}
		return res.RowsAffected()
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		return holds(ctx, tx, `SELECT count(*) FROM outbox WHERE id = ? AND token = ? AND state = ?`, key(id), key(token), MailStarted)
	})
}

// Finish records what became of an attempt.
func (s *Store) Finish(ctx context.Context, id, token inventory.ID, o Outcome) error {
	return s.guarded(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) (n int64, err error) {
		if o, err = o.settled(now); err != nil {
			return 0, err
		}
		finished := any(nil)
		if o.State == MailSent || o.State == MailDead {
			finished = micros(now)
		}
		spent := 0
		if o.State == MailQueued { // a fault of the settings burns no attempt
			spent = 1
		}
		res, err := tx.ExecContext(ctx, `UPDATE outbox SET state = ?, code = ?, enhanced = ?, reply = ?, next_attempt = ?, finished_at = ?,
				attempts = attempts - ?, token = NULL, lease_until = NULL, data_started = NULL
			WHERE id = ? AND token = ? AND finished_at IS NULL`,
			o.State, o.Code, o.Enhanced, o.Reply, micros(o.NextAttempt), finished, spent, key(id), key(token))
		if err != nil {
			return 0, fmt.Errorf("record what became of a mail: %w", classified(err))
		}
		return res.RowsAffected()
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		return holds(ctx, tx, `SELECT count(*) FROM outbox WHERE id = ? AND token IS NULL AND state = ? AND next_attempt = ?
			AND code = ? AND enhanced = ? AND reply = ?`, key(id), o.State, micros(o.NextAttempt), o.Code, o.Enhanced, o.Reply)
	})
}

// guarded runs an update that must meet exactly the row that is claimed.
func (s *Store) guarded(ctx context.Context, update func(context.Context, bun.Tx, time.Time) (int64, error),
	written func(context.Context, bun.Tx) (bool, error)) error {
	return s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		n, err := update(ctx, tx, now)
		if err == nil && n != 1 {
			return ErrLostClaim
		}
		return err
	}, written)
}

func holds(ctx context.Context, tx bun.IDB, query string, args ...any) (bool, error) {
	var n int
	if err := tx.QueryRowContext(ctx, query, args...).Scan(&n); err != nil {
		return false, fmt.Errorf("look up a mail: %w", classified(err))
	}
	return n == 1, nil
}

// OutboxCounts gives how many mails are in each state.
func (s *Store) OutboxCounts(ctx context.Context) (map[MailState]int, error) {
	out := make(map[MailState]int)
	err := s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		rows, err := tx.QueryContext(ctx, `SELECT state, count(*) FROM outbox GROUP BY state`)
		if err != nil {
			return fmt.Errorf("count mails: %w", classified(err))
		}
		defer rows.Close()
		for rows.Next() {
			var state MailState
			var n int
			if err := rows.Scan(&state, &n); err != nil {
				return fmt.Errorf("count mails: %w", err)
			}
			out[state] = n
		}
		return rows.Err()
	})
	return out, err
}
