// Package migrations holds the schema of the database as numbered SQL files,
// one embedded folder a dialect.
//
// The order in which its rules apply: numbers are contiguous from 0001 and
// the same in every folder, so that two branches that both add a migration
// clash in a test and not in somebody's database; a file that has landed is
// never edited; each runs in one transaction and is recorded as applied only
// when it succeeded. There are no down files: going back is a restore.
package migrations

import (
	"embed"
	"fmt"
	"io/fs"
)

//go:embed postgres/*.sql sqlite/*.sql
var files embed.FS

// For gives the migrations of a dialect, "sqlite" or "postgres".
func For(dialect string) (fs.FS, error) {
	folder, err := fs.Sub(files, dialect)
	if err != nil {
		return nil, fmt.Errorf("find migrations: %w", err)
	}
	if at, err := fs.Stat(folder, "."); err != nil || !at.IsDir() {
		return nil, fmt.Errorf("there are no migrations for %q", dialect)
	}
	return folder, nil
}
