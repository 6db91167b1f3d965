package deploy

import (
	"debug/elf"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"testing"
)

// building makes the program once for all tests of this package.
var building = sync.OnceValues(func() (string, error) {
	folder, err := os.MkdirTemp("", "antidotary-built-")
	if err != nil {
		return "", err
	}
	bin := filepath.Join(folder, "antidotary")
	cmd := exec.Command("go", "build", "-o", bin, "antidotary/cmd/antidotary")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		return folder, &buildError{string(out), err}
	}
	return bin, nil
})

type buildError struct {
	out string
	err error
}

func (e *buildError) Error() string { return e.err.Error() + "\n" + e.out }

// isBuilt says that there is something to remove.
var isBuilt bool

func TestMain(m *testing.M) {
	code := m.Run()
	if isBuilt {
		if bin, _ := building(); bin != "" {
			os.RemoveAll(strings.TrimSuffix(bin, "antidotary"))
		}
	}
	os.Exit(code)
}

func built(t *testing.T) string {
	t.Helper()
	isBuilt = true
	bin, err := building()
	if err != nil {
		t.Fatal(err)
	}
	return bin
}

// knows that the program takes these words and flags.
func knows(t *testing.T, args []string) {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), built(t), append(args, "--help")...).CombinedOutput()
	if err != nil || !strings.Contains(string(out), "antidotary "+args[len(args)-1]) {
		t.Errorf("antidotary %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// TestUnitsCallWhatIsThere: the words and flags of each ExecStart are ones of
// the program.
func TestUnitsCallWhatIsThere(t *testing.T) {
	for _, unit := range units[:2] {
		exec := directives(t, unit)["[Service]ExecStart"]
		words := strings.Fields(strings.Join(exec, " "))
		if len(exec) != 1 || words[0] != program {
			t.Fatalf("%s: ExecStart is %q", unit, exec)
		}
		knows(t, words[1:])
	}
}

// instruction gives the text after a word of the Containerfile, of each line
// that begins with it.
func instructions(file, word string) (out []string) {
	for _, m := range regexp.MustCompile(`(?m)^`+word+` (.*)$`).FindAllStringSubmatch(file, -1) {
		out = append(out, m[1])
	}
	return out
}

func list(t *testing.T, text string) (out []string) {
	t.Helper()
	if err := json.Unmarshal([]byte(text[strings.Index(text, "["):]), &out); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return out
}

// TestTheContainerHoldsWhatItNames: it begins with nothing, copies what its
// build commands make, runs as nobody's user, and calls the program by words
// and flags that are there.
func TestTheContainerHoldsWhatItNames(t *testing.T) {
	file := read(t, "Containerfile")
	one := func(word string) string {
		found := instructions(file, word)
		if len(found) != 1 {
			t.Fatalf("%s: %q", word, found)
		}
		return found[0]
	}
	if one("FROM") != "scratch" || one("USER") != "65532:65532" || len(instructions(file, "(RUN|ADD)")) != 0 {
		t.Error("it is not made of the program alone, for a user without rights")
	}
	for _, c := range instructions(file, "COPY") {
		from := strings.TrimSuffix(strings.Fields(c)[1], "/")
		if !regexp.MustCompile(`(?m)^# .*(-o|mkdir) "\$work/` + from + `"`).MatchString(file) {
			t.Errorf("the build commands do not make %s", from)
		}
	}
	if entry := list(t, one("ENTRYPOINT")); len(entry) != 1 || entry[0] != "/antidotary" {
		t.Errorf("ENTRYPOINT %q", entry)
	}
	knows(t, list(t, one("CMD")))
	check := list(t, one("HEALTHCHECK"))
	if check[0] != "/antidotary" {
		t.Errorf("HEALTHCHECK %q", check)
	}
	knows(t, check[1:])
	build := regexp.MustCompile(`(?m)^#   CGO_ENABLED=0 GOOS=linux go build (.*) -o \S+ (\S+)$`).FindStringSubmatch(file)
	if build == nil || !strings.Contains(build[1], "-trimpath") {
		t.Fatal("there is no reproducible build command")
	}
	cmd := exec.CommandContext(t.Context(), "go", append(append([]string{"list"}, strings.Fields(build[1])...), build[2])...)
	cmd.Dir = ".."
	if out, err := cmd.CombinedOutput(); err != nil || strings.TrimSpace(string(out)) != "antidotary/cmd/antidotary" {
		t.Errorf("%s: %v\n%s", build[0], err, out)
	}
}

// TestTheProgramNeedsNothing of the machine: no loader, no library.
func TestTheProgramNeedsNothing(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("NOT TESTED: only Linux makes the program of the container")
	}
	f, err := elf.Open(built(t))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if libraries, err := f.ImportedLibraries(); f.Section(".interp") != nil || err != nil || len(libraries) != 0 {
		t.Errorf("it needs a loader or libraries: %v, %v", libraries, err)
	}
}
