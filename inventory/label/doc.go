// Package label reads what a barcode on a package of antivenom says: GS1
// element strings as scanners send them, and the same in print with
// parentheses.
//
// The idea: a wrong end or lot from a code that was cut, or made without a
// separator, reads exactly like a right one. So nothing is guessed. What is
// wrong is an error and gives nothing at all; what may be meant in two ways, or
// is not there, is a warning that says what it is about, and is left out.
//
// The order of rules. The symbology identifier says whether the code carries
// elements, a trade item number alone, or plain data, which is refused. Then
// come elements: an application identifier of the table, and as many
// characters as it takes, or up to the separator (ASCII 29, which scanners
// send for FNC1). An identifier that is not in the table ends the reading,
// because its length is not known. Each value is checked by itself (length,
// characters, check digit, date), then all together: an element twice must say
// the same, and what an element needs beside it must be there. Last comes what
// the values mean.
//
// Figures: the GS1 syntax dictionary (github.com/gs1/gs1-syntax-dictionary,
// Apache-2.0, commit f7e477f17d48, read 2026-11-28), and the GS1 General
// Specifications as that and its reference checks quote them.
package label
