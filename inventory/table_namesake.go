package inventory

import "sync"

// NaturalKey is what tells records of one kind apart for people: a name,
// where need be within another record. No two records should have one; what
// was loaded may break that, and then both count.
type NaturalKey struct {
	Within ID
	Name   string
}

// census counts the rows of a table by natural key. It is made when somebody
// first asks and shared by all tables with these rows; evaluation never asks.
type census struct {
	once sync.Once
	by   map[NaturalKey]int
}

// inRows counts the rows that have a natural key.
func (t *Table[T]) inRows(k NaturalKey, key func(*T) NaturalKey) int {
	if len(t.rows) == 0 {
		return 0
	}
	t.census.once.Do(func() {
		t.census.by = make(map[NaturalKey]int, len(t.rows))
		for _, r := range t.rows {
			t.census.by[key(r)]++
		}
	})
	return t.census.by[k]
}

// Namesake gives the first record, in the order of All, that has the record's
// natural key and another identifier. Only where there is one does it read
// the table.
func (d *Draft[T]) Namesake(rec *T) (*T, bool) {
	k, id := d.key(rec), (*rec).Ref().ID
	if d.holders(k, id) == 0 {
		return nil, false
	}
	for other := range d.table.All() {
		if d.key(other) == k && (*other).Ref().ID != id {
			return other, true
		}
	}
	return nil, false
}

// holders counts the records that have a natural key, but for one.
func (d *Draft[T]) holders(k NaturalKey, but ID) int {
	if d.moved == nil {
		d.moved = make(map[NaturalKey]int, len(d.table.over))
		for id, r := range d.table.over {
			d.move(d.row(id), r)
		}
	}
	n := d.table.inRows(k, d.key) + d.moved[k]
	if old, ok := d.table.Get(but); ok && d.key(old) == k {
		n--
	}
	return n
}

// row gives the record as it is among the rows, or nil.
func (d *Draft[T]) row(id ID) *T {
	if i, ok := d.table.index[id]; ok {
		return d.table.rows[i]
	}
	return nil
}

// move counts that a record gave up the key that it had, if it was, for the
// one that it has.
func (d *Draft[T]) move(old, now *T) {
	if old != nil {
		d.moved[d.key(old)]--
	}
	d.moved[d.key(now)]++
}
