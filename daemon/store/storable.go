package store

import (
	"fmt"
	"reflect"
	"strings"
	"unicode/utf8"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// storable refuses a record that would not come back as it is: with text that
// has a NUL or is no UTF-8, or with a day that is not written as ten
// characters. One such day within a list, and nothing could be read any more.
func storable(rec inventory.Record) error {
	if wrong := unstorable(reflect.ValueOf(rec), ""); wrong != nil {
		return &compliance.Refusal{Subject: rec.Ref(), Name: strings.ToValidUTF8(rec.Name(), "\uFFFD"), Err: wrong}
	}
	return nil
}

// unstorable finds the first field, however deep, that cannot be kept.
func unstorable(v reflect.Value, field string) *inventory.FieldError {
	switch v.Type() {
	case reflect.TypeFor[inventory.ID]():
		return nil
	case reflect.TypeFor[day.Day]():
		return outside(v.Interface().(day.Day), field)
	case reflect.TypeFor[day.End]():
		last, _ := v.Interface().(day.End).Known()
		return outside(last, field)
	}
	switch v.Kind() {
	case reflect.String:
		if !keepable(v.String()) {
			return &inventory.FieldError{Field: field, Problem: "has a NUL, or bytes that are not UTF-8: plain text is allowed"}
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return unstorable(v.Elem(), field)
		}
	case reflect.Slice:
		for i := range v.Len() {
			if wrong := unstorable(v.Index(i), field); wrong != nil {
				return wrong
			}
		}
	case reflect.Struct:
		return unstorableIn(v, field)
	}
	return nil
}

func unstorableIn(v reflect.Value, field string) *inventory.FieldError {
	for f, inner := range v.Fields() {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "" {
			name = strings.ToLower(f.Name)
		}
		if wrong := unstorable(inner, strings.TrimPrefix(field+"."+name, ".")); wrong != nil {
			return wrong
		}
	}
	return nil
}

func outside(d day.Day, field string) *inventory.FieldError {
	if d.IsZero() || d >= day.First && d <= day.Last {
		return nil
	}
	return &inventory.FieldError{Field: field, Problem: fmt.Sprintf("is %s: years 1900 to 9999 are allowed", d)}
}

// keepable says that a database keeps a text byte for byte.
func keepable(text string) bool {
	return utf8.ValidString(text) && !strings.ContainsRune(text, 0)
}
