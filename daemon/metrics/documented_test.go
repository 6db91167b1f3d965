package metrics

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the list of metrics anew")

const listed = "../../deploy/metrics.md"

// TestEveryMetricIsListed, with its unit and meaning, in what operators read.
func TestEveryMetricIsListed(t *testing.T) {
	var b strings.Builder
	b.WriteString(`# Metrics

What ` + "`/metrics`" + ` shows of the watch, beside the usual metrics of a Go process. Instants are Unix times and not ages. What is not known is
absent: an absent series is not a zero. Several daemons on one database show the same figures: take max or min, never a sum
over instances. This list is made from the program: ` + "`go test ./daemon/metrics -run Listed -update`" + `.

| metric | labels | unit | meaning |
|---|---|---|---|
`)
	for _, d := range All() {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", d.Name, strings.Join(d.Labels, ", "), d.Unit, d.Meaning)
		if d.Unit == "" || !strings.HasSuffix(d.Meaning, ".") {
			t.Errorf("%s: unit %q, meaning %q", d.Name, d.Unit, d.Meaning)
		}
		if slices.Contains(d.Labels, "job") || slices.Contains(d.Labels, "instance") {
			t.Errorf("%s has a label of which Prometheus has one of its own: %v", d.Name, d.Labels)
		}
		if strings.HasSuffix(d.Name, "_timestamp_seconds") != (d.Unit == unix) {
			t.Errorf("%s: its name does not go with its unit, %s", d.Name, d.Unit)
		}
	}
	if *update {
		if err := os.WriteFile(listed, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if was, err := os.ReadFile(listed); err != nil || string(was) != b.String() {
		t.Errorf("%s is not what the program shows: run go test ./daemon/metrics -run Listed -update (%v)", listed, err)
	}
}
