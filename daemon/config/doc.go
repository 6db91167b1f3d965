// Package config reads the daemon's configuration: where the records are,
// which rules count, when to sweep, and how mail leaves the house.
//
// The order in which its rules apply: defaults first, then the file. Unknown
// keys are fatal, because a misspelt key that silently took its default has
// left people without warnings. Relative paths are relative to the file.
// Secrets live in files of their own and print as a mask.
package config
