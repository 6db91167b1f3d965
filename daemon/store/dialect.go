package store

import (
	"context"
	"database/sql"
	"fmt"

	"github.com/uptrace/bun"
	"github.com/uptrace/bun/dialect/pgdialect"
	"github.com/uptrace/bun/dialect/sqlitedialect"
	"github.com/uptrace/bun/schema"
)

// dialect is every difference between the databases, as data. How each is
// opened is in open_sqlite.go and open_postgres.go; nothing else knows which
// one it is.
type dialect struct {
	name   string // of the folder of migrations
	driver string
	bun    func() schema.Dialect
	// reading is the transaction that sees one state of everything.
	reading sql.TxOptions
	// alone waits until no other transaction changes records; empty where
	// every writing transaction is alone.
	alone string
	// patient lets a migration take its time; empty where nothing hurries.
	patient string
	// deferKeys has foreign keys checked when the transaction commits: records
	// of one kind may refer to each other in whatever order they are written.
	deferKeys string
	// hex and hexAs are a function, and what comes after its argument, that
	// gives bytes in hexadecimal.
	hex, hexAs string
	// skipLocked passes over rows that another transaction is claiming; empty
	// where there is no other.
	skipLocked string
	// hasSchema counts the table of migrations.
	hasSchema string
	// clock asks for the instant that all processes on this database share;
	// empty where there is one process.
	clock string
	// copyIn prepares the fastest statement that takes rows one by one, and
	// flush says whether an empty execution ends it.
	copyIn func(table string, columns []string) string
	flush  bool
	// countOn lets sweeps be numbered after the highest number that a copy
	// brought; empty where the database does so by itself.
	countOn string
	// company counts the other programs of ours that are connected; empty
	// where a lock keeps them out.
	company string
	// scrub takes what was erased out of the files.
	scrub func(ctx context.Context, db *bun.DB) error
}

var sqliteDialect = dialect{
	name: "sqlite", driver: "sqlite",
	bun:       func() schema.Dialect { return sqlitedialect.New() },
	reading:   sql.TxOptions{ReadOnly: true},
	deferKeys: "PRAGMA defer_foreign_keys = 1",
	hex:       "hex",
	hasSchema: `SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'schema_version'`,
	copyIn:    insertInto,
	scrub:     emptyLog,
}

// lockOfRecords is the key of the advisory lock under which records change,
// one transaction at a time: "antidote" in ASCII.
const lockOfRecords = 0x616e7469646f7465

var postgresDialect = dialect{
	name: "postgres", driver: "postgres",
	bun:        func() schema.Dialect { return pgdialect.New() },
	reading:    sql.TxOptions{ReadOnly: true, Isolation: sql.LevelRepeatableRead},
	alone:      fmt.Sprintf("SELECT pg_advisory_xact_lock(%d)", lockOfRecords),
	patient:    "SET LOCAL lock_timeout = '10min'; SET LOCAL statement_timeout = 0",
	deferKeys:  "SET CONSTRAINTS ALL DEFERRED",
	hex:        "encode",
	hexAs:      ", 'hex'",
	skipLocked: " FOR UPDATE SKIP LOCKED",
	hasSchema:  `SELECT count(*) FROM pg_class WHERE oid = to_regclass('schema_version')`,
	clock:      "SELECT (extract(epoch FROM now()) * 1000000)::bigint",
	copyIn:     copyFrom,
	flush:      true,
	countOn:    `SELECT setval(pg_get_serial_sequence('sweep', 'number'), (SELECT max(number) FROM sweep))`,
	company: `SELECT count(*) FROM pg_stat_activity
		WHERE datname = current_database() AND application_name = 'antidotary' AND pid <> pg_backend_pid()`,
	scrub: rewriteJournal,
}
