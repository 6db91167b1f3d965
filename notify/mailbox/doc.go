// Package mailbox is a real mail server in this process that keeps what it is
// sent: a newcomer sees true mail arrive without owning a mail server, and the
// tests of everything that sends have a ledger of what a server accepted.
//
// It listens on loopback only unless given a listener, makes its own
// certificate, and forwards nothing. The protocol is go-smtp's server; what is
// here is the keeping, the waiting, and a Script of faults, so that a test can
// have every kind of bad day at every command.
//
// The order in which its rules apply:
//
//  1. The first Fault of the Script that fits the step and has uses left
//     decides what happens at that step.
//  2. Without one, the server behaves: AUTH is required when a user is set, and
//     a recipient or sender is never refused.
//  3. A message is in the ledger exactly when a client may believe, or may have
//     reason to fear, that it was taken: after a 250, and also when the reply to
//     the final dot was held back or lost on purpose.
package mailbox
