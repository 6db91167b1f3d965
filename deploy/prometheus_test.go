package deploy

import (
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
)

// promtool runs Prometheus's own tool, which .ci/run installs.
func promtool(t *testing.T, args ...string) {
	t.Helper()
	tool, err := exec.LookPath("promtool")
	if err != nil {
		t.Skip("NOT TESTED: promtool is missing (Debian: apt-get install prometheus)")
	}
	cmd := exec.CommandContext(t.Context(), tool, args...)
	cmd.Dir = "prometheus"
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("promtool %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// TestAlertsFireAndAreQuiet: each is tested firing, quiet and with nothing
// scraped.
func TestAlertsFireAndAreQuiet(t *testing.T) {
	promtool(t, "check", "rules", "alerts.yaml")
	promtool(t, "test", "rules", "alerts.test.yaml")
}

var alertName = regexp.MustCompile(`- alert: (\w+)`)

// TestEveryAlertIsTestedAndExplained, in the cases and in the runbook.
func TestEveryAlertIsTestedAndExplained(t *testing.T) {
	rules, cases, runbook := read(t, "prometheus/alerts.yaml"), read(t, "prometheus/alerts.test.yaml"), read(t, "runbook.md")
	names := alertName.FindAllStringSubmatch(rules, -1)
	if len(names) < 10 {
		t.Fatalf("found only %d alerts", len(names))
	}
	for _, m := range names {
		name := m[1]
		for _, what := range []string{name + " fires", name + " is quiet", "nothing scraped"} {
			if !strings.Contains(cases, what) {
				t.Errorf("there is no case %q", what)
			}
		}
		if !strings.Contains(runbook, "\n## "+name+"\n") {
			t.Errorf("the runbook does not explain %s", name)
		}
		if !strings.Contains(rules, `"runbook.md#`+strings.ToLower(name)+`"`) {
			t.Errorf("%s does not point at its section of the runbook", name)
		}
	}
}

func read(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
