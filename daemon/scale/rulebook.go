package scale

import (
	_ "embed"
	"testing/fstest"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

//go:embed rules.yaml
var rules []byte

// Rulebook reads the benchmarks' own rules.
func Rulebook() (*compliance.Rulebook, error) {
	return compliance.ReadRulebook(day.Embedded(), fstest.MapFS{"rules.yaml": {Data: rules}})
}
