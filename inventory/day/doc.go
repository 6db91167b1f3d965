// Package day is the calendar of the watch: civil days, the ends of papers and
// lots, and step functions over days.
//
// Papers, lots, drills and duties are good until a day, not until an instant,
// and most of the harm done by reminder programs comes from treating the one
// as the other. So a Day here is a date on a wall calendar with no zone; a
// zone enters only where an instant is turned into a day (In) or a day's end
// into an instant (EndOf). Everything may import this package; it imports
// nothing of ours.
//
// The order in which its rules apply:
//
//  1. An End says how long something is good. Its zero value is Unknown, and
//     Unknown never reads as Never.
//  2. "Good until D" includes D; a Line changes on D+1.
//  3. Months and years clamp to the month's end and are always added from the
//     anchor, never in steps (31 January + 1 month + 1 month would drift).
//  4. A Period has one of the shapes that law uses; only its rule says whether
//     a result that falls on a non-working day moves, and then it moves later
//     when counted forward and earlier when counted backward.
//  5. Working days come from dated holiday data; a day outside the data's
//     coverage is computed all the same and marked provisional.
package day
