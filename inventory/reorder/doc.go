// Package reorder plans what antivenom to buy, how many packs and by when, so
// that on every day of a stretch the bites that are planned for can be
// treated, at the least cost.
//
// Its idea: which product is bought for whom, and when which product is
// bought, are two questions. The first is a search over the sets of victims
// that package cover finds untreated: one of the ways to treat them must be
// provided for on that day, which sets a least level for some products. The
// second is, for each product and its levels, a lot-sizing problem of its own,
// solved exactly from day to day. The least cost of the second, summed over the
// products, can only grow as the first sets more levels; so the first plan that
// leaves nobody untreated, taken in the order of cost, is the cheapest of all.
//
// Several sites that share a place are planned for together: what is ordered is
// kept where all of them reach it, so that it is as good for each of them as it
// can be, and it must make up for what they lack beyond the vials near each.
//
// The order in which its rules apply:
//
//  1. What is in stock and in date counts; nothing else does, and nothing that
//     is bought counts before the day on which it can be there: the supplier's
//     lead, import paper, customs and checking.
//  2. What no order can be in time for, and what nobody offers, is a gap: it is
//     told, and does not stop the plan for the rest.
//  3. What is bought is good for as long as the supplier promises, and no
//     longer.
//  4. Orders come in whole packs, not fewer than the supplier's least, with a
//     fee each; what is ordered in a year stays within that year's budget.
//  5. Where what lapses in one calendar year is bounded (Stagger), of all such
//     plans those are taken that go least beyond it. Nobody goes untreated for
//     it, and no budget is exceeded: what cannot be held is told.
//  6. Of these plans the one with the least cost is given, and whether it is
//     proven to be that.
//
// Vials are planning figures with a source; prices are what the records say.
// The treating clinician, the poison centre, the label and the authority decide.
package reorder
