// Package drafting makes a rule pack of a few answers. What is asked of a
// rule comes from the form of packs (compliance/form), so that each kind of
// rule asks for what it needs, in the words that explain it elsewhere.
//
// The order in which its rules apply: each answer is checked when it is given,
// by what the form says and by the reader of packs; what may be left out is
// left out where nothing is answered, and a mapping with its first key; nothing is assumed but the day of reading
// and a review after a year, which are offered. The text is what a person would
// write, and the strict reader takes it.
package drafting
