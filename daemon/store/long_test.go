//go:build long

package store

// everyOperation: tests that go through many operations leave none out.
const everyOperation = true
