// Package jobs runs what the schedule asks for, once for each slot however
// many daemons share the work, and catches up after a time in which nobody
// ran.
//
// The order in which its rules apply:
//
//  1. A loop wakes every half minute of real time and compares wall clocks: a
//     timer for the next slot would not see a laptop that slept.
//  2. What is due is claimed in the database, where a slot is unique for its
//     job. Only then is the work done, with a hard stop within the lease.
//  3. Of several slots that were missed only the newest is run, and the run
//     says how many it stands for: every job depends on the records and the
//     instant, never on which slot it is.
//  4. A run that fails, panics or dies with its daemon is taken up again, soon
//     at first, until its next slot comes.
package jobs
