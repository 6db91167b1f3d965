// Package opabench asks the same rules of the same records of Open Policy
// Agent's Go library, to see what an engine made for this one job is worth. It
// is a module of its own, so that nobody who builds or tests the watch
// downloads that library.
//
// Compared are those of the sixty rules of package scale whose one-day meaning
// Rego can say one to one (scale.Compared): papers in force for class, holder,
// place, taxon and number; something done every so many days, and
// certificates; numbers that must not be exceeded; what is prohibited but for
// exemptions; each under its law, with its scope and through the lists that it
// rests on. Both engines must give each rule's standing for each subject alike
// (agree_test.go), so that the benchmark (speed_test.go) compares equal work.
//
// The order in which it is done:
//
//  1. Records become data (facts.go), refused where they hold something that
//     Rego is not told of.
//  2. Each rule becomes Rego (rego.go) below what the rules share (watch.rego):
//     its parameters as constants, its scope as one body for each way in which
//     it holds, and for each in which it does not.
//  3. Prepared once, the query is asked (engine.go) for all subjects at once or
//     for one after another, plainly or after partial evaluation.
//
// What is not equal is to the library's advantage. It answers one day, and the
// watch all days, with the next step and who must take it by when; it is given
// its data indexed by what the rules look for, and the watch indexes its
// records within the time measured; it judges each rule by itself, and the
// watch also joins them by precedence and judges its own rules about itself.
package opabench
