// Package ladder says who may open which enclosure: how people are brought on
// stage by stage under mentors, and what that lets them do on each day.
//
// The idea: somebody's standing on a day follows from acts before that day.
// One forward pass over the days judges every session and every signature
// once, by what held just before it, so that two people who mentored each
// other never prove each other right. It rests on founding authorisations,
// which are given and not judged.
//
// The rules apply in this order on each day:
//
//  1. What time takes bites first: a certificate ends, currency lapses, and a
//     long lapse sets back by a stage.
//  2. Sessions of the day are judged by what their mentor could do before the
//     day, less what acts took from him earlier on it; a session counts from
//     its signature, within the window for it.
//  3. Sessions that count from the day move currency.
//  4. What gives counts then: clearances, stages, mentors, sign-offs. A grant
//     holds where its signers could sign and the stage's conditions are met by
//     what counts by then.
//  5. What takes away comes last and wins: set-backs and suspensions.
//
// What is not known is asked twice: once as if it were the worst, once as if
// it were the best. Where both agree, that is the answer; where they do not,
// nobody can tell. Benefits come from valid sessions only, what went wrong
// counts in any case, so that more of what is good never makes anything worse.
package ladder
