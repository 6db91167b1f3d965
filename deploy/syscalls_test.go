//go:build linux

package deploy

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// harmless are calls that the unit refuses and the program can do without: the
// runtime asks for more open files at its start, and goes on with fewer; where
// root runs it, SQLite gives new files to the owner of the database.
var harmless = []string{"prlimit64", "setrlimit", "fchown"}

// TestTheFilterLetsTheProgramWork: every system call that the program makes
// for a sweep with mail and its page is one that the unit allows.
func TestTheFilterLetsTheProgramWork(t *testing.T) {
	for _, tool := range []string{"strace", "systemd-analyze"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("NOT TESTED: %s is missing (Debian: apt-get install strace systemd)", tool)
		}
	}
	allowed := make(map[string]bool)
	for _, line := range directives(t, units[0])["[Service]SystemCallFilter"] {
		names, refused := strings.CutPrefix(line, "~")
		for _, name := range strings.Fields(names) {
			for _, call := range calls(t, name) {
				allowed[call] = !refused
			}
		}
	}
	used := traced(t)
	for _, call := range used {
		if !allowed[call] && !slices.Contains(harmless, call) {
			t.Errorf("the program calls %s, which the unit refuses", call)
		}
	}
	if len(used) < 25 || !slices.Contains(used, "accept4") || !slices.Contains(used, "fsync") && !slices.Contains(used, "fdatasync") {
		t.Errorf("only these calls were seen: %v", used)
	}
}

// calls gives the system calls of a name of a filter, which may be a set.
func calls(t *testing.T, name string) (out []string) {
	t.Helper()
	if !strings.HasPrefix(name, "@") {
		return []string{name}
	}
	text, err := exec.CommandContext(t.Context(), "systemd-analyze", "syscall-filter", name).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(string(text), "\n")[1:] {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			out = append(out, calls(t, line)...)
		}
	}
	return out
}

// traced runs the demo once: a database, a sweep, mail and a page.
func traced(t *testing.T) (used []string) {
	t.Helper()
	folder := t.TempDir()
	trace := filepath.Join(folder, "trace")
	if out, err := exec.CommandContext(t.Context(), "strace", "-f", "-qq", "-o", trace, built(t), "demo", "--once", "--keep", filepath.Join(folder, "house")).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text, err := os.ReadFile(trace)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`(?m)^\d+ +([a-z0-9_]+)\(`).FindAllSubmatch(text, -1) {
		if call := string(m[1]); !slices.Contains(used, call) {
			used = append(used, call)
		}
	}
	return used
}
