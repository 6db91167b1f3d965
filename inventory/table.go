package inventory

import "iter"

// Record is one thing that the watch keeps. Ref points to it, Name is what
// people call it (accession number, permit number, lot number, a name), and
// Check says what is wrong with its own fields.
type Record interface {
	Ref() Ref
	Name() string
	Check() error
}

// Table is an immutable collection of records of one kind. With gives a new
// table and leaves the old one as it was, so that a snapshot once taken never
// changes and a what-if costs no copy of the house. Many changes at once are
// made in a Draft.
type Table[T Record] struct {
	rows   []*T       // as loaded
	index  map[ID]int // into rows; never written after NewTable
	census *census    // natural keys of rows; nil without rows
	over   map[ID]*T  // changes since; copied by With
	added  []ID       // IDs in over that are not in rows, in order
}

// foldAt is how many changes a table carries beside its rows before they are
// folded in: folding costs a copy of the table, not folding costs a copy
// of the changes.
const foldAt = 256

// NewTable makes a table of rows. It keeps the slice. Of two rows with one
// identifier the later wins, in the place of the earlier; then the table has
// a slice of its own.
func NewTable[T Record](rows []*T) Table[T] {
	t := Table[T]{rows: rows, index: make(map[ID]int, len(rows)), census: new(census)}
	for i, r := range rows {
		t.index[(*r).Ref().ID] = i
	}
	if len(t.index) < len(rows) {
		return distinct(rows)
	}
	return t
}

func distinct[T Record](rows []*T) Table[T] {
	t := Table[T]{index: make(map[ID]int, len(rows)), census: new(census)}
	for _, r := range rows {
		id := (*r).Ref().ID
		if i, known := t.index[id]; known {
			t.rows[i] = r
			continue
		}
		t.index[id] = len(t.rows)
		t.rows = append(t.rows, r)
	}
	return t
}

// Len gives the number of records.
func (t Table[T]) Len() int { return len(t.rows) + len(t.added) }

// Get finds a record.
func (t Table[T]) Get(id ID) (*T, bool) {
	if r, ok := t.over[id]; ok {
		return r, true
	}
	if i, ok := t.index[id]; ok {
		return t.rows[i], true
	}
	return nil, false
}

// All yields every record: those loaded first, then those added.
func (t Table[T]) All() iter.Seq[*T] {
	return func(yield func(*T) bool) {
		for _, r := range t.rows {
			if len(t.over) > 0 {
				if newer, ok := t.over[(*r).Ref().ID]; ok {
					r = newer
				}
			}
			if !yield(r) {
				return
			}
		}
		for _, id := range t.added {
			if !yield(t.over[id]) {
				return
			}
		}
	}
}

// With gives a table in which the record stands for its identifier.
func (t Table[T]) With(rec T) Table[T] {
	d := t.Edit(nil)
	d.Set(&rec)
	d.Done()
	return t
}

// Without gives a table that lacks the record. It costs a copy of the table:
// records are taken out only where somebody made a mistake.
func (t Table[T]) Without(id ID) Table[T] {
	rows := make([]*T, 0, t.Len())
	for r := range t.All() {
		if (*r).Ref().ID != id {
			rows = append(rows, r)
		}
	}
	return NewTable(rows)
}

func (t Table[T]) folded() Table[T] {
	rows := make([]*T, 0, t.Len())
	for r := range t.All() {
		rows = append(rows, r)
	}
	return NewTable(rows)
}
