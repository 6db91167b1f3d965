// Package mailroom takes mails from the outbox to the mail server.
//
// The order in which its rules apply to one mail: it is claimed under a lease
// that outlasts the longest attempt; the start of DATA is committed before
// DATA is sent, so that a crash is known to have come before it (try again) or
// after it (perhaps delivered: send the same bytes again, later); what became
// of it is recorded under the same claim. A fault of the configuration pauses
// the round and burns no attempt.
//
// How often and how long is tried again is for a later issue to make
// unbreakable; the seams are Outbox and retryAfter.
package mailroom
