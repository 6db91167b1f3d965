// Package notify turns findings into who is told, when and in what words. It
// is pure: it makes the mails, somebody else sends them.
//
// The order in which its rules apply, for one open finding:
//
//  1. Who: the persons who hold the step's role at the finding's site today
//     and can be mailed; the head too once a step was missed or a critical
//     duty is out of order. Where nobody holds the role, the head, then the
//     administrator; where nobody can be reached at all, the finding is
//     unreachable, and says so.
//  2. When: at thresholds before the act-by day that scale with the step's
//     window; at once where there is no day; each week after a missed day; and
//     whenever it opens or becomes worse (Due). What is due is worked out from
//     the finding and the ledger of what was told, never from which sweep ran,
//     so down time of any length costs delay and no news.
//  3. Ended: whoever was told of an episode, and still works here, hears that it
//     ended, unless its duty is open again.
//  4. How: one digest for a person and local day. Whatever is due goes into
//     it, and all of it is written to the ledger with it; if today's digest
//     was queued already, it waits for tomorrow's, and the ledger knows
//     nothing of it.
//  5. Words: items with one cause are one entry; what changed first, then what
//     is due by its day, then what ended and what still stands, in a line each;
//     then what nobody can be told of, what is not known, and what was checked.
package notify
