// Package form says what may be written in a rule pack: each key with what it
// means, what it may hold and what it is if left out. The JSON Schema that
// editors check packs with, the questions of a new pack and the words of an
// explained rule are all made from these lists, and a test holds them to the
// reader: a key that the one knows and the other does not fails it.
//
// The order of the lists is the order in which a pack is best written.
package form

import "slices"

// Type is what a key holds.
type Type uint8

// The types.
const (
	Text       Type = iota + 1
	Word            // lower-case words joined by hyphens or dots
	Path            // a jurisdiction such as us/fl
	Day             // YYYY-MM-DD
	End             // a day, or never, or unknown
	Span            // calendar units: 30 days, 1 year 2 weeks
	Duration        // elapsed time: 26h
	Whole           // from Least to Most
	Flag            // true or false
	Choice          // one of Words
	Texts           // a list of texts, of Words where there are any
	Mapping         // Keys
	Mappings        // a list, each with Keys
	Conditions      // a list, each with one key of Condition
)

// Key is one key of a mapping.
type Key struct {
	Name        string
	Type        Type
	Need        bool
	Words       []string
	Least, Most int
	Keys        []Key
	Otherwise   string // what it is if left out, in words; empty: nothing is said
	Says        string // one sentence for whoever writes rules
	// Needs are what the schema asks of each mapping of a list beyond its keys,
	// in words of JSON Schema.
	Needs map[string]any
}

// Kind is a kind of rule.
type Kind struct {
	Name     string
	Says     string
	Subjects []string
	Keys     []Key
	// Needs are what the schema asks beyond its keys, in words of JSON Schema.
	Needs map[string]any
}

// Of finds a key by name.
func Of(keys []Key, name string) (Key, bool) {
	i := slices.IndexFunc(keys, func(k Key) bool { return k.Name == name })
	if i < 0 {
		return Key{}, false
	}
	return keys[i], true
}

// KindOf finds a kind by name.
func KindOf(name string) (Kind, bool) {
	i := slices.IndexFunc(Kinds, func(k Kind) bool { return k.Name == name })
	if i < 0 {
		return Kind{}, false
	}
	return Kinds[i], true
}
