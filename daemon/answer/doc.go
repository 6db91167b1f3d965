// Package answer puts the questions that people ask into answers that they
// can read, and machines too: what is out of order (Check), what changes when
// (Ahead), and why (Explain).
//
// An answer is a value, made from one evaluation and nothing else; its JSON
// carries "format": 1 and keeps its meaning within that format. Its text is
// for a terminal, readable in black and white. The order in which things come
// is the same in both: worst first, then by the day on which somebody must
// act, then by name.
package answer

// Format is the version of every answer's JSON.
const Format = 1
