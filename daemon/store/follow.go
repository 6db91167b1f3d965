package store

import (
	"context"
	"fmt"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// mostFollowed is how many entries of the journal are followed. Reading all
// tables costs less than following more, but for the largest networks, and
// there an import is rare.
const mostFollowed = verifyBatch

// follow gives the records at a later head of the journal from those at an
// earlier one and the after-images between: another process changed a few
// records, and the others need not be read again. It follows the chain with
// them. Nil where that leads nowhere, and the tables have to be read: the later
// head does not follow from the earlier one (the database went back to an older
// state, or went on from there), an after-image was erased, an entry is of
// another schema, or there are too many.
func follow(ctx context.Context, tx bun.IDB, records *compliance.Snapshot, from, to Head) (*compliance.Snapshot, error) {
	if records == nil || from == (Head{}) || to.Position <= from.Position || to.Position-from.Position > mostFollowed {
		return nil, nil
	}
	var rows []journalRow
	err := tx.NewSelect().Model(&rows).Where("position > ?", from.Position).Where("position <= ?", to.Position).Order("position").Scan(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the journal: %w", classified(err))
	}
	images, led := imagesIn(rows, from, to)
	if !led {
		return nil, nil
	}
	after := *records
	for _, kind := range inventory.Kinds() {
		if len(images[kind]) == 0 {
			continue
		}
		if err := tables[kind].follow(images[kind], &after); err != nil {
			return nil, nil // the tables have what the journal does not say
		}
	}
	return &after, nil
}

// entered is a record's after-image, or takenOut.
type entered struct {
	of    inventory.ID
	image string
}

// imagesIn gives each record's after-images in their order, if the entries
// lead from one head to another and all are there.
func imagesIn(rows []journalRow, from, to Head) (map[inventory.Kind][]entered, bool) {
	r, images := VerifyReport{Head: from}, make(map[inventory.Kind][]entered)
	for i := range rows {
		row := &rows[i]
		if r.step(row, nil); r.Problem != "" || row.Payload == nil || row.Schema != schemaOfPayload {
			return nil, false
		}
		var ref inventory.Ref
		if err := ref.UnmarshalText([]byte(row.Subject)); err != nil {
			return nil, false
		}
		images[ref.Kind] = append(images[ref.Kind], entered{ref.ID, *row.Payload})
	}
	_, other := images[inventory.KindHolding]
	return images, r.Head == to && !other
}

// follow brings the kind's table up to date.
func (t table[T, R]) follow(images []entered, into *compliance.Snapshot) error {
	in := t.in(into)
	edit := in.Edit(nil)
	last := make(map[inventory.ID]bool) // whether the record is there in the end
	for _, e := range images {
		if last[e.of] = e.image != takenOut; !last[e.of] {
			continue
		}
		rec := new(T)
		if err := readImage(e.image, rec); err != nil {
			return fmt.Errorf("read an after-image of %s: %w", t.name, err)
		}
		if (*rec).Ref().ID != e.of {
			return fmt.Errorf("an after-image of %s is of another record", t.name)
		}
		edit.Set(rec)
	}
	edit.Done()
	for id, there := range last {
		if !there {
			*in = in.Without(id)
		}
	}
	return nil
}
