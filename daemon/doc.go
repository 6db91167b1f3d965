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
//
// Two pages say how it is. /healthz is about this process alone: whether its
// loops go round. Whoever restarts processes asks it, and a restart helps
// then; a database or a mail server that is down is no reason. /readyz is
// about the answers: rules are loaded, records can be read, the schema is this
// program's, the records were judged lately, and the newest sweep is no older
// than its schedule allows. Whoever relies on the page asks it. What cannot be
// found out within seconds is not known, and that is not ok. Mail is in
// neither: one daemon that is ready tells nobody more than another while the
// mail server is down, so mail that waits or is held is a metric with an alert.
package daemon
