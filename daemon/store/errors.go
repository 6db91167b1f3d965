package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"io"
	"net"
	"strings"

	"github.com/lib/pq"
	"modernc.org/sqlite"
)

// The kinds of errors that a caller can do something about.
var (
	// ErrConflict: a unique or foreign key, or a column's own rule, refused
	// the write.
	ErrConflict = errors.New("it conflicts with what is recorded")
	// ErrBusy: somebody else holds what is needed; the same again may work.
	ErrBusy = errors.New("another process holds the database")
	// ErrFull: the disk is full. Nothing was written, and as soon as there is
	// room everything goes on.
	ErrFull = errors.New("the disk of the database is full")
	// ErrUnreachable: the server does not answer.
	ErrUnreachable = errors.New("the database does not answer")
	// ErrSlow: the server gave up on a statement that took too long.
	ErrSlow = errors.New("the database took too long")
)

// Result codes of SQLite (https://sqlite.org/rescode.html, read in the
// driver's constants).
var sqliteKinds = map[int]error{
	787:  ErrConflict, // foreign key
	2067: ErrConflict, // unique
	1555: ErrConflict, // primary key
	1299: ErrConflict, // not null
	275:  ErrConflict, // check
	1811: ErrConflict, // a trigger, as in PostgreSQL (restrict violation)
	5:    ErrBusy,
	13:   ErrFull,
}

// SQLSTATE codes, or their class of two characters, of PostgreSQL
// (documentation, appendix A; read in the driver's constants).
var postgresKinds = map[string]error{
	"23":    ErrConflict, // integrity constraint violation
	"54000": ErrConflict, // program limit exceeded: a name too long for its index
	"55P03": ErrBusy,     // lock not available
	"40":    ErrBusy,     // serialization failure, deadlock
	"53100": ErrFull,
	"53":    ErrBusy,        // too many connections, out of memory
	"57014": ErrSlow,        // query canceled: by its timeout, where not by us
	"25P03": ErrUnreachable, // the server ended a transaction that was idle, and its connection
	"57":    ErrUnreachable,
	"08":    ErrUnreachable,
	"58":    ErrUnreachable, // system error
}

// classified marks a driver's error by its code, never by its text.
func classified(err error) error {
	var lite *sqlite.Error
	if errors.As(err, &lite) {
		kind := sqliteKinds[lite.Code()]
		if kind == nil {
			kind = sqliteKinds[lite.Code()&0xff]
		}
		return marked(err, kind)
	}
	var pg *pq.Error
	if errors.As(err, &pg) {
		kind := postgresKinds[string(pg.Code)]
		if kind == nil && len(pg.Code) == 5 {
			kind = postgresKinds[string(pg.Code[:2])]
		}
		return marked(err, kind)
	}
	var network net.Error
	if errors.Is(err, driver.ErrBadConn) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.As(err, &network) {
		return marked(err, ErrUnreachable)
	}
	return err
}

func marked(err, kind error) error {
	if kind == nil || errors.Is(err, kind) {
		return err
	}
	return errors.Join(kind, err)
}

// ended says why the work ended where the caller itself called it off: a
// server answers that with "query canceled", which is no context.Canceled.
func ended(ctx context.Context, err error) error {
	if err == nil || ctx.Err() == nil || errors.Is(err, ctx.Err()) {
		return err
	}
	return errors.Join(ctx.Err(), err)
}

// withoutPassword takes the password out of an error's text: drivers may
// quote the address that they were given.
func withoutPassword(err error, password string) error {
	if err == nil || password == "" || !strings.Contains(err.Error(), password) {
		return err
	}
	return errors.New(strings.ReplaceAll(err.Error(), password, "*****"))
}
