package scale

import (
	"embed"
	"fmt"
	"io/fs"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

//go:embed rules/*.yaml
var packs embed.FS

// Rulebook reads the benchmarks' own rules: about twenty, of four laws, a
// house and guidance.
func Rulebook() (*compliance.Rulebook, error) {
	rules, err := fs.Sub(packs, "rules")
	if err != nil {
		return nil, fmt.Errorf("open the benchmarks' rules: %w", err)
	}
	return compliance.ReadRulebook(day.Embedded(), rules)
}
