package scale

import (
	"embed"
	"fmt"
	"io/fs"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

//go:embed rules/*.yaml sixty
var packs embed.FS

// Rulebook reads the benchmarks' own rules: about twenty, of four laws, a
// house and guidance.
func Rulebook() (*compliance.Rulebook, error) { return read("rules") }

// Sixty reads sixty rules of every kind: of two countries and six states, of a
// house, and guidance, so that most of the law is none of a site's.
func Sixty() (*compliance.Rulebook, error) { return read("sixty/compared", "sixty/rest") }

// Compared reads those of the sixty rules whose answer for one day another
// engine can be asked for as well: kinds permit, recurring, limit and prohibit,
// with periods in days alone. They are two thirds of them.
func Compared() (*compliance.Rulebook, error) { return read("sixty/compared") }

func read(folders ...string) (*compliance.Rulebook, error) {
	var all []fs.FS
	for _, name := range folders {
		folder, err := fs.Sub(packs, name)
		if err != nil {
			return nil, fmt.Errorf("open the benchmarks' rules: %w", err)
		}
		all = append(all, folder)
	}
	return compliance.ReadRulebook(day.Embedded(), all...)
}
