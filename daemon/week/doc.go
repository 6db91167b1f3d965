// Package week puts what somebody must do soon on paper and into calendars,
// for a house that sends no mail, and for every other that wants it: a sheet
// for one week to print, tick and sign (Week.WriteSheet), and a calendar file
// of everything that is coming (Week.WriteCalendar). It is pure: both are made
// from one evaluation, and are told when that was.
//
// The order in which its rules apply:
//
//  1. Duties that ask one thing about one cause are one task: the paper that
//     lapses, and not each of its animals (of). A task's day is the act-by
//     day, as everywhere else.
//  2. What is overdue or due at once comes first, then the seven days, each
//     with its tasks by role; then what cannot be told, whichever day it is
//     due; then what leaves in order in the weeks after. A day without a task
//     says so, because a gap may mean that a page is missing.
//  3. Who: the role, and every person who holds it there; nobody, if nobody
//     does. That a person has no mail address is no reason not to be on paper.
//  4. Sheet and calendar say when they were made, from which state of the
//     records, and that nobody is watching once they are older than a week.
//
// The calendar is of whole-day events and not of to-dos, because calendar
// programs that subscribe to a file commonly show events alone (from memory).
// It is written with golang-ical, which folds and escapes by RFC 5545 and is
// released and kept; its tests read it back with go-ical, which reads strictly
// but does not fold what it writes.
package week
