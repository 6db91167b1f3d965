// Package sweep is one round of the watch: read everything at one position
// of the journal, judge it, see what changed, decide who is told, and store
// all of that as one.
//
// The order in which its rules apply:
//
//  1. Records and open findings come from one consistent read, outside any
//     write transaction; what was told of those that are open then, or ended
//     lately, from a second one, which fails where another sweep came between.
//  2. Judging, comparing and planning are pure: the same reads at the same
//     instant give the same outcome, but for new identifiers.
//  3. Findings, reminders and the bytes of every mail are written in one
//     transaction, guarded by the journal's head and the last sweep. If either
//     moved meanwhile nothing is written, and the round starts over.
//
// So a sweep that dies at any point leaves either nothing or all of it, and
// the next one tells nobody twice.
package sweep
