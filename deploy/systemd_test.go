package deploy

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// exposure is the highest that the units may have by systemd-analyze security,
// in tenths. What is left is the network, which the watch needs.
const exposure = 15

// directives reads a unit: the values of each key, in order.
func directives(t *testing.T, unit string) map[string][]string {
	t.Helper()
	out := make(map[string][]string)
	section := ""
	for line := range strings.Lines(read(t, "systemd/"+unit)) {
		line = strings.TrimSpace(line)
		if strings.HasPrefix(line, "[") {
			section = line
		} else if key, value, ok := strings.Cut(line, "="); ok && !strings.HasPrefix(line, "#") {
			out[section+key] = append(out[section+key], value)
		}
	}
	return out
}

// analyze runs systemd's own tool on copies of the units, in which the program
// is one that is there.
func analyze(t *testing.T, args ...string) {
	t.Helper()
	tool, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("NOT TESTED: systemd-analyze is missing (Debian: apt-get install systemd)")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	for _, unit := range units {
		text := strings.ReplaceAll(read(t, "systemd/"+unit), program, self)
		if err := os.WriteFile(filepath.Join(folder, unit), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.CommandContext(t.Context(), tool, args...)
	cmd.Dir = folder
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	err = cmd.Run()
	if complaint := bytes.Contains(out.Bytes(), []byte("ignoring")); err != nil || complaint {
		t.Errorf("systemd-analyze %s: %v\n%s", strings.Join(args, " "), err, &out)
	}
}

const program = "/usr/local/bin/antidotary"

var units = []string{"antidotary.service", "antidotary-sweep.service", "antidotary-sweep.timer"}

func TestUnitsAreUnderstood(t *testing.T) {
	analyze(t, "verify", "./antidotary.service", "./antidotary-sweep.service", "./antidotary-sweep.timer")
}

func TestServicesAreShutIn(t *testing.T) {
	for _, unit := range units[:2] {
		analyze(t, "security", "--offline=yes", fmt.Sprint("--threshold=", exposure), "./"+unit)
	}
}

// TestBothServicesAreShutInAlike: what holds for the daemon holds for the one
// sweep; only how they begin and end differs.
func TestBothServicesAreShutInAlike(t *testing.T) {
	differs := []string{"[Service]Type", "[Service]NotifyAccess", "[Service]ExecStart", "[Service]TimeoutStartSec", "[Service]TimeoutStopSec", "[Service]WatchdogSec",
		"[Service]Restart", "[Service]RestartSec", "[Service]RestartPreventExitStatus", "[Service]SuccessExitStatus"}
	daemon, once := directives(t, units[0]), directives(t, units[1])
	same := 0
	for key, values := range daemon {
		if !strings.HasPrefix(key, "[Service]") || slices.Contains(differs, key) {
			continue
		}
		same++
		if !slices.Equal(values, once[key]) {
			t.Errorf("%s is %v and %v", key, values, once[key])
		}
	}
	if same < 30 {
		t.Errorf("only %d directives are alike", same)
	}
}

// TestTheUnitDoesAsTheProgram: it is ready by sd_notify, its watchdog is
// patient enough, its restarts do not storm and do not end.
func TestTheUnitDoesAsTheProgram(t *testing.T) {
	d := directives(t, units[0])
	for key, want := range map[string]string{"[Service]Type": "notify", "[Service]Restart": "on-failure", "[Service]RestartSec": "30s", "[Unit]StartLimitIntervalSec": "0",
		"[Service]WatchdogSec": "2min", "[Service]TimeoutStartSec": "35min", "[Service]RestartPreventExitStatus": "2"} {
		if got := d[key]; len(got) != 1 || got[0] != want {
			t.Errorf("%s is %v, want %s", key, got, want)
		}
	}
	for _, unit := range units[:2] {
		d := directives(t, unit)
		for _, credential := range d["[Service]LoadCredential"] {
			id, _, _ := strings.Cut(credential, ":")
			if !slices.Contains(d["[Service]SetCredential"], id+`:\n`) {
				t.Errorf("%s: a house without %s cannot start it", unit, id)
			}
			if !strings.Contains(read(t, "runbook.md"), "${CREDENTIALS_DIRECTORY}/"+id) {
				t.Errorf("the runbook does not say how the configuration names %s", id)
			}
		}
		if len(d["[Service]LoadCredential"]) != 2 {
			t.Errorf("%s: %v", unit, d["[Service]LoadCredential"])
		}
	}
}
