// Package scale makes houses of any size, for benchmarks: from eight snakes
// to a national network. It is part of no running watch.
//
// A network follows from its size and a seed, so that two runs measure the
// same. The order in which it is made is the order in which records refer to
// each other. Its mix is a guess (common practice, no source): most papers name
// single animals, most are in order, about one in fifty has lapsed, is
// pending, or lacks a fact.
package scale
