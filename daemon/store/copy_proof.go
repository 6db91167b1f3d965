package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/uptrace/bun"
)

// ErrDiffers: a copy is not what was copied.
var ErrDiffers = errors.New("the copy is not what was copied")

// proven reads a copy anew: its journal holds up to the head that was copied,
// and each table has as many rows as there were, with more holds on mail.
func (s *Store) proven(ctx context.Context, want Copied, holds int64) error {
	report, err := s.VerifyAgainst(ctx, want.Head)
	if err != nil {
		return err
	}
	if report.Problem != "" {
		return fmt.Errorf("%w: its journal does not hold: %s; does antidotary journal verify say so of the database itself?", ErrDiffers, report.Problem)
	}
	var rows map[string]int64
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		rows, err = countRows(ctx, tx)
		return err
	})
	if err != nil {
		return err
	}
	rows["mail_hold"] -= holds
	for _, name := range slices.Sorted(maps.Keys(want.Rows)) {
		if rows[name] != want.Rows[name] {
			return fmt.Errorf("%w: %s has %d rows instead of %d", ErrDiffers, name, rows[name], want.Rows[name])
		}
	}
	return nil
}
