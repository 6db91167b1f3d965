package inventory

import "maps"

// Draft changes a table in place, so that a thousand changes cost one copy of
// what the table carries beside its rows, not a thousand. It also counts who
// has which natural key, so that a clash is found without a search.
type Draft[T Record] struct {
	table *Table[T]
	key   func(*T) NaturalKey
	moved map[NaturalKey]int // how many more have a key than among the rows; nil until asked
}

// Edit opens a draft. The table is the draft's own from here until Done:
// tables copied from it before stay as they were, and none may be copied from
// it meanwhile. It can be read. The key tells a record's natural key; it must
// be the same function whenever a table of that kind is edited, or nil where
// nobody asks for a namesake.
func (t *Table[T]) Edit(key func(*T) NaturalKey) *Draft[T] {
	t.over = maps.Clone(t.over)
	if t.over == nil {
		t.over = make(map[ID]*T, 1)
	}
	t.added = t.added[:len(t.added):len(t.added)]
	return &Draft[T]{table: t, key: key}
}

// Set lets the record stand for its identifier. It keeps the pointer: the
// record must not change any more.
func (d *Draft[T]) Set(rec *T) {
	id := (*rec).Ref().ID
	old, known := d.table.Get(id)
	if !known {
		d.table.added = append(d.table.added, id)
	}
	d.table.over[id] = rec
	if d.moved != nil {
		d.move(old, rec)
	}
}

// Done closes the draft, which is used no more: its table is immutable again.
func (d *Draft[T]) Done() {
	if len(d.table.over) >= foldAt {
		*d.table = d.table.folded()
	}
	d.table = nil
}
