package store

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// faultyVariable names the database that a child process writes to while the
// kernel refuses what it asks for; only the test that starts the child sets it.
const faultyVariable = "ANTIDOTARY_TEST_FAULTY_DISK"

// faultyCommits is how many commits such a child makes.
const faultyCommits = 8

// TestInvariant13KernelRefuses: a child process commits under strace, which
// has the kernel answer some calls in a row with "no space left" or "I/O
// error", begun at each call in turn. The child tries again until it works,
// with the handle that it opened; its parent finds every acknowledged commit, once.
func TestInvariant13KernelRefuses(t *testing.T) {
	if database := os.Getenv(faultyVariable); database != "" {
		commitInSpite(t, database)
		return
	}
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("NOT TESTED AGAINST A KERNEL THAT REFUSES: strace is not installed; see DEVELOPERS.md, Tests")
	}
	for _, c := range []struct{ call, answer, heard string }{
		{"pwrite64", "ENOSPC", "full"},
		{"pwrite64", "EIO", "another"},
		{"fsync,fdatasync", "EIO", "another"},
	} {
		t.Run(c.call+" "+c.answer, func(t *testing.T) {
			refused, stride := 0, 3
			if everyOperation {
				stride = 1
			}
			for n := 1; n <= 24; n += stride {
				refused += inSpiteOf(t, strace, fmt.Sprintf("inject=%s:error=%s:when=%d..%d", c.call, c.answer, n, n+n%5), c.heard)
			}
			if refused == 0 {
				t.Error("the kernel refused nothing that mattered")
			}
			t.Logf("%d commits were refused and made again", refused)
		})
	}
}

// inSpiteOf runs a child under an injection, and says how many commits it
// heard were refused.
func inSpiteOf(t *testing.T, strace, injection, heard string) (refused int) {
	t.Helper()
	database := fresh["sqlite"](t)
	ok(t, reopened(t, database).Close())
	child := exec.CommandContext(t.Context(), strace, "-f", "-qq", "-o", os.DevNull, "-e", "trace=pwrite64,fsync,fdatasync", "-e", injection,
		os.Args[0], "-test.run", "^TestInvariant13KernelRefuses$")
	child.Env = append(os.Environ(), faultyVariable+"="+database)
	out, err := child.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", injection, err, out)
	}
	acknowledged := strings.Count(string(out), "acknowledged ")
	refused = strings.Count(string(out), "refused: "+heard)
	if all := strings.Count(string(out), "refused: "); all != refused {
		t.Errorf("%s: the commits failed otherwise than by %q:\n%s", injection, heard, out)
	}
	r := verified(t, reopened(t, database))
	if acknowledged != faultyCommits || r.Problem != "" || r.Entries != faultyCommits {
		t.Errorf("%s: %d commits were acknowledged, want %d; in the journal: %+v\n%s", injection, acknowledged, faultyCommits, r, out)
	}
	return refused
}

// commitInSpite is the child's work.
func commitInSpite(t *testing.T, database string) {
	st, err := Open(t.Context(), database, Options{Clock: func() time.Time { return noon }})
	for tries := 0; err != nil && tries < 40; tries++ {
		st, err = Open(t.Context(), database, Options{Clock: func() time.Time { return noon }})
	}
	ok(t, err)
	defer st.Close()
	for range faultyCommits {
		office := anOffice()
		for tries := 0; ; tries++ {
			_, err := st.Commit(t.Context(), Actor{ID: "test"}, office)
			if err == nil {
				fmt.Fprintln(os.Stderr, "acknowledged ")
				break
			}
			kind := "another"
			if errors.Is(err, ErrFull) {
				kind = "full"
			}
			fmt.Fprintf(os.Stderr, "refused: %s: %v\n", kind, err)
			if tries > 40 {
				t.Fatal("it does not go on")
			}
		}
	}
}
