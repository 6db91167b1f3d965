package intake

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/google/uuid"

	"antidotary/compliance"
	"antidotary/inventory"
)

// namedBy says which field of a kind of record is its name, which one what it
// has that name within, and whether several may have one name: two persons, and
// a supplier's offers of a product in packs of several sizes. Kinds that are
// not here go by their identifiers.
var namedBy = map[inventory.Kind]struct {
	name, within string
	shared       bool
}{
	inventory.KindOrganisation: {name: "name"},
	inventory.KindSite:         {name: "name"},
	inventory.KindEnclosure:    {name: "code", within: "site"},
	inventory.KindSpecies:      {name: "accepted name"},
	inventory.KindPerson:       {name: "name", shared: true},
	inventory.KindAnimal:       {name: "accession"},
	inventory.KindProduct:      {name: "type"},
	inventory.KindPlace:        {name: "name", within: "site"},
	inventory.KindSupply:       {name: "supplier", within: "product", shared: true},
	inventory.KindOrder:        {name: "number"},
	inventory.KindLot:          {name: "lot", within: "product"},
	inventory.KindAuthority:    {name: "name"},
	inventory.KindPermit:       {name: "number"},
}

// calling is what a record is called, and within what.
type calling struct {
	name   string
	within inventory.ID
}

// nameBook turns references into names and back. A name is written where it
// means one record alone, else the identifier.
type nameBook struct {
	called map[inventory.Kind]map[inventory.ID]calling
	means  map[inventory.Kind]map[calling]inventory.ID
	twice  map[inventory.Kind]map[calling]int // names of several records
	asked  int                                // how often a name was looked for that is near
}

func newNameBook() *nameBook {
	n := &nameBook{make(map[inventory.Kind]map[inventory.ID]calling), make(map[inventory.Kind]map[calling]inventory.ID), make(map[inventory.Kind]map[calling]int), 0}
	for kind := range namedBy {
		n.called[kind], n.means[kind], n.twice[kind] = make(map[inventory.ID]calling), make(map[calling]inventory.ID), make(map[calling]int)
	}
	return n
}

// add writes a record's name down.
func (n *nameBook) add(kind inventory.Kind, id inventory.ID, c calling) {
	n.called[kind][id] = c
	if other, known := n.means[kind][c]; known && other != id {
		n.twice[kind][c] = max(n.twice[kind][c], 1) + 1
	}
	n.means[kind][c] = id
}

// nameColumns finds the columns with a list's names; nil: it has none.
func (l *wholeList) nameColumns() (name, within *wholeColumn) {
	by, ok := namedBy[l.kind]
	if !ok {
		return nil, nil
	}
	for i := range l.columns {
		switch c := &l.columns[i]; c.name {
		case by.name:
			name = c
		case by.within:
			within = c
		}
	}
	return name, within
}

// namesOf writes the names of all records down.
func namesOf(s *compliance.Snapshot) *nameBook {
	n := newNameBook()
	for _, l := range wholeLists {
		name, within := l.nameColumns()
		if name == nil {
			continue
		}
		for rec := range l.all(s) {
			n.add(l.kind, idOf(rec), callingOf(rec, name, within))
		}
	}
	return n
}

func callingOf(rec reflect.Value, name, within *wholeColumn) (c calling) {
	v, _ := name.of(rec)
	c.name = v.String()
	if within != nil {
		v, _ := within.of(rec)
		c.within = v.Interface().(inventory.ID)
	}
	return c
}

func idOf(rec reflect.Value) inventory.ID { return rec.FieldByName("ID").Interface().(inventory.ID) }

// write gives what is written for a record.
func (n *nameBook) write(kind inventory.Kind, id inventory.ID) string {
	if id == (inventory.ID{}) {
		return ""
	}
	c, known := n.called[kind][id]
	if _, looks := asID(c.name); !known || looks || c.name == "" || n.twice[kind][c] > 0 {
		return id.String()
	}
	by := namedBy[kind]
	if by.within == "" {
		return celled(c.name, string(beforeOwner))
	}
	owner := n.write(ownerOf(kind), c.within)
	return celled(c.name, string(beforeOwner)) + " @ " + owner
}

// ownerOf gives the kind that a kind of record has its names within.
func ownerOf(kind inventory.Kind) inventory.Kind {
	return refersTo[kind.String()+"."+namedBy[kind].within]
}

// read finds the record that is written.
func (n *nameBook) read(kind inventory.Kind, text string) (inventory.ID, error) {
	if id, ok := asID(text); ok || text == "" {
		return id, nil
	}
	by, named := namedBy[kind]
	parts := partedAt(text, beforeOwner)
	if !named {
		return inventory.ID{}, fmt.Errorf("%q is no identifier; that of a %s is required, from the first column of its list", text, kind)
	}
	var c calling
	switch {
	case by.within == "" && len(parts) == 1:
	case by.within != "" && len(parts) == 2:
		owner, err := n.read(ownerOf(kind), trimmed(parts[1]))
		if err != nil {
			return inventory.ID{}, err
		}
		c.within = owner
	case by.within == "":
		return inventory.ID{}, fmt.Errorf(`%q has an @; write \@ for one that is in the name of a %s`, text, kind)
	default:
		return inventory.ID{}, fmt.Errorf("%q is no %s; write %s @ %s", text, kind, by.name, by.within)
	}
	var err error
	if c.name, err = uncelled(parts[0]); err != nil {
		return inventory.ID{}, err
	}
	if times := n.twice[kind][c]; times > 0 {
		return inventory.ID{}, fmt.Errorf("%q is the name of %d records of kind %s; write the identifier, from the first column of its list", text, times, kind)
	}
	id, ok := n.means[kind][c]
	if !ok {
		return inventory.ID{}, fmt.Errorf("%q is not a recorded %s, nor in this source%s", text, kind, n.meant(kind, c))
	}
	return id, nil
}

// meant suggests what a name may mean. Each time it reads all names, so after
// a hundred times it does not: by then a whole list is missing.
func (n *nameBook) meant(kind inventory.Kind, c calling) string {
	const often = 100
	if n.asked++; n.asked > often {
		return ""
	}
	var known []string
	for other := range n.means[kind] {
		if other.within == c.within {
			known = append(known, other.name)
		}
	}
	if close := near(c.name, known); len(close) > 0 {
		return "; did you mean " + strings.Join(quoted(close), " or ") + "?"
	}
	return ""
}

// asID reads an identifier in the one form that is written.
func asID(text string) (inventory.ID, bool) {
	if len(text) != 36 {
		return inventory.ID{}, false
	}
	id, err := uuid.Parse(text)
	return id, err == nil
}

// idCodec writes what a field refers to.
func idCodec(kind inventory.Kind) codec {
	help := "the name of a " + kind.String()
	if by := namedBy[kind]; by.within != "" {
		help = fmt.Sprintf("a %s as %s @ %s", kind, by.name, by.within)
	}
	return codec{
		show: func(v reflect.Value, n *nameBook) string { return n.write(kind, v.Interface().(inventory.ID)) },
		read: func(text string, in *cellReader) (reflect.Value, error) {
			id, err := in.refer(kind, text)
			return reflect.ValueOf(id), err
		},
		help: help + ", or its identifier; blank: none",
	}
}

// refer reads a reference and notes it.
func (in *cellReader) refer(kind inventory.Kind, text string) (inventory.ID, error) {
	id, err := in.names.read(kind, text)
	if err == nil && id != (inventory.ID{}) {
		in.needs = append(in.needs, inventory.Ref{Kind: kind, ID: id})
	}
	return id, err
}

// refCodec writes a reference to a record of any kind, or to a holding.
func refCodec() codec {
	return codec{
		show: func(v reflect.Value, n *nameBook) string { return n.writeRef(v.Interface().(inventory.Ref)) },
		read: func(text string, in *cellReader) (reflect.Value, error) {
			ref, err := in.readRef(text)
			return reflect.ValueOf(ref), err
		},
		help: "a kind and a name, such as site: Thornbury Lane, or holding: Naja kaouthia @ Thornbury Lane; blank: unknown",
	}
}

func (n *nameBook) writeRef(ref inventory.Ref) string {
	switch {
	case ref.IsZero():
		return ""
	case ref.Kind == inventory.KindHolding:
		return "holding: " + n.write(inventory.KindSpecies, ref.ID) + " @ " + n.write(inventory.KindSite, ref.At)
	}
	return ref.Kind.String() + ": " + n.write(ref.Kind, ref.ID)
}

func (in *cellReader) readRef(text string) (ref inventory.Ref, err error) {
	if text == "" {
		return ref, nil
	}
	word, rest, found := strings.Cut(text, ":")
	kind, err := inventory.ParseKind(trimmed(word))
	if err != nil || !found {
		return ref, fmt.Errorf("%q is no reference; a kind and a name are required, such as site: Thornbury Lane", text)
	}
	rest = trimmed(rest)
	if kind != inventory.KindHolding {
		id, err := in.refer(kind, rest)
		return inventory.Ref{Kind: kind, ID: id}, err
	}
	parts := partedAt(rest, beforeOwner)
	if len(parts) != 2 {
		return ref, fmt.Errorf("%q is no holding; write holding: SPECIES @ SITE", text)
	}
	species, err := in.refer(inventory.KindSpecies, trimmed(parts[0]))
	if err != nil {
		return ref, err
	}
	site, err := in.refer(inventory.KindSite, trimmed(parts[1]))
	return inventory.Holding(species, site), err
}
