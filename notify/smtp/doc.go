// Package smtp hands one stored mail to one smarthost for one recipient, and
// says what became of it in terms the outbox can act on.
//
// It is the only part of notify that touches the network. The wire protocol
// itself is go-smtp's; what is written here is what that client leaves open:
// which of several ends an attempt came to, how long it may take, and what must
// never leave this process.
//
// The order in which its rules apply:
//
//  1. Before any connection: addresses and body are checked. A mail that no
//     server could take correctly (a bare CR, a line over 998 octets, an address
//     with a parameter behind it) is Dead here and nothing is sent.
//  2. TLS 1.2 or later before anything else, implicit or by STARTTLS. A server
//     that does not offer it gets neither mail nor password. Plaintext needs a
//     loopback host or an explicit setting, and never carries a password.
//  3. One recipient per transaction, so that one bad address costs nobody else
//     their mail.
//  4. Hooks.BeforeData runs after the recipient was accepted and before DATA.
//     That is where the outbox commits data_started: up to there a lost process
//     means a safe retry, afterwards nobody can know.
//  5. Everything before the final dot has one deadline, kept by closing the
//     connection, because the client has none while the body is written. The
//     wait for the last reply has its own.
//  6. A half-written mail is never ended with a dot: the connection is closed.
//  7. What happened is classified by classify.go: Sent, Retry, Ambiguous, Dead
//     or ConfigFault, exactly one of them.
//
// Results and errors hold no address and no password, so they may be logged;
// only Result.Reply quotes the server, with addresses and secrets masked.
package smtp
