// Package compliance judges: it holds people, papers and what they did, reads
// rules, and says for every duty on every day whether it is in order, out of
// order, or cannot be told.
//
// It is pure: no SQL, no network, no clock. A judgement is a function of
// rules, records and the instant of the question.
//
// The order in which its rules apply, for one rule and one subject:
//
//  1. Bind: a rule finds its subjects by its jurisdiction, its effective days
//     and its scope (Kind.Bind). Where the scope cannot be told, in order
//     stays and everything else becomes cannot tell.
//  2. Judge: the kind of rule answers with a line over all days
//     (Kind.Judge), made from the few days on which records change standing.
//  3. Feeds: what a record's absence proves depends on who keeps that list,
//     and since when. Stale lists turn in order into cannot tell, and nothing
//     else into anything (Feed).
//  4. Not watched yet: a subject so declared is never in order.
//  5. Precedence: each rule is judged alone. A law counts but on days on which
//     another law lifts it for that subject, by an exemption that the lifted
//     law itself names, or because a law of a higher place preempts it, which
//     always needs legal review (Lift). A rule that is lifted lifts nothing.
//     Law rules are ANDed into the law line, house rules into the policy line;
//     guidance joins the policy line only on days on which neither law nor
//     house speaks. Where it cannot be told whether a rule is lifted, or
//     whether law or house speaks, in order stays and everything else becomes
//     cannot tell (Judgement).
//  6. Findings: an episode opens when the law or the policy line leaves in
//     order, or when a step comes within its window, and closes when neither
//     holds (Diff).
package compliance
