// Package message builds the bytes of one mail for exactly one recipient.
//
// A mail is rendered once, stored, and sent as stored however often it has to
// be tried, so the same input must give the same bytes: nothing here reads a
// clock or draws a random number. The identity of a mail is a UUID that the
// caller drew together with the finding; Message-ID and MIME boundary both
// come from it.
//
// The order in which its rules apply:
//
//  1. Things that identify (addresses, the ID, list and message ids) are
//     refused when they hold anything but their own alphabet. They are never
//     repaired: a repaired address is somebody else's address.
//  2. Things that are read (subject, names, text, HTML) are cleaned and never
//     refused, because a warning with an odd character is better than no
//     warning: invalid UTF-8 becomes U+FFFD, control characters, line
//     separators and bidirectional overrides become a space in headers and
//     vanish from bodies, and line ends in bodies become CRLF.
//  3. Headers are ASCII (RFC 2047 where needed) and folded; bodies are
//     quoted-printable with lines of at most 76 octets, so that no server ever
//     has to re-encode the mail and no line comes near the limit of 998.
//  4. One To, no Cc, no Bcc. The envelope has the same single recipient.
package message
