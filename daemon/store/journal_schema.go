package store

import (
	"encoding/json"
	"fmt"
	"strings"

	"antidotary/inventory"
)

// raised gives the entry's after-image as this program would write it; nil
// where it was erased. The journal itself stays as it was written.
//
// Until schema 2 a movement had no condition, and vials counted as checked:
// what was known then is told as it counted then.
func (r *journalRow) raised() (*string, error) {
	if r.Schema < 1 || r.Schema > schemaOfPayload {
		return nil, fmt.Errorf("entry %d of the journal is of schema %d, and this program knows %d: use a newer one", r.Position, r.Schema, schemaOfPayload)
	}
	if r.Payload == nil || *r.Payload == takenOut || r.Schema > 1 || !strings.HasPrefix(r.Subject, inventory.KindLot.String()+":") {
		return r.Payload, nil
	}
	var lot inventory.Lot
	if err := readImage(*r.Payload, &lot); err != nil {
		return nil, fmt.Errorf("read an after-image of a lot: %w", err)
	}
	for i := range lot.Movements {
		if m := &lot.Movements[i]; m.Condition == "" {
			m.Condition = inventory.Checked
		}
	}
	payload, err := json.Marshal(lot)
	if err != nil {
		return nil, fmt.Errorf("write an after-image of a lot: %w", err)
	}
	text := string(payload)
	return &text, nil
}
