// Package deed has the everyday things that somebody records: a permit was
// filed, a drill held, an animal arrived, vials were used. A deed is a Change
// with words; help, journal and mail all have the same words, from the
// catalogue in words.go.
//
// A deed says what happened and never what is in order: judging does that. The
// order in which its rules apply: the record is taken as it is when the deed
// is made, not as the person saw it; what the deed rests on must be recorded
// (nothing is received that was not filed, no vial used that is not there);
// then the record's own rules hold, as for any change. A deed that is refused
// alters nothing and says what is allowed. A mistake is undone by a
// counter-entry, never by editing.
//
// Days are the site's civil days. Whether a day lies in the future is the
// caller's to refuse: this package knows no clock.
package deed
