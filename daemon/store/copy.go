package store

import (
	"context"
	"fmt"
	"maps"
	"reflect"
	"strings"
	"time"

	"github.com/uptrace/bun"

	"antidotary/inventory"
)

// copying is one table as a copy takes it over. A backup, a restore and a move
// are all the same copy, row by row, so that it does not matter which database
// either side is.
type copying interface {
	named() string
	rowType() reflect.Type // it has every column of the table
	copy(ctx context.Context, from bun.IDB, to bun.Tx, d dialect) error
}

// others are the tables that hold no records.
var others = []copying{
	plain[journalRow]("journal"),
	plain[sweepRow]("sweep"),
	plain[findingRow]("finding"),
	plain[transitionRow]("finding_transition"),
	plain[outboxRow]("outbox"),
	plain[reminderRow]("reminder"),
	plain[jobRunRow]("job_run"),
	plain[keptTextRow]("kept_text"),
	plain[holdRow]("mail_hold"),
}

// plain is a table by its row type.
type plain[R any] string

func (p plain[R]) named() string { return string(p) }

func (p plain[R]) rowType() reflect.Type { return reflect.TypeFor[R]() }

func (p plain[R]) copy(ctx context.Context, from bun.IDB, to bun.Tx, d dialect) error {
	return copyRows[R](ctx, from, to, d)
}

func (t table[T, R]) named() string { return t.name }

func (t table[T, R]) rowType() reflect.Type { return reflect.TypeFor[R]() }

func (t table[T, R]) copy(ctx context.Context, from bun.IDB, to bun.Tx, d dialect) error {
	return copyRows[R](ctx, from, to, d)
}

// everyTable is all that there is to copy: a test compares it with the schema,
// so that a table which a migration adds is not forgotten.
func everyTable() (out []copying) {
	for _, kind := range inventory.Kinds() {
		out = append(out, tables[kind])
	}
	return append(out, others...)
}

// copyPage is how many rows are held in memory at once. Mails are the largest,
// with tens of kilobytes each.
const copyPage = 500

// copyRows takes over one table, page by page in the order of its key.
func copyRows[R any](ctx context.Context, from bun.IDB, to bun.Tx, d dialect) error {
	key, name := keyOf[R](from)
	var last []any
	for {
		var page []R
		q := from.NewSelect().Model(&page).Order(key...).Limit(copyPage)
		if last != nil {
			marks := strings.TrimSuffix(strings.Repeat("?, ", len(key)), ", ")
			q = q.Where("("+strings.Join(key, ", ")+") > ("+marks+")", last...)
		}
		if err := q.Scan(ctx); err != nil {
			return fmt.Errorf("read %s: %w", name, classified(err))
		}
		if err := insertAll(ctx, to, d, page); err != nil {
			return err
		}
		if len(page) < copyPage {
			return nil
		}
		last = keyIn(from, &page[len(page)-1])
	}
}

func keyOf[R any](db bun.IDB) (columns []string, table string) {
	t := db.Dialect().Tables().Get(reflect.TypeFor[R]())
	for _, f := range t.PKs {
		columns = append(columns, f.Name)
	}
	return columns, t.Name
}

// keyIn gives the values of a row's key, in the order of keyOf.
func keyIn[R any](db bun.IDB, row *R) (values []any) {
	for _, f := range db.Dialect().Tables().Get(reflect.TypeFor[R]()).PKs {
		values = append(values, reflect.ValueOf(row).Elem().FieldByIndex(f.Index).Interface())
	}
	return values
}

// Copied is one state of a database, as a copy took it over.
type Copied struct {
	Head Head
	Rows map[string]int64 // by table

	guard Guard
}

// Total is how many rows there are in all tables.
func (c Copied) Total() (n int64) {
	for _, rows := range c.Rows {
		n += rows
	}
	return n
}

// copyInto writes all that this database holds, as it is at one instant, into
// an empty one, in one transaction there: it is whole, or nothing of it is
// there. With a reason, the mails of the copy are held.
func (s *Store) copyInto(ctx context.Context, to *Store, hold string) (c Copied, err error) {
	err = s.read(ctx, func(ctx context.Context, from bun.Tx) (err error) {
		if c, err = state(ctx, from); err != nil {
			return err
		}
		want := maps.Clone(c.Rows)
		if hold != "" {
			want["mail_hold"]++
		}
		return to.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
			if err := to.receive(ctx, from, tx, now); err != nil || hold == "" {
				return err
			}
			return putHold(ctx, tx, hold, now)
		}, func(ctx context.Context, tx bun.Tx) (bool, error) {
			rows, err := countRows(ctx, tx)
			return maps.Equal(rows, want), err
		})
	})
	return c, err
}

// state says what there is.
func state(ctx context.Context, tx bun.IDB) (c Copied, err error) {
	if c.guard.Head, err = head(ctx, tx); err != nil {
		return c, err
	}
	if c.guard.LastSweep, _, err = pulse(ctx, tx); err != nil {
		return c, err
	}
	c.Head = c.guard.Head
	c.Rows, err = countRows(ctx, tx)
	return c, err
}

func countRows(ctx context.Context, tx bun.IDB) (map[string]int64, error) {
	out := make(map[string]int64)
	for _, t := range everyTable() {
		var n int64
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM "+t.named()).Scan(&n); err != nil {
			return nil, fmt.Errorf("count %s: %w", t.named(), classified(err))
		}
		out[t.named()] = n
	}
	return out, nil
}

// receive takes over every table. Keys are checked at the commit: records of
// one kind may refer to each other in any order.
func (s *Store) receive(ctx context.Context, from bun.IDB, tx bun.Tx, now time.Time) error {
	if err := inTurn(ctx, tx, s.dialect.patient, s.dialect.alone, s.dialect.deferKeys); err != nil {
		return err
	}
	if err := empty(ctx, tx); err != nil {
		return err
	}
	for _, t := range everyTable() {
		if err := t.copy(ctx, from, tx, s.dialect); err != nil {
			return fmt.Errorf("copy %s: %w", t.named(), err)
		}
	}
	if err := inTurn(ctx, tx, s.dialect.countOn); err != nil {
		return err
	}
	// Whoever ran a job when the copy was made does not run it here.
	_, err := tx.ExecContext(ctx, `UPDATE job_run SET lease_until = ? WHERE state = ? AND lease_until > ?`, micros(now), RunRunning, micros(now))
	if err != nil {
		return fmt.Errorf("free the jobs: %w", classified(err))
	}
	return nil
}

// inTurn runs what a dialect needs around a copy, and not what it does not.
func inTurn(ctx context.Context, tx bun.Tx, statements ...string) error {
	for _, statement := range statements {
		if statement == "" {
			continue
		}
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return fmt.Errorf("make ready for the copy: %w", classified(err))
		}
	}
	return nil
}
