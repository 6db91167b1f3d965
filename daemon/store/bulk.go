package store

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/uptrace/bun"
	"github.com/uptrace/bun/schema"
)

// insertAll writes many rows of one table through one prepared statement, in
// PostgreSQL by COPY: several times as fast as statements that carry their
// values. except names columns that the database fills.
func insertAll[R any](ctx context.Context, tx bun.Tx, d dialect, rows []R, except ...string) (err error) {
	if len(rows) == 0 {
		return nil
	}
	fields, table := columnsOf(tx, reflect.TypeFor[R](), except)
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.Name
	}
	stmt, err := tx.Tx.PrepareContext(ctx, d.copyIn(table, names))
	if err != nil {
		return fmt.Errorf("prepare rows of %s: %w", table, classified(err))
	}
	defer func() {
		if e := stmt.Close(); e != nil && err == nil {
			err = fmt.Errorf("end the rows of %s: %w", table, classified(e))
		}
	}()
	values := make([]any, len(fields))
	for i := range rows {
		row := reflect.ValueOf(&rows[i]).Elem()
		for j, f := range fields {
			values[j] = row.FieldByIndex(f.Index).Interface()
			if b, ok := values[j].([]byte); ok && b == nil {
				values[j] = nil // COPY would write no bytes, which is not NULL
			}
		}
		if _, err := stmt.ExecContext(ctx, values...); err != nil {
			return fmt.Errorf("write a row of %s: %w", table, classified(err))
		}
	}
	if d.flush {
		if _, err := stmt.ExecContext(ctx); err != nil {
			return fmt.Errorf("write rows of %s: %w", table, classified(err))
		}
	}
	return nil
}

func columnsOf(db bun.IDB, row reflect.Type, except []string) (fields []*schema.Field, table string) {
	t := db.Dialect().Tables().Get(row)
	for _, f := range t.Fields {
		if !slices.Contains(except, f.Name) {
			fields = append(fields, f)
		}
	}
	return fields, t.Name
}

// insertInto is the statement of a database without COPY.
func insertInto(table string, columns []string) string {
	marks := strings.TrimSuffix(strings.Repeat("?, ", len(columns)), ", ")
	return `INSERT INTO "` + table + `" ("` + strings.Join(columns, `", "`) + `") VALUES (` + marks + `)`
}

// copyFrom is PostgreSQL's own: the driver takes rows as executions of it, and
// an execution without values ends them.
func copyFrom(table string, columns []string) string {
	return `COPY "` + table + `" ("` + strings.Join(columns, `", "`) + `") FROM STDIN`
}
