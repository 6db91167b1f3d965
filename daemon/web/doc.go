// Package web serves one plain page, read only, to this machine alone: what
// needs somebody, and the mails that went out.
//
// Every request reads one finished answer; none reads the database or a
// clock. Pages are rendered into a buffer first, so that a page that fails is
// an error and not half a page. State is told in words, never by colour
// alone, and nothing needs a script.
package web
