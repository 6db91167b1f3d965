package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"antidotary/compliance"
	"antidotary/inventory"
)

// imaged is a kind of record that can be read back from after-images.
type imaged interface {
	recall(images []string, into *compliance.Snapshot) error
}

// recall makes the kind's table from its records' after-images.
func (t table[T, R]) recall(images []string, into *compliance.Snapshot) error {
	records := make([]T, len(images))
	pointers := make([]*T, len(images))
	for i, image := range images {
		if err := readImage(image, &records[i]); err != nil {
			return fmt.Errorf("read an after-image of %s: %w", t.name, err)
		}
		pointers[i] = &records[i]
	}
	*t.in(into) = inventory.NewTable(pointers)
	return nil
}

// readImage takes no field that this program does not know: to leave it out
// would be another record.
func readImage(image string, into any) error {
	d := json.NewDecoder(bytes.NewReader([]byte(image)))
	d.DisallowUnknownFields()
	return d.Decode(into)
}

// standIn is a record of which nothing is known but that it was: judging takes
// for granted that what an animal or a vial is of can be looked up. Nil for
// records without which judging goes on.
func standIn(ref inventory.Ref) inventory.Record {
	const erased = "(erased)"
	switch ref.Kind {
	case inventory.KindSpecies:
		return inventory.Species{ID: ref.ID, Accepted: erased}
	case inventory.KindProduct:
		return inventory.Product{ID: ref.ID, Type: erased}
	}
	return nil
}

// recall makes the records of the after-images, and says which were erased.
func (a *afterImages) recall() (out Recalled, err error) {
	out = Recalled{Snapshot: &compliance.Snapshot{}, Head: a.head}
	byKind := make(map[inventory.Kind][]string)
	for _, subject := range slices.Sorted(maps.Keys(a.of)) {
		var ref inventory.Ref
		if err := ref.UnmarshalText([]byte(subject)); err != nil {
			return out, fmt.Errorf("read the journal: %w", err)
		}
		image := a.of[subject]
		if image == nil {
			out.Erased = append(out.Erased, ref)
			if image, err = imageOf(standIn(ref)); err != nil {
				return out, err
			}
		}
		if image != nil {
			byKind[ref.Kind] = append(byKind[ref.Kind], *image)
		}
	}
	slices.SortFunc(out.Erased, inventory.Ref.Compare)
	for kind, images := range byKind {
		from, ok := tables[kind].(imaged)
		if !ok {
			return out, fmt.Errorf("read the journal: there are no records of kind %s", kind)
		}
		if err := from.recall(images, out.Snapshot); err != nil {
			return out, err
		}
	}
	return out, nil
}

// imageOf gives the after-image of a record; nil of none.
func imageOf(rec inventory.Record) (*string, error) {
	if rec == nil {
		return nil, nil
	}
	image, err := json.Marshal(rec)
	if err != nil {
		return nil, fmt.Errorf("write the after-image of %s: %w", rec.Name(), err)
	}
	text := string(image)
	return &text, nil
}
