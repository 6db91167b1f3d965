// Package web serves one page, read only, to this machine alone: whether the
// watch lives, what needs doing by which day, what changed since yesterday, the
// months ahead, and what is watched at all; with a page for each subject that
// says why.
//
// The order in which its rules apply: a request reads one finished answer and
// the clock, never the database; the clock only says how old the answer is, so
// that one that nobody renews shows its age and in the end says that it is not
// known to be so still. What is not known says "not known". Counts are whole
// even where only the first entries are shown. State is told in words, never by
// colour alone; nothing needs a script, and nothing comes from another place.
// Pages are rendered into a buffer first, so that a page that fails is an error
// and not half a page.
package web
