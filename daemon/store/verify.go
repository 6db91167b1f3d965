package store

import (
	"bytes"
	"context"
	"fmt"

	"github.com/uptrace/bun"
)

// VerifyReport says whether the journal holds.
type VerifyReport struct {
	Entries int64
	Erased  int64 // payloads erased; the chain holds over them
	Unnamed int64 // entries whose actor was erased, likewise
	Head    Head
	Problem string // empty: it holds
}

// Verify walks the journal from its first entry. Any edit, removal, swap or
// insertion breaks the chain. A tail that was cut off shows only against a
// head that was noted elsewhere: VerifyAgainst.
func (s *Store) Verify(ctx context.Context) (VerifyReport, error) {
	return s.verify(ctx, nil)
}

// VerifyAgainst also demands that the journal still holds a head that it once
// had.
func (s *Store) VerifyAgainst(ctx context.Context, noted Head) (VerifyReport, error) {
	return s.verify(ctx, &noted)
}

// verifyBatch is how many entries are read at once, to bound memory.
const verifyBatch = 5000

func (s *Store) verify(ctx context.Context, noted *Head) (r VerifyReport, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		for r.Problem == "" {
			var rows []journalRow
			q := tx.NewSelect().Model(&rows).Where("position > ?", r.Head.Position).Order("position").Limit(verifyBatch)
			if err := q.Scan(ctx); err != nil {
				return fmt.Errorf("read the journal: %w", classified(err))
			}
			if len(rows) == 0 {
				break
			}
			for i := range rows {
				if r.step(&rows[i], noted); r.Problem != "" {
					break
				}
			}
		}
		return r.below(ctx, tx)
	})
	if err == nil && r.Problem == "" && noted != nil && noted.Position > r.Head.Position {
		r.Problem = fmt.Sprintf("it ends at position %d, and it once reached %d: its tail was cut off", r.Head.Position, noted.Position)
	}
	return r, err
}

// step follows the chain over one entry.
func (r *VerifyReport) step(row *journalRow, noted *Head) {
	switch {
	case row.Position != r.Head.Position+1:
		r.Problem = fmt.Sprintf("position %d is missing", r.Head.Position+1)
		return
	case !bytes.Equal(row.Chain, row.link(r.Head.Chain)):
		r.Problem = fmt.Sprintf("entry %d does not follow from the one before it", row.Position)
		return
	case row.Payload != nil && !bytes.Equal(row.Digest, digestOf(row.Salt, *row.Payload)):
		r.Problem = fmt.Sprintf("the after-image of entry %d was altered", row.Position)
		return
	case !row.actorHolds():
		r.Problem = fmt.Sprintf("who made entry %d was altered", row.Position)
		return
	}
	r.Entries++
	if row.Payload == nil {
		r.Erased++
	}
	if row.unnamed() {
		r.Unnamed++
	}
	r.Head.Position = row.Position
	copy(r.Head.Chain[:], row.Chain)
	if noted != nil && noted.Position == row.Position && noted.Chain != r.Head.Chain {
		r.Problem = fmt.Sprintf("entry %d is not the one that was noted: the journal was written anew", row.Position)
	}
}

// unnamed says that the entry's actor was erased.
func (r *journalRow) unnamed() bool { return r.ActorDigest != nil && r.ActorSalt == nil }

// actorHolds says that the actor is who it was, or was erased. In the first
// format the chain itself says so.
func (r *journalRow) actorHolds() bool {
	switch {
	case r.ActorDigest == nil:
		return r.ActorSalt == nil
	case r.unnamed():
		return r.Actor == ""
	}
	return bytes.Equal(r.ActorDigest, digestOf(r.ActorSalt, r.Actor))
}

// below finds entries before the first position.
func (r *VerifyReport) below(ctx context.Context, tx bun.IDB) error {
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM journal WHERE position < 1`).Scan(&n); err != nil {
		return fmt.Errorf("read the journal: %w", classified(err))
	}
	if n > 0 && r.Problem == "" {
		r.Problem = "there are entries before position 1"
	}
	return nil
}
