package store

import (
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// key is an identifier as a BLOB of 16 bytes; the zero identifier is NULL.
type key inventory.ID

// Value implements driver.Valuer.
func (k key) Value() (driver.Value, error) {
	if k == (key{}) {
		return nil, nil
	}
	return k[:], nil
}

// Scan implements sql.Scanner.
func (k *key) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*k = key{}
	case []byte:
		if len(v) != len(k) {
			return fmt.Errorf("an identifier of %d bytes: 16 are needed", len(v))
		}
		copy(k[:], v)
	default:
		return fmt.Errorf("an identifier is stored as %T", src)
	}
	return nil
}

// refText is a reference as text; the zero reference is empty text.
type refText struct{ inventory.Ref }

// Value implements driver.Valuer.
func (r refText) Value() (driver.Value, error) { return r.String(), nil }

// Scan implements sql.Scanner.
func (r *refText) Scan(src any) error {
	switch v := src.(type) {
	case string:
		return r.UnmarshalText([]byte(v))
	case []byte:
		return r.UnmarshalText(v)
	}
	return fmt.Errorf("a reference is stored as %T", src)
}

// list is a list within a record as JSON text; an empty one is NULL.
type list[T any] struct{ of []T }

// Value implements driver.Valuer.
func (l list[T]) Value() (driver.Value, error) {
	if len(l.of) == 0 {
		return nil, nil
	}
	text, err := json.Marshal(l.of)
	return string(text), err
}

// Scan implements sql.Scanner.
func (l *list[T]) Scan(src any) error {
	l.of = nil
	return scanJSON(src, &l.of)
}

// when is an instant in microseconds; the zero instant is NULL.
type when struct{ time.Time }

// Value implements driver.Valuer.
func (w when) Value() (driver.Value, error) {
	if w.IsZero() {
		return nil, nil
	}
	return micros(w.Time), nil
}

// Scan implements sql.Scanner.
func (w *when) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		w.Time = time.Time{}
	case int64:
		w.Time = time.UnixMicro(v).UTC() // 1970 has an instant too // 1970 has an instant too
	default:
		return fmt.Errorf("an instant is stored as %T", src)
	}
	return nil
}

// task is the name of a level of task.
type task ladder.Level

// Value implements driver.Valuer.
func (t task) Value() (driver.Value, error) { return ladder.Level(t).String(), nil }

// Scan implements sql.Scanner.
func (t *task) Scan(src any) error {
	switch v := src.(type) {
	case string:
		return (*ladder.Level)(t).UnmarshalText([]byte(v))
	case []byte:
		return (*ladder.Level)(t).UnmarshalText(v)
	}
	return fmt.Errorf("a task is stored as %T", src)
}

// one is a part of a record as JSON text; nil is NULL.
type one[T any] struct{ of *T }

// Value implements driver.Valuer.
func (o one[T]) Value() (driver.Value, error) {
	if o.of == nil {
		return nil, nil
	}
	text, err := json.Marshal(o.of)
	return string(text), err
}

// Scan implements sql.Scanner.
func (o *one[T]) Scan(src any) error {
	o.of = nil
	return scanJSON(src, &o.of)
}

func scanJSON(src, into any) error {
	switch v := src.(type) {
	case nil:
		return nil
	case string:
		return json.Unmarshal([]byte(v), into)
	case []byte:
		return json.Unmarshal(v, into)
	}
	return fmt.Errorf("JSON is stored as %T", src)
}

func ids(keys []inventory.ID) list[inventory.ID] { return list[inventory.ID]{keys} }
