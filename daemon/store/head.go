package store

import (
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Head is the journal's last position and the chain up to it. Records are a
// function of it.
type Head struct {
	Position int64
	Chain    [32]byte
}

// String gives "position chain" with the chain in hexadecimal: what people
// note elsewhere.
func (h Head) String() string {
	return fmt.Sprintf("%d %s", h.Position, hex.EncodeToString(h.Chain[:]))
}

func head(ctx context.Context, tx bun.IDB) (h Head, err error) {
	var chain []byte
	err = tx.QueryRowContext(ctx, `SELECT position, chain FROM journal ORDER BY position DESC LIMIT 1`).Scan(&h.Position, &chain)
	if errors.Is(err, sql.ErrNoRows) {
		return Head{}, nil
	}
	if err != nil {
		return Head{}, fmt.Errorf("read the journal's head: %w", classified(err))
	}
	copy(h.Chain[:], chain)
	return h, nil
}

// View is everything that a sweep reads, from one consistent read.
type View struct {
	Snapshot  *compliance.Snapshot
	Head      Head
	LastSweep inventory.ID         // zero before the first
	Open      []compliance.Finding // open findings
	Closed    []compliance.Finding // closed within closedLately
	Reminders []Reminder           // all that was told
	Digests   map[DigestKey]bool   // digests queued already, sent or not
}

// Guard is what must not have moved when a sweep is stored.
type Guard struct {
	Head      Head
	LastSweep inventory.ID
}

// Guard gives the view's own.
func (v *View) Guard() Guard { return Guard{v.Head, v.LastSweep} }

// Read reads everything in one consistent transaction, beside any writer.
func (s *Store) Read(ctx context.Context) (*View, error) {
	v := &View{}
	err := s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		if v.Head, err = head(ctx, tx); err != nil {
			return err
		}
		if v.Snapshot, err = s.records(ctx, tx, v.Head); err != nil {
			return err
		}
		if v.LastSweep, v.Snapshot.Pulse, err = pulse(ctx, tx); err != nil {
			return err
		}
		if v.Open, err = openFindings(ctx, tx); err != nil {
			return err
		}
		if v.Closed, err = closedLately(ctx, tx, s.clock().Add(-tellClosed)); err != nil {
			return err
		}
		if v.Reminders, err = allReminders(ctx, tx); err != nil {
			return err
		}
		v.Digests, err = digests(ctx, tx)
		return err
	})
	return v, err
}

// records gives the records at a head of the journal: those that are known
// already where the head is the same, because nothing but a journalled change
// alters a record; else from the tables. The caller may set the copy's Pulse.
func (s *Store) records(ctx context.Context, tx bun.IDB, at Head) (*compliance.Snapshot, error) {
	s.mu.Lock()
	cached, cachedAt := s.cached, s.at
	s.mu.Unlock()
	if cached == nil || cachedAt != at {
		fresh := &compliance.Snapshot{}
		for _, kind := range inventory.Kinds() {
			if err := tables[kind].load(ctx, tx, fresh); err != nil {
				return nil, err
			}
		}
		cached = fresh
		s.keep(fresh, at)
	}
	own := *cached
	return &own, nil
}

func (s *Store) keep(records *compliance.Snapshot, at Head) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.cached, s.at = records, at
}
