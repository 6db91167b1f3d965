package store

import (
	"context"
	"fmt"
	"maps"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Recalled is what was known at one position of the journal.
type Recalled struct {
	Snapshot *compliance.Snapshot // with the pulse of then
	Head     Head
	// Erased are the records whose last after-image by then was erased. They
	// are missing from the snapshot, or nothing but their identifier is known:
	// what concerns them cannot be told.
	Erased []inventory.Ref
	// RunsRemoved: whether the watch's own jobs ran cannot be told, because
	// runs of that time may have been removed since. The pulse has them as
	// just run.
	RunsRemoved bool
}

// Past is what was known, and what had been told, at an instant.
type Past struct {
	Recalled
	At    time.Time
	First time.Time // of the journal's first entry; zero: there is none
	Told  *Told     // by the last sweep that had ended by then; nil before the first
}

// Told is one sweep as it was: what it rested on, and the findings that were
// open after it.
type Told struct {
	Recalled
	Sweep             inventory.ID
	Started, Finished time.Time
	Engine            string
	PackHash          string
	HolidayHash       string
	Open              []compliance.Finding // sorted by key
}

// KnownAt gives what was known at an instant, from the after-images of the
// journal and nothing that came later. The order of the journal counts: what
// stands before an entry was known with it, even where a clock was wrong for a
// while. A journal that does not hold up to there is an error.
func (s *Store) KnownAt(ctx context.Context, at time.Time) (past *Past, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		past, err = knownAt(ctx, tx, at)
		return err
	})
	return past, err
}

func knownAt(ctx context.Context, tx bun.IDB, at time.Time) (*Past, error) {
	p := &Past{At: at.UTC()}
	var first, position int64
	err := tx.QueryRowContext(ctx, `SELECT coalesce((SELECT at FROM journal WHERE position = 1), 0),
		coalesce((SELECT max(position) FROM journal WHERE at <= ?), 0)`, micros(at)).Scan(&first, &position)
	if err != nil {
		return nil, fmt.Errorf("read the journal: %w", classified(err))
	}
	p.First = instant(first)
	sweep, err := lastSweep(ctx, tx, "finished <= ?", micros(at))
	if err != nil {
		return nil, err
	}
	stops := []int64{position}
	if sweep != nil {
		stops = append(stops, sweep.Head)
	}
	images, err := replay(ctx, tx, stops...)
	if err != nil {
		return nil, err
	}
	if p.Recalled, err = images[position].recall(); err != nil {
		return nil, err
	}
	if err := p.beat(ctx, tx, sweep, at); err != nil || sweep == nil {
		return p, err
	}
	p.Told, err = told(ctx, tx, sweep, images[sweep.Head])
	return p, err
}

// told recalls what a sweep rested on and said.
func told(ctx context.Context, tx bun.IDB, sweep *sweepRow, images *afterImages) (t *Told, err error) {
	t = &Told{Sweep: inventory.ID(sweep.ID), Started: instant(sweep.Started), Finished: instant(sweep.Finished),
		Engine: sweep.Engine, PackHash: sweep.PackHash, HolidayHash: sweep.HolidayHash}
	if t.Recalled, err = images.recall(); err != nil {
		return nil, err
	}
	before, err := lastSweep(ctx, tx, "number < ?", sweep.Number)
	if err != nil {
		return nil, err
	}
	if err := t.beat(ctx, tx, before, t.Started); err != nil {
		return nil, err
	}
	if before == nil { // that there was none before the first was no news to it
		t.Snapshot.Pulse.Swept = t.Started
	}
	t.Open, err = openAfter(ctx, tx, sweep.Number)
	return t, err
}

// afterImages are the last after-images up to a position, by subject; nil
// where that one was erased.
type afterImages struct {
	head Head
	of   map[string]*string
}

// replay follows the journal from its first entry, and its chain with it, and
// gives what was recorded at each of some positions.
func replay(ctx context.Context, tx bun.IDB, stops ...int64) (map[int64]*afterImages, error) {
	var r VerifyReport
	now, out, end := make(map[string]*string), make(map[int64]*afterImages), int64(0)
	for _, stop := range stops {
		out[stop], end = &afterImages{}, max(end, stop) // at 0 nothing was known
	}
	for r.Head.Position < end {
		var rows []journalRow
		err := tx.NewSelect().Model(&rows).Where("position > ?", r.Head.Position).Where("position <= ?", end).Order("position").Limit(verifyBatch).Scan(ctx)
		if err != nil {
			return nil, fmt.Errorf("read the journal: %w", classified(err))
		}
		if len(rows) == 0 {
			return nil, fmt.Errorf("the journal does not hold: it ends at position %d, and %d is needed", r.Head.Position, end)
		}
		for i := range rows {
			row := &rows[i]
			if r.step(row, nil); r.Problem != "" {
				return nil, fmt.Errorf("the journal does not hold: %s", r.Problem)
			}
			if now[row.Subject], err = row.raised(); err != nil {
				return nil, err
			}
			if row.Payload != nil && *row.Payload == takenOut {
				delete(now, row.Subject)
			}
			if stop := out[row.Position]; stop != nil {
				*stop = afterImages{r.Head, maps.Clone(now)}
			}
		}
	}
	return out, nil
}
