// Package founding makes a house of a few answers: the organisation, its
// sites, who is who, the lists that somebody keeps, and the configuration.
//
// The order in which its rules apply: a question has one sentence, one
// explanation and one flag, so that asking and writing flags are the same;
// an answer is checked when it is given; what is not answered stays unknown,
// and unknown never reads as fine. So every site begins as not watched yet, by
// name and until a day; no list is kept, so that a missing record proves
// nothing; a site under no recorded law cannot be told to be lawful; without a
// mail server nobody is told, and every output says so.
package founding
