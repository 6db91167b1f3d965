// Package sweep is one round of the watch: read everything at one position
// of the journal, judge it, see what changed, decide who is told, and store
// all of that as one.
//
// The order in which its rules apply:
//
//  1. Records, open findings and reminders come from one consistent read,
//     outside any write transaction.
//  2. Judging, comparing and planning are pure: the same read at the same
//     instant gives the same outcome, but for new identifiers.
//  3. Findings, reminders and the bytes of every mail are written in one
//     transaction, guarded by the journal's head and the last sweep. If either
//     moved meanwhile nothing is written, and the round starts over.
//
// So a sweep that dies at any point leaves either nothing or all of it, and
// the next one tells nobody twice.
package sweep
