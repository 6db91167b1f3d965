// Package cover answers whether the antivenom at hand is enough for several
// people bitten at once, exactly, and for which bites it is not.
//
// Its idea: a course of treatment comes from one product, so whoever gives a
// scarce product that works against many species to a patient whom another
// product would have helped may leave the next one without. Choosing well for
// one set of victims is a small search; the worst set of victims is a search
// over sets. Both are done completely, because a rule of thumb gives wrong
// answers (the worked case E5 in the tests).
//
// The order in which its rules apply:
//
//  1. A bite that no product treats has no place here: it is reported apart.
//  2. A victim is treated with one product, from the pools that the site of
//     the bite reaches; lots and places may be mixed, products may not.
//  3. For one set of victims the products are given so that as few people as
//     possible go without a full course, and then so that as few vials as
//     possible are missing (Shortage).
//  4. The worst set is the one whose shortage is greatest, and of these the
//     smallest. Bites that can change nothing are left out beforehand
//     (prune.go says why that is safe).
//  5. A bite is in a clash when it belongs to a smallest set that cannot be
//     treated: leave anyone of it out, and all the others can be.
//
// Vials are planning figures with a source. "Covered" is not "safe": the
// treating clinician, the poison centre and the label decide.
//
// It knows numbers only, no records: products, sites and bites are indexes.
package cover
