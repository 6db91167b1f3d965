// Package daemon is the running process, and at its root nothing but wiring:
// configuration, rule packs, store, sweep, mailroom and page are made here,
// started in one order and stopped in the other.
//
// The order in which a start proceeds: rule packs and holidays are read (a
// mistake in any of them stops the start, because a rule that was skipped
// would read as fine), the database is opened and brought up to date, the
// page's address is bound, a sweep is made at once, and from then on one at
// each time of the schedule. Mails are sent after each sweep and when a retry
// is due. A stop lets what is running finish, then closes what was opened, in
// reverse.
package daemon
