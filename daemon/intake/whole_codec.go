package intake

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// codec writes values of one type into cells, and reads them.
type codec struct {
	show func(reflect.Value, *nameBook) string
	read func(cell string, in *cellReader) (reflect.Value, error)
	help string
}

// cellReader is what cells are read with.
type cellReader struct {
	names *nameBook
	dates Order
	needs []inventory.Ref // what was referred to
}

// refersTo gives the kind of what a field with an identifier refers to.
var refersTo = map[string]inventory.Kind{
	"site.organisation":          inventory.KindOrganisation,
	"enclosure.site":             inventory.KindSite,
	"person.site":                inventory.KindSite,
	"person.offices.site":        inventory.KindSite,
	"animal.species":             inventory.KindSpecies,
	"animal.stays.enclosure":     inventory.KindEnclosure,
	"coverage.product":           inventory.KindProduct,
	"coverage.species":           inventory.KindSpecies,
	"place.site":                 inventory.KindSite,
	"place.reach.site":           inventory.KindSite,
	"supply.product":             inventory.KindProduct,
	"order.product":              inventory.KindProduct,
	"order.place":                inventory.KindPlace,
	"order.supply":               inventory.KindSupply,
	"agreement.site":             inventory.KindSite,
	"agreement.product":          inventory.KindProduct,
	"agreement.confirmations.by": inventory.KindPerson,
	"lot.product":                inventory.KindProduct,
	"lot.movements.place":        inventory.KindPlace,
	"planned.site":               inventory.KindSite,
	"planned.species":            inventory.KindSpecies,
	"planned.product":            inventory.KindProduct,
	"permit.authority":           inventory.KindAuthority,
	"permit.sites":               inventory.KindSite,
	"permit.animals":             inventory.KindAnimal,
	"permit.renews":              inventory.KindPermit,
	"activity.by":                inventory.KindPerson,
	"feed.site":                  inventory.KindSite,
	"not-watched.by":             inventory.KindPerson,
	"decision.by":                inventory.KindPerson,
	"lot.holds.place":            inventory.KindPlace,
	"lot.promises.place":         inventory.KindPlace,
	"lot.loans.approver":         inventory.KindPerson,
	"lot.movements.by":           inventory.KindPerson,
	"lot.movements.witness":      inventory.KindPerson,
	"activity.witness":           inventory.KindPerson,
	"session.trainee":            inventory.KindPerson,
	"session.mentor":             inventory.KindPerson,
	"session.site":               inventory.KindSite,
	"session.species":            inventory.KindSpecies,
	"session.animals":            inventory.KindAnimal,
	"authorisation.person":       inventory.KindPerson,
	"authorisation.species":      inventory.KindSpecies,
	"authorisation.mentor":       inventory.KindPerson,
	"authorisation.signers":      inventory.KindPerson,
	"credit.person":              inventory.KindPerson,
	"credit.signers":             inventory.KindPerson,
	"placement.by":               inventory.KindPerson,
}

// isAtom says whether a struct is written as one word.
func isAtom(t reflect.Type) bool {
	return t == reflect.TypeFor[day.End]() || t == reflect.TypeFor[inventory.Ref]() || t == reflect.TypeFor[time.Time]()
}

// codecOf makes the codec of a field.
func codecOf(t reflect.Type, path string) codec {
	if t == reflect.TypeFor[[]compliance.Grant]() {
		return listCodec(t, grantCodec(codecOfItem(t.Elem(), path)))
	}
	if t.Kind() == reflect.Slice {
		return listCodec(t, codecOfItem(t.Elem(), path))
	}
	return inCell(atomCodec(t, path), "")
}

// inCell lets the text of a codec stand in a cell among signs.
func inCell(c codec, signs string) codec {
	return codec{
		show: func(v reflect.Value, n *nameBook) string { return celled(c.show(v, n), signs) },
		read: func(cell string, in *cellReader) (reflect.Value, error) {
			text, err := uncelled(cell)
			if err != nil {
				return reflect.Value{}, err
			}
			return c.read(text, in)
		},
		help: c.help,
	}
}

// listCodec writes items parted by semicolons.
func listCodec(t reflect.Type, item codec) codec {
	return seriesCodec(t, item, betweenItems, item.help+"; several parted by semicolons")
}

// seriesCodec writes several values with a sign between.
func seriesCodec(t reflect.Type, item codec, sign byte, help string) codec {
	between := string(sign) + " "
	return codec{
		show: func(v reflect.Value, n *nameBook) string {
			var all []string
			for i := range v.Len() {
				text := item.show(v.Index(i), n)
				if text == "" {
					text = nothing
				}
				all = append(all, text)
			}
			return strings.Join(all, between)
		},
		read: func(cell string, in *cellReader) (reflect.Value, error) {
			out := reflect.Zero(t)
			for _, text := range partedAt(cell, sign) {
				if trimmed(text) == "" { // a sign too many at the end, or a line left blank
					continue
				}
				v, err := item.read(text, in)
				if err != nil {
					return out, err
				}
				out = reflect.Append(out, v)
			}
			return out, nil
		},
		help: help,
	}
}

// codecOfItem makes the codec of an item of a list.
func codecOfItem(t reflect.Type, path string) codec {
	if t.Kind() != reflect.Struct || isAtom(t) {
		return inCell(atomCodec(t, path), string(betweenItems))
	}
	columns := partsOf(t, path)
	var titles []string
	for _, c := range columns {
		titles = append(titles, c.name)
	}
	return codec{
		show: func(v reflect.Value, n *nameBook) string {
			var parts []string
			for i := range columns {
				parts = append(parts, columns[i].show(v, n))
			}
			return strings.Join(parts, " | ")
		},
		read: func(cell string, in *cellReader) (reflect.Value, error) {
			out := reflect.New(t).Elem()
			parts := partedAt(cell, betweenParts)
			if len(parts) != len(columns) {
				return out, fmt.Errorf("%q has %d parts; these are required: %s", cell, len(parts), strings.Join(titles, " | "))
			}
			for i := range columns {
				v, err := columns[i].codec.read(parts[i], in)
				if err != nil {
					return out, fmt.Errorf("%s: %w", columns[i].name, err)
				}
				columns[i].set(out, v)
			}
			return out, nil
		},
		help: strings.Join(titles, " | "),
	}
}

// partsOf gives the parts of an item, fields within fields too.
func partsOf(t reflect.Type, path string) (all []wholeColumn) {
	for i := range t.NumField() {
		f := t.Field(i)
		at := path + "." + fieldName(f)
		if f.Type.Kind() == reflect.Struct && !isAtom(f.Type) {
			for _, inner := range partsOf(f.Type, at) {
				inner.steps = append([]int{i}, inner.steps...)
				all = append(all, inner)
			}
			continue
		}
		var c codec
		if f.Type.Kind() == reflect.Slice {
			words := inCell(atomCodec(f.Type.Elem(), at), string(betweenWords))
			c = inCell(wordsCodec(f.Type, words), string(betweenItems)+string(betweenParts))
		} else {
			c = inCell(atomCodec(f.Type, at), string(betweenItems)+string(betweenParts))
		}
		all = append(all, wholeColumn{strings.ReplaceAll(fieldName(f), "_", " "), []int{i}, c})
	}
	return all
}

func wordsCodec(t reflect.Type, words codec) codec {
	return seriesCodec(t, words, betweenWords, words.help+", several parted by commas")
}

// atomCodec makes the codec of a value that is one text.
func atomCodec(t reflect.Type, path string) codec {
	switch t {
	case reflect.TypeFor[inventory.ID]():
		kind, ok := refersTo[path]
		if !ok {
			panic(fmt.Sprintf("nobody said what %s refers to", path))
		}
		return idCodec(kind)
	case reflect.TypeFor[inventory.Ref]():
		return refCodec()
	case reflect.TypeFor[day.Day]():
		return atom(day.Day.String, func(text string, in *cellReader) (day.Day, error) {
			return wrongly(parseDay(text, in.dates))
		}, "a day as YYYY-MM-DD; blank: unknown")
	case reflect.TypeFor[day.End]():
		return atom(blankUnknown[day.End], func(text string, in *cellReader) (day.End, error) {
			if end, err := day.ParseEnd(strings.ToLower(text)); err == nil {
				return end, nil
			}
			d, err := wrongly(parseDay(text, in.dates))
			return day.Until(d), err
		}, "the last good day as YYYY-MM-DD, or never; blank: unknown")
	case reflect.TypeFor[time.Time]():
		return atom(showInstant, func(text string, _ *cellReader) (time.Time, error) { return parseInstant(text) },
			"an instant with its distance from UTC, such as 2026-10-31T20:00:00-04:00; blank: only the day is known")
	case reflect.TypeFor[ladder.Level]():
		return taskCodec(path)
	case reflect.TypeFor[inventory.Tri]():
		return atom(blankUnknown[inventory.Tri], func(text string, _ *cellReader) (inventory.Tri, error) {
			if isDoubt(text) {
				return inventory.Unknown, nil
			}
			return wrongly(parseTri(text, nil, nil))
		}, "yes or no; blank: unknown")
	}
	switch t.Kind() {
	case reflect.String:
		if path == "product.gtins" {
			return atom(func(text string) string { return text }, func(text string, _ *cellReader) (string, error) { return asTradeItem(text), nil },
				"a trade item number with its check digit")
		}
		return codec{
			show: func(v reflect.Value, _ *nameBook) string { return v.String() },
			read: func(text string, _ *cellReader) (reflect.Value, error) {
				return reflect.ValueOf(text).Convert(t), nil
			},
			help: "text",
		}
	case reflect.Int:
		return atom(showCount, func(text string, _ *cellReader) (int, error) {
			n, err := strconv.Atoi(text)
			if err != nil {
				return 0, fmt.Errorf("%q is no number; digits are required, such as 10, or a blank for none", text)
			}
			return n, nil
		}, "a number in digits; blank: none")
	case reflect.Bool:
		return atom(showYes, func(text string, _ *cellReader) (bool, error) {
			v, err := wrongly(parseTri(text, nil, nil))
			return v == inventory.Yes, err
		}, "yes; blank: no")
	}
	panic(fmt.Sprintf("no cell holds a %s, the type of %s", t, path))
}

// taskCodec writes a level of task. A session has one; an authorisation that
// allows none has a blank.
func taskCodec(path string) codec {
	required := path == "session.task"
	help := "one of " + strings.Join(ladder.LevelNames(), ", ")
	if !required {
		help += "; blank: none"
	}
	return codec{
		show: func(v reflect.Value, _ *nameBook) string {
			if level := v.Interface().(ladder.Level); required || level != 0 {
				return level.String()
			}
			return ""
		},
		read: func(text string, _ *cellReader) (reflect.Value, error) {
			var level ladder.Level
			var err error
			if text != "" || required {
				err = level.UnmarshalText([]byte(text))
			}
			return reflect.ValueOf(level), err
		},
		help: help,
	}
}

// asTradeItem puts the zeros before digits that a spreadsheet takes away: a
// trade item number of 14 digits says the same with and without them. Whether
// it is one, the record's check says.
func asTradeItem(text string) string {
	if len(text) >= 14 || strings.Trim(text, "0123456789") != "" {
		return text
	}
	return strings.Repeat("0", 14-len(text)) + text
}

func showCount(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func showInstant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

// parseInstant reads an instant. One without its distance from UTC is refused:
// in autumn an hour comes twice.
func parseInstant(text string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return time.Time{}, fmt.Errorf("%q is no instant; write it with its distance from UTC, such as 2026-10-31T20:00:00-04:00 or 2026-11-01T00:00:00Z", text)
	}
	return t.UTC(), nil
}

func showYes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

func blankUnknown[T interface {
	comparable
	String() string
}](v T) string {
	var unknown T
	if v == unknown {
		return ""
	}
	return v.String()
}

func wrongly[T any](v T, wrong string) (T, error) {
	if wrong != "" {
		return v, fmt.Errorf("%s", wrong)
	}
	return v, nil
}

// atom makes the codec of one type; a blank is its zero value.
func atom[T any](show func(T) string, read func(string, *cellReader) (T, error), help string) codec {
	return codec{
		show: func(v reflect.Value, _ *nameBook) string { return show(v.Interface().(T)) },
		read: func(text string, in *cellReader) (reflect.Value, error) {
			var v T
			var err error
			if text != "" {
				v, err = read(text, in)
			}
			return reflect.ValueOf(v), err
		},
		help: help,
	}
}
