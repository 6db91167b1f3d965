// Package faults wraps a database driver so that the n-th operation kills the
// process, as far as the database can tell: the operation is done or not
// done, its answer is lost, and nothing gets through any more. Tests run a
// whole scenario once to count its operations, and then once for each of them.
//
// The order in which its rules apply: operations are counted over all
// connections in the order in which they begin; once the plan's operation is
// reached every later one fails, commits and rollbacks too, so that whatever
// was not committed is lost when the connections close. Apart from that, the
// next commit alone can go wrong in a process that lives on.
package faults

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"sync/atomic"
)

// ErrDead is what a killed process would not live to see.
var ErrDead = errors.New("the process was killed here")

// Plan says at which operation to die.
type Plan struct {
	At    int64 // 1 for the first operation; 0: never
	After bool  // the operation is done before the death, and its answer lost

	done   atomic.Int64
	dead   atomic.Bool
	commit atomic.Int32 // a Fate
}

// Fate is what happens to one commit while everything else works.
type Fate int32

// The fates. Lost: it is done, and its answer is an error. Failed: it is not
// done, and the driver has rolled back.
const (
	Fine Fate = iota
	Lost
	Failed
)

// ErrCommit is what the caller of a commit that is lost or failed hears.
var ErrCommit = errors.New("the commit's answer did not come")

// NextCommit decides about the next commit, and only that.
func (p *Plan) NextCommit(f Fate) { p.commit.Store(int32(f)) }

// Operations gives how many operations have begun.
func (p *Plan) Operations() int64 { return p.done.Load() }

// Dead says whether the death came.
func (p *Plan) Dead() bool { return p.dead.Load() }

var registered atomic.Int64

// Register makes a driver that runs another driver's operations by a plan,
// and gives the name under which to open it.
func Register(base string, plan *Plan) (name string, err error) {
	db, err := sql.Open(base, "")
	if err != nil {
		return "", fmt.Errorf("find the driver %s: %w", base, err)
	}
	defer db.Close()
	name = fmt.Sprintf("%s-faults-%d", base, registered.Add(1))
	sql.Register(name, &faulty{db.Driver(), plan})
	return name, nil
}

// run does one operation by the plan.
func run[T any](p *Plan, operation func() (T, error)) (T, error) {
	var none T
	n := p.done.Add(1)
	if p.dead.Load() {
		return none, ErrDead
	}
	if p.At == 0 || n < p.At {
		return operation()
	}
	p.dead.Store(true)
	if p.After {
		answer, err := operation() // nobody hears of it
		if open, ok := any(answer).(io.Closer); ok && err == nil {
			_ = open.Close() // a killed process holds no cursor
		}
	}
	return none, ErrDead
}

type faulty struct {
	driver.Driver
	plan *Plan
}

func (f *faulty) Open(name string) (driver.Conn, error) {
	inner, err := f.Driver.Open(name)
	if err != nil {
		return nil, err
	}
	return &conn{inner, f.plan}, nil
}

// conn counts what goes over one connection. Closing is not counted: it
// happens to a killed process too.
type conn struct {
	driver.Conn
	plan *Plan
}

var errNeedsContext = errors.New("the wrapped driver must take contexts")

func (c *conn) BeginTx(ctx context.Context, opts driver.TxOptions) (driver.Tx, error) {
	inner, ok := c.Conn.(driver.ConnBeginTx)
	if !ok {
		return nil, errNeedsContext
	}
	begun, err := run(c.plan, func() (driver.Tx, error) { return inner.BeginTx(ctx, opts) })
	if err != nil {
		return nil, err
	}
	return &tx{begun, c.plan}, nil
}

func (c *conn) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	inner, ok := c.Conn.(driver.ExecerContext)
	if !ok {
		return nil, errNeedsContext
	}
	return run(c.plan, func() (driver.Result, error) { return inner.ExecContext(ctx, query, args) })
}

func (c *conn) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	inner, ok := c.Conn.(driver.QueryerContext)
	if !ok {
		return nil, errNeedsContext
	}
	return run(c.plan, func() (driver.Rows, error) { return inner.QueryContext(ctx, query, args) })
}

func (c *conn) Prepare(query string) (driver.Stmt, error) {
	return run(c.plan, func() (driver.Stmt, error) { return c.Conn.Prepare(query) })
}

type tx struct {
	driver.Tx
	plan *Plan
}

func (t *tx) Commit() error {
	switch Fate(t.plan.commit.Swap(int32(Fine))) {
	case Lost:
		return errors.Join(ErrCommit, t.Tx.Commit())
	case Failed:
		return errors.Join(ErrCommit, t.Tx.Rollback())
	}
	_, err := run(t.plan, func() (struct{}, error) { return struct{}{}, t.Tx.Commit() })
	return err
}

func (t *tx) Rollback() error {
	_, err := run(t.plan, func() (struct{}, error) { return struct{}{}, t.Tx.Rollback() })
	return err
}
