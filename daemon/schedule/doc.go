// Package schedule says when the watch looks: it reads a cron expression of
// five fields and gives the instants ("slots") at which it comes in a zone.
// Nothing is run here, and no clock is read: a slot is a pure function of the
// expression, the zone and an instant, so that whoever runs something can
// catch up after a stop and tell one slot from another.
//
// The idea: robfig/cron/v3 knows the fields, but its clock misses a day when
// the local time does not exist and runs twice when it exists twice. So it is
// asked only about a floating clock, one on a wall where no clock change ever
// is. This package then goes through the stretches of time in which a zone
// keeps its offset, and lays the floating clock over each.
//
// The order of the rules:
//
//  1. An expression is taken whole or refused with what is allowed instead: no
//     zone within, no descriptor such as @daily, five fields, each of them
//     lawful, and it must come at some time.
//  2. Day of month and day of week are joined by OR if both are restricted, as
//     in every cron, and by AND if one of them is *.
//  3. A local time comes at the first instant at which the clock on the wall
//     reads it or a later time. So a time that a clock change jumps over comes
//     at the instant of the change, several of them there come as one, and a
//     time that the clock reads twice comes at its first.
//  4. A civil day that a place skipped as a whole (Apia in Samoa, 30 December
//  2011. has no slots.
//  5. An expression that takes every hour of the day counts real time: it comes
//     each time that the clock reads it, so that a watch by the hour has no
//     hole of two hours when the clock is set back.
//  6. In several zones, slots are those of each, in order, an instant once.
package schedule
