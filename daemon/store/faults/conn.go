package faults

import (
	"context"
	"database/sql/driver"
	"errors"
	"sync/atomic"
)

// conn counts what goes over one connection. Closing is not counted: it
// happens to a killed process too.
type conn struct {
	inner  driver.Conn
	plan   *Plan
	broken atomic.Bool
	open   map[*stmt]struct{} // statements; database/sql keeps calls of one connection apart
}

var (
	_ driver.ConnBeginTx        = (*conn)(nil)
	_ driver.ConnPrepareContext = (*conn)(nil)
	_ driver.ExecerContext      = (*conn)(nil)
	_ driver.QueryerContext     = (*conn)(nil)
	_ driver.NamedValueChecker  = (*conn)(nil)
	_ driver.Pinger             = (*conn)(nil)
	_ driver.SessionResetter    = (*conn)(nil)
	_ driver.Validator          = (*conn)(nil)
)

var errNeedsContext = errors.New("the wrapped driver must begin transactions with a context")

// over does one operation over a connection.
func over[T any](ctx context.Context, c *conn, op Op, perform func() (T, error)) (answer T, err error) {
	if c.broken.Load() {
		return answer, driver.ErrBadConn
	}
	answer, broke, err := run(ctx, c.plan, op, perform)
	if broke {
		c.broken.Store(true)
	}
	return answer, err
}

// Close really closes: for the database that is the end of a transaction that
// was not committed. Its statements go first: database/sql leaves those of a
// transaction open where the rollback finds a bad connection, and closes them
// later, when some drivers' connections stand that no more.
func (c *conn) Close() error {
	for s := range c.open {
		_ = s.Close()
	}
	return c.inner.Close()
}

func (c *conn) Begin() (driver.Tx, error) {
	return c.BeginTx(context.Background(), driver.TxOptions{})
}

func (c *conn) BeginTx(ctx context.Context, opts driver.TxOptions) (driver.Tx, error) {
	inner, ok := c.inner.(driver.ConnBeginTx)
	if !ok {
		return nil, errNeedsContext
	}
	begun, err := over(ctx, c, Op{Kind: Begin}, func() (driver.Tx, error) { return inner.BeginTx(ctx, opts) })
	if err != nil {
		return nil, err
	}
	return &tx{begun, c, ctx}, nil
}

func (c *conn) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	inner, ok := c.inner.(driver.ExecerContext)
	if !ok {
		return nil, driver.ErrSkip // database/sql prepares it instead
	}
	return over(ctx, c, Op{Exec, query}, func() (driver.Result, error) { return inner.ExecContext(ctx, query, args) })
}

func (c *conn) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	inner, ok := c.inner.(driver.QueryerContext)
	if !ok {
		return nil, driver.ErrSkip
	}
	return over(ctx, c, Op{Query, query}, func() (driver.Rows, error) { return inner.QueryContext(ctx, query, args) })
}

func (c *conn) Prepare(query string) (driver.Stmt, error) {
	return c.PrepareContext(context.Background(), query)
}

func (c *conn) PrepareContext(ctx context.Context, query string) (driver.Stmt, error) {
	prepared, err := over(ctx, c, Op{Prepare, query}, func() (driver.Stmt, error) {
		if inner, ok := c.inner.(driver.ConnPrepareContext); ok {
			return inner.PrepareContext(ctx, query)
		}
		return c.inner.Prepare(query)
	})
	if err != nil {
		return nil, err
	}
	s := &stmt{prepared, c, query}
	c.open[s] = struct{}{}
	return s, nil
}

// CheckNamedValue leaves to database/sql what the driver leaves to it.
func (c *conn) CheckNamedValue(v *driver.NamedValue) error {
	if inner, ok := c.inner.(driver.NamedValueChecker); ok {
		return inner.CheckNamedValue(v)
	}
	return driver.ErrSkip
}

func (c *conn) Ping(ctx context.Context) error {
	switch inner, ok := c.inner.(driver.Pinger); {
	case c.broken.Load():
		return driver.ErrBadConn
	case c.plan.Dead():
		return c.plan.err()
	case ok:
		return inner.Ping(ctx)
	}
	return nil
}

func (c *conn) ResetSession(ctx context.Context) error {
	if c.broken.Load() {
		return driver.ErrBadConn
	}
	if inner, ok := c.inner.(driver.SessionResetter); ok {
		return inner.ResetSession(ctx)
	}
	return nil
}

func (c *conn) IsValid() bool {
	if inner, ok := c.inner.(driver.Validator); ok && !inner.IsValid() {
		return false
	}
	return !c.broken.Load()
}
