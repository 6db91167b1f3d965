package store

import (
	"bufio"
	"database/sql"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"antidotary/daemon/store/faults"
)

// syncedCommits is how many commits are watched.
const syncedCommits = 100

// childVariable names the database in which a child process makes its
// commits; only the test that starts the child sets it.
const childVariable = "ANTIDOTARY_TEST_COMMITS_TO"

// TestInvariant12FsyncPerCommit, SQLite: a child process makes commits under
// strace, and writes a line when each has been acknowledged. Before every such
// line, and after the one before it, the log or the file was synchronised to
// the disk. (That a killed process loses nothing proves nothing: the kernel
// keeps what was written.)
func TestInvariant12FsyncPerCommit(t *testing.T) {
	if database := os.Getenv(childVariable); database != "" {
		commitAndSay(t, database)
		return
	}
	t.Run("sqlite", fsyncPerCommitSQLite)
	t.Run("postgres", flushPerCommitPostgres)
}

// commitAndSay is the child's work.
func commitAndSay(t *testing.T, database string) {
	st := reopened(t, database)
	for i := range syncedCommits {
		committed(t, st, anOffice())
		fmt.Fprintf(os.Stderr, "acknowledged %d\n", i+1)
	}
}

func fsyncPerCommitSQLite(t *testing.T) {
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("NOT TESTED THAT COMMITS REACH THE DISK: strace is not installed; see DEVELOPERS.md, Tests")
	}
	trace, database := filepath.Join(t.TempDir(), "trace"), fresh["sqlite"](t)
	child := exec.CommandContext(t.Context(), strace, "-f", "-qq", "-y", "-s", "40", "-o", trace, "-e", "trace=fsync,fdatasync,write",
		os.Args[0], "-test.run", "^TestInvariant12FsyncPerCommit$")
	child.Env = append(os.Environ(), childVariable+"="+database)
	if out, err := child.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	f, err := os.Open(trace)
	ok(t, err)
	defer f.Close()
	syncs, acknowledged, since := 0, 0, 0
	for lines := bufio.NewScanner(f); lines.Scan(); {
		switch line := lines.Text(); {
		case synced.MatchString(line):
			syncs, since = syncs+1, since+1
		case strings.Contains(line, `"acknowledged `):
			if acknowledged++; since == 0 {
				t.Errorf("commit %d was acknowledged before anything was synchronised for it", acknowledged)
			}
			since = 0
		}
	}
	if acknowledged != syncedCommits || syncs < acknowledged {
		t.Errorf("%d commits were acknowledged, want %d; and %d times something was synchronised", acknowledged, syncedCommits, syncs)
	}
	t.Logf("%d acknowledged commits, %d fsync and fdatasync", acknowledged, syncs)
	if st := reopened(t, database); verified(t, st).Entries != syncedCommits {
		t.Errorf("%+v", verified(t, st))
	}
}

// synced is a synchronisation that has ended well: in one line, or in the
// second of two where another thread's call came between.
var synced = regexp.MustCompile(`(?:fsync|fdatasync)(?:\(\d+<[^>]*\.db(?:-wal)?>\)| resumed>\)) += 0$`)

// flushPerCommitPostgres: the server's log is flushed beyond the place where
// the commit stands in it, before the commit is acknowledged.
//
// The check is sound whatever else the server does meanwhile. As the COMMIT is
// about to be sent, another session asks how far the log is written
// (pg_current_wal_insert_lsn). The record of this commit comes after that, so
// that once it is on the disk the log is flushed (pg_current_wal_flush_lsn)
// strictly beyond that place. The control, a session that does not wait for
// the disk (synchronous_commit = off), shows that the check can fail.
func flushPerCommitPostgres(t *testing.T) {
	database := onServer(t)
	reopened(t, database).Close()
	db := besides(t, database)
	var before string
	plan := &faults.Plan{Count: func(op faults.Op) bool {
		if op.Kind == faults.Commit {
			before = position(t, db, "pg_current_wal_insert_lsn()")
		}
		return op.Kind == faults.Commit
	}}
	name, err := faults.Register("postgres", plan)
	ok(t, err)
	st, err := Open(t.Context(), database, Options{Clock: func() time.Time { return noon }, Driver: name})
	ok(t, err)
	defer st.Close()
	checked := 0
	for _, w := range mutations() {
		for range syncedCommits/len(mutations()) + 1 {
			do := w.ready(t, st)
			ok(t, do(t.Context()))
			if checked++; !flushedBeyond(t, db, before) {
				t.Errorf("%s was acknowledged, and its commit was not on the disk", w.name)
			}
		}
	}
	if late := careless(t, db); late == 0 {
		t.Errorf("of %d commits that did not wait for the disk none was late: the check cannot fail", syncedCommits)
	} else {
		t.Logf("%d acknowledged writes were flushed; of %d that did not wait, %d were not", checked, syncedCommits, late)
	}
}

// careless commits without waiting, and counts those that were not flushed
// when they were acknowledged.
func careless(t *testing.T, db *sql.DB) (late int) {
	t.Helper()
	c, err := db.Conn(t.Context())
	ok(t, err)
	defer c.Close()
	for _, first := range []string{`SET synchronous_commit = off`, `CREATE TABLE careless (n BIGINT)`} {
		_, err := c.ExecContext(t.Context(), first)
		ok(t, err)
	}
	for i := range syncedCommits {
		tx, err := c.BeginTx(t.Context(), nil)
		ok(t, err)
		_, err = tx.ExecContext(t.Context(), `INSERT INTO careless VALUES ($1)`, i)
		ok(t, err)
		before := position(t, db, "pg_current_wal_insert_lsn()")
		ok(t, tx.Commit())
		if !flushedBeyond(t, db, before) {
			late++
		}
	}
	return late
}

func position(t *testing.T, db *sql.DB, of string) (at string) {
	t.Helper()
	ok(t, db.QueryRowContext(t.Context(), `SELECT `+of).Scan(&at))
	return at
}

func flushedBeyond(t *testing.T, db *sql.DB, at string) (yes bool) {
	t.Helper()
	ok(t, db.QueryRowContext(t.Context(), `SELECT pg_current_wal_flush_lsn() > $1::pg_lsn`, at).Scan(&yes))
	return yes
}
