package intake

import (
	"fmt"
	"reflect"
	"strings"

	"antidotary/inventory"
)

// wholeColumn is one field of a record, however deep, in one column.
type wholeColumn struct {
	name  string
	steps []int // of fields, as reflect counts them; pointers between are followed
	codec codec
}

// renamed gives columns the names that the starter lists use, and names where
// the field's own does not say what it is.
var renamed = map[string]string{
	"animal.origin.captive_bred": "captive bred",
	"animal.origin.country":      "country",
	"animal.origin.region":       "region of origin",
	"animal.left.on":             "left",
	"animal.left.how":            "how left",
	"animal.left.to":             "gone to",
	"animal.stays":               "enclosures",
	"lot.number":                 "lot",
	"lot.labelled":               "expires",
	"permit.from":                "valid from",
	"permit.grants":              "species",
	"permit.applications":        "filings",
	"place.min_mc":               "coldest in millidegrees",
	"place.max_mc":               "warmest in millidegrees",
	"product.store_min_mc":       "store from millidegrees",
	"product.store_max_mc":       "store to millidegrees",
	"product.lead_days":          "days from order to arrival",
	"product.gtins":              "trade item numbers",
	"coverage.vials":             "vials for one bite",
	"coverage.locality":          "origin of the animals",
	"site.antivenom":             "whose antivenom",
	"place.reach":                "minutes to sites",
	"supply.pack_size":           "vials in a pack",
	"supply.min_packs":           "least packs of an order",
	"supply.pack_price":          "price of a pack in minor units",
	"supply.order_fee":           "fee of an order in minor units",
	"supply.lead_days":           "days from order to the door",
	"supply.paper":               "import paper",
	"supply.paper_days":          "days for the import paper",
	"supply.customs_days":        "days at customs",
	"supply.check_days":          "days for checking",
	"supply.life_days":           "days in date on arrival",
	"order.from":                 "supplier",
	"order.labelled":             "expires",
	"order.life_days":            "days in date on arrival",
	"agreement.fresh_days":       "days that a confirmation lasts",
	"feed.complete_from":         "complete from",
	"feed.max_age_days":          "days that a confirmation lasts",
	"decision.last":              "last day",
	"planned.until":              "label end",
}

// columnsOf makes the columns of a type of record from its fields, so that a
// field added later is not forgotten. What it cannot write ends the program
// at its start: no list may leave a field out.
func columnsOf(kind inventory.Kind, t reflect.Type) []wholeColumn {
	var all []wholeColumn
	names := make(map[string]bool)
	var walk func(t reflect.Type, path string, steps []int)
	walk = func(t reflect.Type, path string, steps []int) {
		for i := range t.NumField() {
			f := t.Field(i)
			at := path + "." + fieldName(f)
			if at == kind.String()+".id" {
				continue // the column with the mark
			}
			steps := append(steps[:len(steps):len(steps)], i)
			inner := f.Type
			if inner.Kind() == reflect.Pointer {
				inner = inner.Elem()
			}
			if inner.Kind() == reflect.Struct && !isAtom(inner) {
				walk(inner, at, steps)
				continue
			}
			_, name, _ := strings.Cut(at, ".")
			name = strings.NewReplacer("_", " ", ".", " ").Replace(name)
			if other, ok := renamed[at]; ok {
				name = other
			}
			if names[name] {
				panic(fmt.Sprintf("two columns of %s are called %q", kind, name))
			}
			names[name] = true
			all = append(all, wholeColumn{name, steps, codecOf(f.Type, at)})
		}
	}
	walk(t, kind.String(), nil)
	return all
}

// fieldName gives a field's name in files. One that JSON leaves out would not
// be seen by the sign of what was exported.
func fieldName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	if name == "" || name == "-" || !f.IsExported() {
		panic(fmt.Sprintf("the field %s of a record has no name in files", f.Name))
	}
	return name
}

// of gives the column's value in a record; ok is false where what it is a part
// of is not there.
func (c *wholeColumn) of(rec reflect.Value) (v reflect.Value, ok bool) {
	v = rec
	for _, step := range c.steps {
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return v, false
			}
			v = v.Elem()
		}
		v = v.Field(step)
	}
	return v, true
}

// show gives the column's cell for a record.
func (c *wholeColumn) show(rec reflect.Value, n *nameBook) string {
	v, ok := c.of(rec)
	if !ok {
		return ""
	}
	return c.codec.show(v, n)
}

// set puts a value into a record. Nothing makes nothing that it would be a
// part of.
func (c *wholeColumn) set(rec, to reflect.Value) {
	if to.IsZero() {
		return
	}
	v := rec
	for _, step := range c.steps {
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				v.Set(reflect.New(v.Type().Elem()))
			}
			v = v.Elem()
		}
		v = v.Field(step)
	}
	v.Set(to)
}
