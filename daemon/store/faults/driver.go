package faults

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"io"
	"sync/atomic"
)

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

// faulty is a driver by a plan.
type faulty struct {
	inner driver.Driver
	plan  *Plan
}

// Open is for callers that do without a context; database/sql has one.
func (f *faulty) Open(name string) (driver.Conn, error) {
	c, err := f.OpenConnector(name)
	if err != nil {
		return nil, err
	}
	return c.Connect(context.Background())
}

func (f *faulty) OpenConnector(name string) (driver.Connector, error) {
	if inner, ok := f.inner.(driver.DriverContext); ok {
		opened, err := inner.OpenConnector(name)
		if err != nil {
			return nil, err
		}
		return &connector{f, opened.Connect, opened}, nil
	}
	open := func(context.Context) (driver.Conn, error) { return f.inner.Open(name) }
	return &connector{f, open, nil}, nil
}

// connector opens connections to one database.
type connector struct {
	faulty *faulty
	open   func(context.Context) (driver.Conn, error)
	inner  any // the wrapped driver's connector, if it has such things
}

func (c *connector) Driver() driver.Driver { return c.faulty }

func (c *connector) Connect(ctx context.Context) (driver.Conn, error) {
	inner, _, err := run(ctx, c.faulty.plan, Op{Kind: Open}, func() (driver.Conn, error) { return c.open(ctx) })
	if err != nil {
		return nil, err
	}
	return &conn{inner: inner, plan: c.faulty.plan, open: make(map[*stmt]struct{})}, nil
}

func (c *connector) Close() error {
	if inner, ok := c.inner.(io.Closer); ok {
		return inner.Close()
	}
	return nil
}
