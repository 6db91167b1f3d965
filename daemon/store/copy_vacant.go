package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/uptrace/bun"
)

// ErrNotEmpty: a copy goes into an empty database only, and nothing is deleted
// to make room.
var ErrNotEmpty = errors.New("there are records in it already, and nothing was changed: name a new, empty database")

// vacant looks at a database before anything is made or migrated there. What
// is not there yet is vacant.
func vacant(ctx context.Context, database string, opt Options) error {
	if !IsServer(database) {
		there, err := vacantFile(database)
		if err != nil || !there {
			return err
		}
	}
	s := &Store{clock: opt.Clock}
	err := s.open(ctx, database, opt, true)
	if err == nil {
		err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
			at, err := version(ctx, tx, s.dialect)
			if err != nil || at == 0 {
				return err
			}
			if err := sameSchema(ctx, tx, s.dialect); err != nil {
				return err
			}
			return empty(ctx, tx)
		})
	}
	return withoutPassword(errors.Join(err, s.Close()), opt.Password)
}

// vacantFile says whether a SQLite file is there to be looked at. A log that
// is left of a file which is gone would be read into the new one.
func vacantFile(path string) (there bool, err error) {
	info, err := os.Stat(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return false, fmt.Errorf("look for %s: %w", path, err)
	}
	if err == nil && info.Size() > 0 {
		return true, nil
	}
	for _, ending := range []string{"-wal", "-shm", "-journal"} {
		if _, err := os.Lstat(path + ending); err == nil {
			return false, fmt.Errorf("%s is left of a database that is gone, and nothing was changed: it may hold what the database had last, so move it elsewhere first", path+ending)
		}
	}
	return false, nil
}

// empty refuses a database with a row in any table.
func empty(ctx context.Context, tx bun.IDB) error {
	rows, err := countRows(ctx, tx)
	if err != nil {
		return err
	}
	for _, n := range rows {
		if n > 0 {
			return ErrNotEmpty
		}
	}
	return nil
}
