package store

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/uptrace/bun"
)

// ErrUnsafe: the server would lose what it acknowledged, or misread it.
var ErrUnsafe = errors.New("this PostgreSQL server cannot be trusted with the records")

// address completes an address with what must hold on every connection: the
// server's certificate is checked against its name unless the address says
// otherwise (the driver's own default encrypts and checks nothing), waiting
// ends, and sessions read and write UTC.
func address(database, password string, readOnly bool) (string, error) {
	u, err := url.Parse(database)
	if err != nil {
		return "", errors.New("the address of the database is not postgres://USER@HOST:PORT/NAME")
	}
	if _, has := u.User.Password(); has {
		return "", errors.New("the address of the database holds a password: write it into a file of its own and name that as database_password_file")
	}
	if password != "" {
		u.User = url.UserPassword(u.User.Username(), password)
	}
	q := u.Query()
	for key, value := range map[string]string{
		"sslmode": "verify-full", "application_name": "antidotary", "connect_timeout": "10", "timezone": "UTC",
		"statement_timeout": "30000", "lock_timeout": "5000", "idle_in_transaction_session_timeout": "60000",
	} {
		if !q.Has(key) {
			q.Set(key, value)
		}
	}
	if readOnly {
		q.Set("default_transaction_read_only", "on")
	}
	u.RawQuery = q.Encode()
	return u.String(), nil
}

// openPostgres opens pools to a server, if its settings keep what it
// acknowledges.
func (s *Store) openPostgres(ctx context.Context, database string, opt Options, readOnly bool) error {
	s.dialect = postgresDialect
	s.shared = opt.SharedClock
	reading, err := address(database, opt.Password, true)
	if err != nil {
		return err
	}
	if s.reader, err = connect(s.dialect, opt.Driver, reading, 4); err != nil {
		return err
	}
	s.reader.SetConnMaxLifetime(30 * time.Minute)
	if readOnly {
		return s.read(ctx, trusted)
	}
	writing, err := address(database, opt.Password, false)
	if err != nil {
		return err
	}
	if s.writer, err = connect(s.dialect, opt.Driver, writing, 4); err != nil {
		return err
	}
	s.writer.SetConnMaxLifetime(30 * time.Minute)
	return s.read(ctx, trusted)
}

// demanded are the settings without which an acknowledged commit can be lost
// or text be misread: bun writes values into the statements, and counts on
// standard strings.
var demanded = map[string][]string{
	"fsync":                       {"on"},
	"full_page_writes":            {"on"},
	"synchronous_commit":          {"on", "remote_apply"},
	"standard_conforming_strings": {"on"},
	"server_encoding":             {"UTF8"},
}

// oldest is the oldest server that the driver supports (lib/pq 1.12).
const oldest = 140000

// trusted reads a server's settings and refuses it where one is wrong.
func trusted(ctx context.Context, tx bun.Tx) error {
	rows, err := tx.QueryContext(ctx, `SELECT name, setting FROM pg_settings`)
	if err != nil {
		return fmt.Errorf("read the server's settings: %w", classified(err))
	}
	defer rows.Close()
	settings := make(map[string]string)
	for rows.Next() {
		var name, setting string
		if err := rows.Scan(&name, &setting); err != nil {
			return fmt.Errorf("read the server's settings: %w", err)
		}
		settings[name] = setting
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read the server's settings: %w", classified(err))
	}
	return untrusted(settings)
}

func untrusted(settings map[string]string) error {
	var wrong []error
	for name, allowed := range demanded {
		if have := settings[name]; !slices.Contains(allowed, have) {
			wrong = append(wrong, fmt.Errorf("%s is %q, and must be %s", name, have, strings.Join(allowed, " or ")))
		}
	}
	if n, err := strconv.Atoi(settings["server_version_num"]); err != nil || n < oldest {
		wrong = append(wrong, fmt.Errorf("it is version %q, and must be 14 or newer", settings["server_version"]))
	}
	if len(wrong) == 0 {
		return nil
	}
	return errors.Join(append([]error{ErrUnsafe}, wrong...)...)
}

// rewriteJournal writes the table anew: an updated row's old version stays in
// the file until then. The server's own log and its backups may hold it
// longer.
func rewriteJournal(ctx context.Context, db *bun.DB) error {
	if _, err := db.ExecContext(ctx, "VACUUM FULL journal"); err != nil {
		return fmt.Errorf("write the journal's file anew: %w", classified(err))
	}
	return nil
}
