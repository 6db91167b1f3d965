package label

import (
	"errors"
	"fmt"
	"strings"
)

// Separator is what scanners send for FNC1 between elements: ASCII 29.
const Separator = "\x1d"

// Read reads what a scanner sent: perhaps a symbology identifier, then
// elements; of an EAN or UPC code, the number alone. year is the current one,
// 1950 to 9948: by it two digits of a year get their century. A separator more
// after an element or at the end is taken. An error names the character, from
// 1, at which it stands; then there is no label at all.
func Read(scan string, year int) (Label, []Warning, error) {
	if err := checkYear(year); err != nil {
		return Label{}, nil, err
	}
	id, data, what, err := unprefixed(scan)
	if err != nil {
		return Label{}, nil, err
	}
	if data == "" {
		return Label{}, nil, errors.New("the code is empty")
	}
	r := reading{scan: scan, at: len(scan) - len(data), year: year}
	if what == tradeItem {
		err = r.number(id)
	} else {
		err = r.all()
	}
	if err != nil {
		return Label{}, nil, err
	}
	return r.label(id)
}

// reading is a code while it is read.
type reading struct {
	scan     string
	at       int // how far it is read
	year     int
	elements []Element
	unread   string
	warnings []Warning
	printed  bool // with parentheses: scan and at are of no use
}

// wrong is an error at the place that is being read.
func (r *reading) wrong(format string, args ...any) error {
	err := fmt.Errorf(format, args...)
	if r.printed {
		return err
	}
	return fmt.Errorf("at character %d: %w", r.at+1, err)
}

// number reads an EAN or UPC code.
func (r *reading) number(id string) error {
	data := strings.TrimSuffix(r.scan[r.at:], Separator)
	if long := len(data) > 8; long != (id == "]E0") || len(data) == 14 {
		return r.wrong("%q is not as long as the number in such a code", data)
	}
	gtin, err := TradeItem(data)
	if err != nil {
		return r.wrong("%w", err)
	}
	r.elements = []Element{{"01", gtin}}
	return nil
}

// all reads elements up to the end, or up to an identifier that is not known.
func (r *reading) all() error {
	r.separator()
	if r.at == len(r.scan) {
		return errors.New("the code is empty")
	}
	if strings.HasPrefix(r.scan[r.at:], "(") {
		return r.wrong("it begins with a parenthesis: that is how a code is printed, not how it is scanned")
	}
	for r.at < len(r.scan) {
		rest := r.scan[r.at:]
		ai, cut := identifierAt(rest)
		switch {
		case ai != "":
			if err := r.element(ai, rest[len(ai):]); err != nil {
				return err
			}
		case cut:
			return r.wrong("it ends after %q, in the middle of an element: scan it again", rest)
		case strings.Trim(rest[:2], digits) != "" || len(r.elements) == 0:
			return r.wrong("%q is no application identifier that is known here", rest[:min(len(rest), 4)])
		default:
			r.unread = rest
			r.warn(AboutRest, "from character %d on it was not read, because it is not known what %s is and how long: %q", r.at+1, rest[:min(len(rest), 4)], rest)
			return nil
		}
	}
	return nil
}

// separator skips one.
func (r *reading) separator() {
	r.at += len(r.scan[r.at:]) - len(strings.TrimPrefix(r.scan[r.at:], Separator))
}

// element reads the value of an identifier.
func (r *reading) element(ai, rest string) error {
	id := identifiers[ai]
	value, _, _ := strings.Cut(rest, Separator)
	if id.predefined && len(value) > id.length() {
		value = value[:id.length()]
	}
	if err := r.check(ai, value); err != nil {
		return err
	}
	r.elements = append(r.elements, Element{ai, value})
	r.at += len(ai) + len(value)
	r.separator()
	return nil
}

// check says what is wrong with a value by itself.
func (r *reading) check(ai, value string) error {
	id := identifiers[ai]
	wrong := func(format string, args ...any) error {
		return r.wrong("(%s) %s: %w", ai, id.title, fmt.Errorf(format, args...))
	}
	rest := value
	for _, p := range id.parts {
		if rest == "" && p.optional {
			break
		}
		n := min(len(rest), p.max)
		text := rest[:n]
		rest = rest[n:]
		if n < p.min {
			return wrong("%q is too short: %s needed", value, id.format())
		}
		if bad := strings.Trim(text, sets[p.set]); bad != "" {
			return wrong("%q in %q is not allowed: %s needed", bad[:1], value, id.format())
		}
		for _, c := range p.checks {
			if err := checks[c](text, r.year); err != nil {
				return wrong("%s: %w", value, err)
			}
		}
	}
	if rest != "" {
		return wrong("%q is too long: %s needed; a separator may be missing", value, id.format())
	}
	return nil
}
