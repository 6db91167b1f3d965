// Package words is the one catalogue of words: what a state, a step, a reason
// or a role is called in mail, on pages and in commands alike, so that they
// stay in step and another language has one place to go.
//
// The order in which its rules apply: judging speaks in codes with arguments;
// here each code has one phrase in the trade's own plain words; a phrase never
// reads better than what is known. Days are written with their weekday and the
// name of the month, because 02/03 is two days. A test reads the sources of
// package compliance and fails where a code has no words, or words no code.
package words
