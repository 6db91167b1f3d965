package faults

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// work is a scenario with an operation of each kind. Done whole, it leaves two
// entries.
func work(ctx context.Context, db *sql.DB) error {
	given, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if _, err := given.ExecContext(ctx, "INSERT INTO entry VALUES ('given up')"); err != nil {
		return errors.Join(err, ignoring(given.Rollback()))
	}
	if err := given.Rollback(); err != nil {
		return err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if _, err := tx.ExecContext(ctx, "INSERT INTO entry VALUES ('plain')"); err != nil {
		return err
	}
	insert, err := tx.PrepareContext(ctx, "INSERT INTO entry VALUES ($1)")
	if err != nil {
		return err
	}
	defer insert.Close()
	if _, err := insert.ExecContext(ctx, "prepared"); err != nil {
		return err
	}
	count, err := tx.PrepareContext(ctx, "SELECT count(*) FROM entry")
	if err != nil {
		return err
	}
	defer count.Close()
	var n int
	if err := count.QueryRowContext(ctx).Scan(&n); err != nil {
		return err
	}
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM entry").Scan(&n); err != nil {
		return err
	}
	return tx.Commit()
}

// ignoring is for rolling back what is broken anyway.
func ignoring(error) error { return nil }

func kinds(ops []Op) (out []Kind) {
	for _, op := range ops {
		out = append(out, op.Kind)
	}
	return out
}

var workKinds = []Kind{Begin, Exec, Rollback, Begin, Exec, Prepare, StmtExec, Prepare, StmtQuery, Query, Commit}

func TestEveryOperationIsCounted(t *testing.T) {
	onEach(t, func(t *testing.T, d database) {
		plan := &Plan{}
		if err := work(t.Context(), d.by(t, plan)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(workKinds, kinds(plan.Log())); diff != "" {
			t.Errorf("operations (-want +got):\n%s", diff)
		}
		all := &Plan{Count: func(Op) bool { return true }}
		if err := work(t.Context(), d.by(t, all)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(append([]Kind{Open}, workKinds...), kinds(all.Log())); diff != "" {
			t.Errorf("operations and openings (-want +got):\n%s", diff)
		}
		if got := d.rows(t); got != 4 {
			t.Errorf("%d entries, want 4", got)
		}
	})
}

// ways are how an operation can go wrong. done: it is done nevertheless.
var ways = []struct {
	name  string
	mode  Mode
	after bool
	err   error
	done  bool
}{
	{"dies before", Die, false, nil, false},
	{"dies after", Die, true, nil, true},
	{"fails", FailOnce, false, nil, false},
	{"is lost", LoseOnce, false, nil, true},
	{"hangs before", HangOnce, false, nil, false},
	{"hangs after", HangOnce, true, nil, true},
	{"fails with an error of its own", FailOnce, false, errors.New("the disk is full"), false},
}

// TestEachOperationGoesWrong in each way: the caller hears of it, the work is
// there only if it was its commit that was done, and unless the process died
// the next work is done whole.
func TestEachOperationGoesWrong(t *testing.T) {
	onEach(t, func(t *testing.T, d database) {
		for _, way := range ways {
			for i, kind := range workKinds {
				plan := &Plan{At: int64(i + 1), Mode: way.mode, After: way.after, Err: way.err}
				t.Run(fmt.Sprintf("%d %s %s", i+1, kind, way.name), func(t *testing.T) {
					wrong(t, d, plan, kind, way.done && kind == Commit)
				})
			}
		}
	})
}

func wrong(t *testing.T, d database, plan *Plan, kind Kind, done bool) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	if plan.Mode == HangOnce {
		go func() {
			<-plan.Hanging()
			plan.Release()
		}()
	}
	db, was := d.by(t, plan), d.rows(t)
	if err := work(ctx, db); !errors.Is(err, plan.err()) {
		t.Fatalf("the caller hears %v, want %v", err, plan.err())
	}
	if struck, ok := plan.Struck(); !ok || struck.Kind != kind {
		t.Fatalf("%v went wrong, want %v", struck, kind)
	}
	if plan.Dead() != (plan.Mode == Die) {
		t.Fatalf("dead: %t", plan.Dead())
	}
	want := was
	if done {
		want += 2
	}
	if plan.Mode == Die {
		if err := work(ctx, db); !errors.Is(err, ErrDead) {
			t.Fatalf("after its death: %v", err)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	} else if err := work(ctx, db); err != nil {
		t.Fatalf("after the fault: %v", err)
	} else {
		want += 2
	}
	if got := d.rows(t); got != want {
		t.Errorf("%d entries, want %d", got, want)
	}
}

// TestABadConnectionIsTriedAgain by database/sql, outside a transaction: what
// was not done is done then, and what was done is done twice.
func TestABadConnectionIsTriedAgain(t *testing.T) {
	cases := []struct {
		name  string
		mode  Mode
		err   error
		hears error
		rows  int
	}{
		{"not done", FailOnce, driver.ErrBadConn, nil, 1},
		{"done", LoseOnce, driver.ErrBadConn, nil, 2},
		{"not done, plain error", FailOnce, nil, ErrFault, 0},
		{"done, plain error", LoseOnce, nil, ErrFault, 1},
	}
	onEach(t, func(t *testing.T, d database) {
		for _, c := range cases {
			t.Run(c.name, func(t *testing.T) {
				was, plan := d.rows(t), &Plan{At: 1, Mode: c.mode, Err: c.err}
				if _, err := d.by(t, plan).ExecContext(t.Context(), "INSERT INTO entry VALUES ('once')"); !errors.Is(err, c.hears) {
					t.Errorf("the caller hears %v, want %v", err, c.hears)
				}
				if got := d.rows(t) - was; got != c.rows {
					t.Errorf("%d rows, want %d", got, c.rows)
				}
			})
		}
	})
}

// TestABrokenConnection does nothing more, not even in its transaction, and is
// replaced by a new one.
func TestABrokenConnection(t *testing.T) {
	onEach(t, func(t *testing.T, d database) {
		opens := 0
		plan := &Plan{At: 1, Mode: LoseOnce, Count: func(op Op) bool {
			if op.Kind == Open {
				opens++ // one connection at a time
			}
			return op.Kind == Exec && strings.HasPrefix(op.Query, "INSERT")
		}}
		db := d.by(t, plan)
		tx, err := db.BeginTx(t.Context(), nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := tx.ExecContext(t.Context(), "INSERT INTO entry VALUES ('lost')"); !errors.Is(err, ErrFault) {
			t.Fatalf("lost: %v", err)
		}
		if _, err := tx.ExecContext(t.Context(), "INSERT INTO entry VALUES ('later')"); !errors.Is(err, driver.ErrBadConn) {
			t.Errorf("after the lost answer: %v", err)
		}
		if err := tx.Commit(); !errors.Is(err, driver.ErrBadConn) {
			t.Errorf("commit: %v", err)
		}
		if got := d.rows(t); got != 0 {
			t.Errorf("%d entries, want none", got)
		}
		if err := db.PingContext(t.Context()); err != nil {
			t.Error(err)
		}
		if opens != 2 {
			t.Errorf("%d connections were opened, want 2", opens)
		}
		struck, _ := plan.Struck()
		if got, want := struck.String(), `exec "INSERT INTO entry VALUES ('lost')"`; got != want {
			t.Errorf("struck %s, want %s", got, want)
		}
	})
}

// TestHangingEndsWithItsContext: nothing else has to release it.
func TestHangingEndsWithItsContext(t *testing.T) {
	onEach(t, func(t *testing.T, d database) {
		plan := &Plan{At: int64(len(workKinds)), Mode: HangOnce, After: true}
		db := d.by(t, plan)
		ctx, cancel := context.WithCancel(t.Context())
		go func() {
			<-plan.Hanging()
			cancel()
		}()
		if err := work(ctx, db); !errors.Is(err, ErrFault) {
			t.Errorf("the caller hears %v", err)
		}
		if got := d.rows(t); got != 2 {
			t.Errorf("%d entries, want the 2 whose commit was done", got)
		}
	})
}

// TestOpeningFails only where it is counted.
func TestOpeningFails(t *testing.T) {
	onEach(t, func(t *testing.T, d database) {
		for _, mode := range []Mode{FailOnce, LoseOnce} {
			plan := &Plan{At: 1, Mode: mode, Count: func(op Op) bool { return op.Kind == Open }}
			db := d.by(t, plan)
			if err := work(t.Context(), db); !errors.Is(err, ErrFault) {
				t.Errorf("mode %d: opening: %v", mode, err)
			}
			if err := work(t.Context(), db); err != nil {
				t.Errorf("mode %d: opening again: %v", mode, err)
			}
		}
	})
}

// TestABrokenConnectionHoldsNoLock: it is closed at once, not when the pool
// next has use for it, so that others can write.
func TestABrokenConnectionHoldsNoLock(t *testing.T) {
	d := sqliteDatabase(t)
	for _, plan := range []*Plan{{At: 1, Mode: LoseOnce}, {At: 3, Mode: FailOnce}} { // a begin, a rollback
		if err := work(t.Context(), d.by(t, plan)); !errors.Is(err, ErrFault) {
			t.Fatalf("the caller hears %v", err)
		}
		if _, err := d.plain.ExecContext(t.Context(), "INSERT INTO entry VALUES ('another')"); err != nil {
			struck, _ := plan.Struck()
			t.Errorf("after a %s went wrong nobody else can write: %v", struck, err)
		}
	}
}
