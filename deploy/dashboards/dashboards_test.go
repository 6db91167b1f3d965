package dashboards

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"
)

var update = flag.Bool("update", false, "write the dashboards anew")

// TestTheFilesAreWhatTheProgramWrites: they are JSON, and nobody edited them
// by hand.
func TestTheFilesAreWhatTheProgramWrites(t *testing.T) {
	for name, d := range All() {
		var b bytes.Buffer
		enc := json.NewEncoder(&b)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		if err := enc.Encode(d); err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		was, err := os.ReadFile(name)
		if err != nil || !bytes.Equal(was, b.Bytes()) {
			t.Errorf("%s is not what the program writes: run go test ./deploy/dashboards -run Files -update (%v)", name, err)
		}
		if !json.Valid(was) || bytes.Contains(was, []byte("http")) {
			t.Errorf("%s is no JSON, or points elsewhere", name)
		}
	}
	if files, err := filepath.Glob("*.json"); err != nil || len(files) != len(All()) {
		t.Errorf("files %v, %v", files, err)
	}
}

// TestEveryPanelExplainsItself, overlaps no other, and says when nothing is
// known.
func TestEveryPanelExplainsItself(t *testing.T) {
	runbook, err := os.ReadFile("../runbook.md")
	if err != nil {
		t.Fatal(err)
	}
	for name, d := range All() {
		if d.Panels[0].Title != first()[0].Title || d.Templating.List[0].Type != "datasource" || len(d.Panels) < 8 {
			t.Errorf("%s does not begin with whether it is still true, or has no choice of a source", name)
		}
		taken := make(map[[2]int]string)
		for _, p := range d.Panels {
			what := name + ", " + p.Title
			if len(p.Description) < 80 || p.Fields.Defaults.Unit == "" || !strings.Contains(strings.ToLower(p.Fields.Defaults.NoValue), "not known") {
				t.Errorf("%s: description %q, unit %q, nothing reads %q", what, p.Description, p.Fields.Defaults.Unit, p.Fields.Defaults.NoValue)
			}
			if p.Fields.Defaults.Unit == "s" && !strings.HasPrefix(p.Description, "Seconds") || p.Fields.Defaults.Unit == "bytes" && !strings.HasPrefix(p.Description, "Bytes") {
				t.Errorf("%s: the description does not begin with its unit: %s", what, p.Description)
			}
			if p.Source.UID != "${datasource}" || len(p.Targets) == 0 {
				t.Errorf("%s asks %q, %d queries", what, p.Source.UID, len(p.Targets))
			}
			for _, m := range regexp.MustCompile(`Antidotary\w+`).FindAllString(p.Description, -1) {
				if !strings.Contains(string(runbook), "\n## "+m+"\n") {
					t.Errorf("%s: the runbook has no %s", what, m)
				}
			}
			for x := p.Grid.X; x < p.Grid.X+p.Grid.W; x++ {
				for y := p.Grid.Y; y < p.Grid.Y+p.Grid.H; y++ {
					if other := taken[[2]int{x, y}]; other != "" || x >= 24 {
						t.Fatalf("%s lies over %q, or beyond the page", what, other)
					}
					taken[[2]int{x, y}] = what
				}
			}
		}
	}
}

// alerts reads the alert rules: their expressions by name.
func alerts(t *testing.T) map[string]string {
	t.Helper()
	var file struct {
		Groups []struct {
			Rules []struct{ Alert, Expr string }
		}
	}
	text, err := os.ReadFile("../prometheus/alerts.yaml")
	if err == nil {
		err = yaml.Unmarshal(text, &file)
	}
	if err != nil {
		t.Fatal(err)
	}
	out := make(map[string]string)
	for _, g := range file.Groups {
		for _, r := range g.Rules {
			out[r.Alert] = r.Expr
		}
	}
	if len(out) < 12 {
		t.Fatalf("found only %d alerts", len(out))
	}
	return out
}

// TestColoursChangeWhereAlertsFire: a panel that names an alert has its limit,
// over the same figure.
func TestColoursChangeWhereAlertsFire(t *testing.T) {
	rules, agree := alerts(t), 0
	for name, d := range All() {
		for _, p := range d.Panels {
			for alert, figure := range map[string]string{
				"AntidotaryJudgedStale":    fmt.Sprintf("%s > %d", p.Targets[0].Expr, judgedLimit),
				"AntidotaryMailStuck":      fmt.Sprintf("%s > %d", p.Targets[0].Expr, mailLimit),
				"AntidotaryDatabaseSilent": fmt.Sprintf("%s > %d", p.Targets[0].Expr, databaseLimit),
				"AntidotaryPackReviewDue":  fmt.Sprintf("%s < %d", p.Targets[0].Expr, packLimit),
			} {
				if !strings.Contains(p.Description, alert) {
					continue
				}
				agree++
				steps := p.Fields.Defaults.Thresholds.Steps
				if rules[alert] != figure || len(steps) != 2 || !strings.HasSuffix(figure, fmt.Sprint(" ", int(*steps[1].Value))) {
					t.Errorf("%s, %s: the panel says %s from %v on, the alert %s", name, p.Title, p.Targets[0].Expr, steps, rules[alert])
				}
			}
		}
	}
	// Twice the interval and five minutes is where the share is 1.
	if late := rules["AntidotarySweepLate"]; !strings.HasSuffix(late, `> 2 * max(antidotary_job_interval_seconds{task="sweep"}) + 300`) {
		t.Errorf("the alert allows otherwise than the panel: %s", late)
	}
	if agree != 6 {
		t.Errorf("%d panels were compared, want 6", agree)
	}
}

// expressions are every query of every dashboard.
func expressions() (out []string) {
	for _, d := range All() {
		for _, p := range d.Panels {
			for _, q := range p.Targets {
				out = append(out, q.Expr)
			}
		}
	}
	return out
}

// TestEveryExpressionParses by Prometheus's own tool.
func TestEveryExpressionParses(t *testing.T) {
	tool, err := exec.LookPath("promtool")
	if err != nil {
		t.Skip("NOT TESTED: promtool is missing (Debian: apt-get install prometheus)")
	}
	type rule struct {
		Record string `yaml:"record"`
		Expr   string `yaml:"expr"`
	}
	type group struct {
		Name  string `yaml:"name"`
		Rules []rule `yaml:"rules"`
	}
	g := group{Name: "dashboards"}
	for i, expr := range expressions() {
		g.Rules = append(g.Rules, rule{fmt.Sprint("panel:", i), expr})
	}
	text, err := yaml.Marshal(map[string][]group{"groups": {g}})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "rules.yaml")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.CommandContext(t.Context(), tool, "check", "rules", file).CombinedOutput(); err != nil || !bytes.Contains(out, []byte(fmt.Sprint(len(g.Rules), " rules found"))) {
		t.Errorf("%v\n%s", err, out)
	}
}
