// Package store keeps everything: records, the journal of their changes,
// findings, what was told, and the mails that wait to go out. It is one
// implementation with bun; what differs between databases is in dialect.go.
//
// The order in which its rules apply:
//
//  1. Every write is in an explicit transaction, opened by write, with one
//     now and identifiers that the client made. An autocommit write can run
//     twice and report success; a test proves that there is none.
//  2. Records change by Commit alone: read, apply the changes, write the
//     after-images, append to the journal, all in one transaction.
//  3. Sweeps are stored by StoreSweep alone, guarded by the journal's head
//     and the last sweep: had either moved, nothing is written.
//  4. A commit whose answer was lost is looked up by its identifier, never
//     made again blindly.
//
// Row types are private; records carry no tags of the database.
package store
