// Package inventory holds the things of a collection: sites, enclosures,
// species, animals, antivenom products, the lots in the fridges and what each
// product is good against. It answers with quantities and dates, never with
// verdicts: whether a number is enough, or a day too late, is for package
// compliance to say.
//
// It is pure: no SQL, no network, no clock. What holds on a day is asked with
// that day.
//
// The order in which its rules apply:
//
//  1. An animal is held from its arrival day up to, not including, the day on
//     which it leaves (Animal.Held).
//  2. A species at a site is a Holding. Planned arrivals always count into it,
//     planned departures only under the assumption that plans come true.
//  3. A vial is usable on a day when the lot is in date (its label, or a
//     regulator's recorded extension of that very lot), not on hold, and in a
//     place of the site. What is not known for sure counts only into the
//     upper bound (Quantity.Maybe).
//  4. What a product is good against is read from coverage rows, by accepted
//     name or explicit synonym, never from the genus. Where sources disagree
//     the larger figure is planned, and an exclusion beats every other ground
//     (Planning).
//  5. What was ordered counts for nothing in hand; on the planned line it
//     counts from the day on which it is expected, unless it is overdue or in
//     date until no known day (Order.Planned).
//  6. What a partner holds counts only under a signed agreement, for sure only
//     while its newest confirmation is fresh (Agreement.Usable).
package inventory
