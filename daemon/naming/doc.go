// Package naming finds the record that somebody means by what people write on
// a command line: a permit number, an accession, a name, a place at a site, a
// day.
//
// The order in which its rules apply: kind:uuid always means that record; a
// name must be the record's own, letter for letter but for case and outer
// space; where several go by it, the site or product given beside it decides,
// else all of them are named and none is taken; a name that nobody goes by is
// refused with those near it, never replaced by one. A day is YYYY-MM-DD,
// today or yesterday at the site in question, and what has happened cannot lie
// in the future.
package naming
