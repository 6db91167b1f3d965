package compliance

import "antidotary/inventory"

// draft is a snapshot that is being changed. It can be read like any other;
// its tables are opened when they are first changed, and closed when it is
// done.
type draft struct {
	*Snapshot
	open map[inventory.Kind]interface{ Done() }
}

// drawable is a change that can be made in a draft; others make a snapshot
// each.
type drawable interface{ draw(*draft) error }

func draftOf(s *Snapshot) *draft {
	own := *s
	return &draft{&own, make(map[inventory.Kind]interface{ Done() })}
}

// drawn gives the snapshot after a change, or leaves it at the refusal.
func drawn(c drawable, s *Snapshot) (*Snapshot, error) {
	d := draftOf(s)
	if err := c.draw(d); err != nil {
		return nil, err
	}
	return d.done(), nil
}

// apply makes one change.
func (d *draft) apply(c Change) error {
	if c, ok := c.(drawable); ok {
		return c.draw(d)
	}
	s, err := c.Apply(d.done())
	if err != nil {
		return err
	}
	*d = *draftOf(s)
	return nil
}

// done closes the tables and gives the snapshot, which is immutable from here
// on; the draft is used no more.
func (d *draft) done() *Snapshot {
	for _, table := range d.open {
		table.Done()
	}
	return d.Snapshot
}

// drafted gives the open draft of a table of the draft.
func drafted[T inventory.Record](d *draft, t *inventory.Table[T], kind inventory.Kind, key func(*T) inventory.NaturalKey) *inventory.Draft[T] {
	if open, ok := d.open[kind]; ok {
		return open.(*inventory.Draft[T])
	}
	open := t.Edit(key)
	d.open[kind] = open
	return open
}
