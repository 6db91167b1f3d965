package store

import (
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
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

// View is what a sweep begins with, from one consistent read. What was told is
// asked for once it is known of which findings: see Ledger.
type View struct {
	Snapshot  *compliance.Snapshot
	Head      Head
	LastSweep inventory.ID         // zero before the first
	Open      []compliance.Finding // open findings, sorted by key
	Closed    []compliance.Finding // closed within tellClosed; for a sweep, none where only asked
	Digests   map[DigestKey]bool   // digests of these days that are queued already, sent or not
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
		if v.Snapshot, v.Head, v.LastSweep, err = s.known(ctx, tx); err != nil {
			return err
		}
		if v.Open, err = s.openAt(ctx, tx, v.LastSweep); err != nil {
			return err
		}
		if s.writer == nil {
			return nil // whoever only asks tells nobody
		}
		if v.Closed, err = closedLately(ctx, tx, s.clock().Add(-tellClosed)); err != nil {
			return err
		}
		v.Digests, err = digests(ctx, tx, day.In(s.clock(), time.UTC)-digestDays)
		return err
	})
	return v, err
}

// Guard reads where the records and sweeps stand, and nothing of them.
func (s *Store) Guard(ctx context.Context) (g Guard, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		if g.Head, err = head(ctx, tx); err != nil {
			return err
		}
		g.LastSweep, _, err = pulse(ctx, tx)
		return err
	})
	return g, err
}

// OldestMail gives when the oldest mail that waits was queued; zero if none
// waits.
func (s *Store) OldestMail(ctx context.Context) (at time.Time, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		_, p, err := pulse(ctx, tx)
		at = p.OldestMail
		return err
	})
	return at, err
}

// Snapshot reads the records alone, with the head of the journal that they
// are a function of.
func (s *Store) Snapshot(ctx context.Context) (records *compliance.Snapshot, at Head, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		records, at, _, err = s.known(ctx, tx)
		return err
	})
	return records, at, err
}

// known gives the records and what is known of the watch itself.
func (s *Store) known(ctx context.Context, tx bun.IDB) (records *compliance.Snapshot, at Head, last inventory.ID, err error) {
	if at, err = head(ctx, tx); err != nil {
		return nil, at, last, err
	}
	if records, err = s.records(ctx, tx, at); err != nil {
		return nil, at, last, err
	}
	last, records.Pulse, err = pulse(ctx, tx)
	return records, at, last, err
}

// records gives the records at a head of the journal: those that are known
// already where the head is the same, because nothing but a journalled change
// alters a record; those that follow from what is known where the journal
// leads on; else from the tables. The caller may set the copy's Pulse.
func (s *Store) records(ctx context.Context, tx bun.IDB, at Head) (*compliance.Snapshot, error) {
	s.mu.Lock()
	cached, cachedAt := s.cached, s.at
	s.mu.Unlock()
	if cached == nil || cachedAt != at {
		fresh, err := follow(ctx, tx, cached, cachedAt, at)
		if fresh == nil && err == nil {
			fresh, err = readAll(ctx, tx)
		}
		if err != nil {
			return nil, err
		}
		cached = fresh
		s.keep(fresh, at)
	}
	own := *cached
	return &own, nil
}

// readAll reads the records from their tables.
func readAll(ctx context.Context, tx bun.IDB) (*compliance.Snapshot, error) {
	fresh := &compliance.Snapshot{}
	for _, kind := range inventory.Kinds() {
		if err := tables[kind].load(ctx, tx, fresh); err != nil {
			return nil, err
		}
	}
	return fresh, nil
}

func (s *Store) keep(records *compliance.Snapshot, at Head) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.cached, s.at = records, at
}
