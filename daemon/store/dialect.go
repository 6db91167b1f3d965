package store

import (
	"errors"

	"modernc.org/sqlite"
)

// dialect is every difference between databases, as data. PostgreSQL joins
// here and nowhere else.
type dialect struct {
	name   string
	driver string
	// deferKeys has foreign keys checked when the transaction commits: records
	// of one kind may refer to each other in whatever order they are written.
	deferKeys string
}

var sqliteDialect = dialect{name: "sqlite", driver: "sqlite", deferKeys: "PRAGMA defer_foreign_keys = 1"}

// Extended result codes of SQLite (https://sqlite.org/rescode.html, read in
// the driver's constants).
const (
	sqliteForeignKey = 787
	sqliteUnique     = 2067
	sqlitePrimaryKey = 1555
	sqliteNotNull    = 1299
	sqliteCheck      = 275
	sqliteBusy       = 5
)

// ErrConflict: a unique or foreign key, or a column's own rule, refused the
// write.
var ErrConflict = errors.New("it conflicts with what is recorded")

// ErrBusy: another process holds the database.
var ErrBusy = errors.New("another process holds the database")

// classified marks a driver's error by its code, never by its text.
func classified(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() {
	case sqliteForeignKey, sqliteUnique, sqlitePrimaryKey, sqliteNotNull, sqliteCheck:
		return errors.Join(ErrConflict, err)
	}
	if e.Code()&0xff == sqliteBusy {
		return errors.Join(ErrBusy, err)
	}
	return err
}
