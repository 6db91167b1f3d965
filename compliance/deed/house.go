package deed

import (
	"antidotary/compliance"
	"antidotary/inventory"
)

// Imported records what somebody's lists say, as one deed.
func Imported(changes compliance.Batch) Deed { return Deed{words: WordsImported, Batch: changes} }

// HouseFounded records a house that begins, with its sites and people, what is
// referred to first.
func HouseFounded(records []inventory.Record) Deed {
	d := of(WordsHouseFounded)
	for _, rec := range records {
		d.Batch = append(d.Batch, compliance.Record(rec))
	}
	return d
}
