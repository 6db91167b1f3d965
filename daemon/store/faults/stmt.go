package faults

import (
	"context"
	"database/sql/driver"
	"fmt"
)

// stmt counts the executions of one prepared statement. The rows that are
// copied into a PostgreSQL table are such executions, each of them.
type stmt struct {
	inner driver.Stmt
	conn  *conn
	query string
}

var (
	_ driver.StmtExecContext   = (*stmt)(nil)
	_ driver.StmtQueryContext  = (*stmt)(nil)
	_ driver.NamedValueChecker = (*stmt)(nil)
)

// Close closes once, with the connection at the latest.
func (s *stmt) Close() error {
	if _, open := s.conn.open[s]; !open {
		return nil
	}
	delete(s.conn.open, s)
	return s.inner.Close()
}

func (s *stmt) NumInput() int { return s.inner.NumInput() }

func (s *stmt) Exec(args []driver.Value) (driver.Result, error) {
	return s.ExecContext(context.Background(), ordered(args))
}

func (s *stmt) Query(args []driver.Value) (driver.Rows, error) {
	return s.QueryContext(context.Background(), ordered(args))
}

func (s *stmt) ExecContext(ctx context.Context, args []driver.NamedValue) (driver.Result, error) {
	return over(ctx, s.conn, Op{StmtExec, s.query}, func() (driver.Result, error) {
		if inner, ok := s.inner.(driver.StmtExecContext); ok {
			return inner.ExecContext(ctx, args)
		}
		values, err := unnamed(ctx, args)
		if err != nil {
			return nil, err
		}
		//lint:ignore SA1019 drivers without contexts have only this, and database/sql calls it too
		return s.inner.Exec(values)
	})
}

func (s *stmt) QueryContext(ctx context.Context, args []driver.NamedValue) (driver.Rows, error) {
	return over(ctx, s.conn, Op{StmtQuery, s.query}, func() (driver.Rows, error) {
		if inner, ok := s.inner.(driver.StmtQueryContext); ok {
			return inner.QueryContext(ctx, args)
		}
		values, err := unnamed(ctx, args)
		if err != nil {
			return nil, err
		}
		//lint:ignore SA1019 drivers without contexts have only this, and database/sql calls it too
		return s.inner.Query(values)
	})
}

// CheckNamedValue asks in the order of database/sql: the statement, then its
// connection.
func (s *stmt) CheckNamedValue(v *driver.NamedValue) error {
	if inner, ok := s.inner.(driver.NamedValueChecker); ok {
		return inner.CheckNamedValue(v)
	}
	return s.conn.CheckNamedValue(v)
}

func ordered(args []driver.Value) []driver.NamedValue {
	out := make([]driver.NamedValue, len(args))
	for i, v := range args {
		out[i] = driver.NamedValue{Ordinal: i + 1, Value: v}
	}
	return out
}

// unnamed is for statements that take no context, as database/sql does it.
func unnamed(ctx context.Context, args []driver.NamedValue) ([]driver.Value, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out := make([]driver.Value, len(args))
	for i, v := range args {
		if v.Name != "" {
			return nil, fmt.Errorf("the wrapped driver takes no named argument (%s)", v.Name)
		}
		out[i] = v.Value
	}
	return out, nil
}
