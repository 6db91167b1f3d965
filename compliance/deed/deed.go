package deed

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Deed is one thing that happened, as a change.
type Deed struct {
	words string
	compliance.Batch
	remarks func(was, is *compliance.Snapshot) []string // nil: none
}

// Remarks says, in sentences, what a deed found, from the records before and
// after it.
func (d Deed) Remarks(was, is *compliance.Snapshot) []string {
	if d.remarks == nil {
		return nil
	}
	return d.remarks(was, is)
}

// Words gives the words by which help, journal and mail know the deed.
func (d Deed) Words() string { return d.words }

func of(words string, changes ...compliance.Change) Deed { return Deed{words: words, Batch: changes} }

// put is a deed that makes a record.
func put[T inventory.Record](words string, rec T) Deed { return of(words, compliance.Record(rec)) }

// alter is a deed that corrects one record.
func alter[T inventory.Record](words string, ref inventory.Ref, how func(*compliance.Snapshot, *T) error) Deed {
	return of(words, compliance.Alter[T]{Of: ref, How: how})
}

func permit(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPermit, ID: id}
}

func animal(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindAnimal, ID: id}
}

func lot(id inventory.ID) inventory.Ref { return inventory.Ref{Kind: inventory.KindLot, ID: id} }

// before refuses a day that comes before what it follows.
func before(on day.Day, what string, earlier day.Day) error {
	if earlier.IsZero() || on >= earlier {
		return nil
	}
	return fmt.Errorf("%s is before %s, the day on which %s", on, earlier, what)
}

// with gives a list that has one more, and leaves the old one as it was.
func with[T any](list []T, one T) []T { return append(list[:len(list):len(list)], one) }
