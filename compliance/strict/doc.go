// Package strict reads the YAML that people write by hand, rule packs and the
// daemon's configuration, and accepts nothing that it was not asked for.
//
// A rule with a mistyped key is a rule that silently does not watch. So every
// key that no reader asked for is a mistake, and so is everything in YAML
// that means something other than what it looks like. All mistakes of a file
// are told at once, each as
//
//	file:line:column: field: what is wrong; what is allowed
//
// where list items in a field's path are counted from 1.
//
// A reader calls Parse, takes Doc.Root, asks each Map for its keys, and in the
// end asks Doc.Err once. In between, a value that is wrong reads as the zero
// value of its type, and a mapping that is wrong as one in which nothing is
// missing, so that one mistake is told once.
//
// The order in which the rules apply:
//
//  1. The bytes: at most MaxBytes, UTF-8, no NUL or other control character,
//     lines ended by LF or CRLF. A byte order mark at the beginning is skipped.
//  2. The syntax: one well-formed YAML document. A mistake in these first two
//     steps ends the reading and Parse returns it.
//  3. The shape: at most MaxDepth levels; no anchor, alias, merge key or
//     explicit tag; keys are texts and occur once. From here on, mistakes
//     collect in the Doc.
//  4. The values: each as its reader asks for it.
//  5. The keys that nobody asked for.
package strict
