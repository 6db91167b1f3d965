// Package scope says to what a rule applies: a yes-or-no expression over the
// attributes of a subject, answered yes, no, or cannot tell.
//
// An expression is written in a small part of CEL, the Common Expression
// Language: names of attributes, texts, whole numbers, true and false, lists
// of them; == != < <= > >= in, && || ! ?: and parentheses; size(x),
// x.startsWith(y), x.endsWith(y), x.contains(y). There is no clock, no date,
// no arithmetic, no loop and no macro: a scope that watched the calendar
// would change its answer on days that nobody computed. Because there is no
// loop, the cost of an answer is bounded by the length of the expression
// times that of the attributes.
//
// The order in which the rules apply:
//
//  1. A blank expression applies to everything.
//  2. A part that an unknown attribute cannot change decides: "a || true" is
//     yes and "a && false" is no, on whichever side the unknown stands (CEL
//     language definition, section Logical Operators, read: an operand that
//     determines the result lets errors of the other be ignored, so that &&
//     and || are commutative. That section speaks of errors; that unknowns
//     are absorbed alike is the library's reading and is tested here).
//  3. Otherwise an unknown attribute makes the answer unknown, and its name
//     is among the missing ones. An attribute that holds the wrong type of
//     value is as unknown as a missing one, and the reason says so.
//  4. Anything else that fails while answering is unknown as well, with a
//     reason. It never reads as yes or no.
//
// A definite answer therefore holds for every value that the missing
// attributes could have. The reverse is not promised: "a == a" is unknown
// while a is.
package scope
