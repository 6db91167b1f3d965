// Package supposing reads what somebody supposes, "arrive 3 Naja kaouthia
// 2027-05-12 Wren Cottage", as a change that is tried and never written.
//
// The order in which its rules apply: the first word says what is supposed;
// the day parts a name before it from a name after it; names are found as
// everywhere (package naming), and none is taken for one that is near; what is
// supposed is then subject to the same rules as any change, so that what could
// not be recorded cannot be supposed.
package supposing
